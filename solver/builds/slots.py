"""Groups the slots of a layout, and works out the cost of each part put into a group.

Places that take the same parts form a group, whose order follows from counts. By the rearrangement
inequality the steels furthest from the thickest lie at the cool end, so those of one deficit form a
block. Within a block, a part stays in its place as often as there are places for it. Where changes
weigh more than heat, a place whose part may stay is a group of its own; so are a shared part and a
place for shims.

A cost holds all levels in one integer, each as a digit of 54 bits, so that the least cost is the
best by the ordered aims. No level exceeds 2^53. Below them stands the tie-break, a digit for the
layout and for each part in order of assembly: parts of one deficit are put in by their rank, from
the last place where heat counts places against that order.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING

from solver.problem.aims import MEASURES, Changes, OfLayout, OfParts, Scarcity
from solver.problem.shared_parts import most_changes

if TYPE_CHECKING:
    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap, GridLayout, GridPlace
    from solver.problem.instance import Instance

DIGIT = 54  # bits of one level in a cost
ORDERED = [m.name for m in MEASURES.values() if isinstance(m.counts, OfParts) and m.counts.ordered]
if ORDERED != ["heat"]:
    raise AssertionError(f"the order of a bank is settled for heat alone, not for {ORDERED}")
Block = tuple[int, int]
"""The first place of a group that parts of one deficit take, and the place after the last."""


@dataclass(frozen=True, slots=True)
class SlotGroup:
    """Places whose best order follows from the number of parts of each choice."""

    places: tuple[GridPlace, ...]
    """From the cool end on."""
    indices: tuple[int, ...]
    """Their indices in the layout."""
    least: int
    most: int
    changes: tuple[int, ...]
    """The changes for each number of parts, before those that stay are subtracted."""
    stays: dict[int, tuple[tuple[int, int], ...]]
    """For each choice there now, the places where it may stay and the saving, most first."""
    in_blocks: bool
    """Whether the parts that may stay depend on the places of the parts of one deficit."""
    ties: tuple[int, ...]
    """What one rank of each part put in counts in the tie-break."""

    def saved(self, choice: int, count: int, block: Block) -> int:
        """Return the changes saved by parts that stay in their place.

        Parameters
        ----------
        choice
            The choice that the parts are of.
        count
            The number of parts.
        block
            The places they may take.
        """
        first, end = block
        kept = [gain for place, gain in self.stays.get(choice, ()) if first <= place < end]
        return sum(kept[:count])


@dataclass(frozen=True, slots=True)
class SlotMove:
    """Parts of one choice put into the groups of its family."""

    choice: int
    parts: tuple[int, ...]
    """The number of parts for each group."""
    takes: int
    cost: int


@dataclass(frozen=True)
class SlottedLayout:
    """One layout of a gap that is alone in its instance, with its groups of slots."""

    instance: Instance
    gap: GridGap
    layout: GridLayout

    @cached_property
    def families(self) -> dict[str, tuple[SlotGroup, ...]]:
        """The groups of slots of each family that the layout draws on."""
        alike: dict[object, list[int]] = {}
        for index, place in enumerate(self.layout.places):
            alike.setdefault(self._kind(index, place), []).append(index)
        found: dict[str, list[SlotGroup]] = {}
        for indices in alike.values():
            if self.heat:
                indices.sort(key=lambda nth: self.layout.places[nth].heat)
            group = self._group(indices)
            found.setdefault(group.places[0].family, []).append(group)
        return {family: tuple(groups) for family, groups in found.items()}

    def _kind(self, index: int, place: GridPlace) -> object:
        """Return a key that is equal for the places of one group."""
        stays = set(place.now or ()) & place.takes.keys()
        if not place.single or (stays and self.changes > self.heat > 0):
            return index
        return place.family, tuple(sorted(place.takes.items()))

    def _group(self, indices: list[int]) -> SlotGroup:
        places = tuple(self.layout.places[index] for index in indices)
        one, most = places[0], sum(place.most for place in places)
        if len(places) > 1:
            gone = sum(p.weight * max(1, len(p.now)) for p in places if p.now is not None)
            changes = [gone] * (most + 1)
        else:
            before, known = one.before, range(most + 1)
            changes = [0 if before is None else one.weight * max(n, len(before)) for n in known]
        heat = len({place.heat for place in places}) > 1
        stays = self._stays(places)
        return SlotGroup(
            places, tuple(indices), sum(place.least for place in places), most, tuple(changes),
            stays, in_blocks=bool(stays) and heat and self.heat > 0,
            ties=tuple(tie for index in indices for tie in self._ties[index]),
        )  # fmt: skip

    def _stays(self, places: tuple[GridPlace, ...]) -> dict[int, tuple[tuple[int, int], ...]]:
        found: dict[int, list[tuple[int, int]]] = {}
        for nth, place in enumerate(places):
            for choice, count in Counter(place.now or ()).items():
                if choice in place.takes and self.changes:
                    found.setdefault(choice, []).extend([(nth, place.weight)] * count)
        return {
            choice: tuple(sorted(kept, key=lambda one: (-one[1], one[0])))
            for choice, kept in found.items()
        }

    @cached_property
    def weights(self) -> dict[Level, int]:
        """The cost of one unit of each level that depends on the gap."""
        return {
            level: 1 << DIGIT * nth + self.tie_bits
            for nth, level in enumerate(reversed(self.instance.levels))
            if level.concerns(shifts=self.gap.shifts)
        }

    @cached_property
    def tie_bits(self) -> int:
        """The bits of the tie-break in a cost, the same for all layouts of the gap."""
        return self._rank_bits * self._most_parts + len(self.gap.layouts).bit_length()

    @cached_property
    def _rank_bits(self) -> int:
        return (len(self.instance.choices) + 1).bit_length()

    @cached_property
    def _most_parts(self) -> int:
        return max(sum(place.most for place in layout.places) for layout in self.gap.layouts)

    @cached_property
    def _ties(self) -> list[list[int]]:
        """For each place, what one rank of each of its parts counts in the tie-break."""
        found, left = [], self._most_parts
        for place in self.layout.places:
            left -= place.most
            shifts = range(place.most - 1, -1, -1)
            found.append([1 << self._rank_bits * (left + shift) for shift in shifts])
        return found

    @cached_property
    def _backwards(self) -> bool:
        """Whether the cool end of the steels is where the last one goes in."""
        heats = [place.heat for place in self.layout.places if place.heat]
        return self.heat > 0 and heats != sorted(heats)

    @cached_property
    def changes(self) -> int:
        """The cost of one change; 0 where no aim counts changes."""
        return self._weight(Changes)

    @cached_property
    def scarcity(self) -> int:
        """The cost of one point of scarcity; 0 where no aim counts it."""
        return self._weight(Scarcity)

    def _weight(self, kind: type[Changes | Scarcity]) -> int:
        return sum(w for level, w in self.weights.items() if isinstance(level.counts, kind))

    @cached_property
    def heat(self) -> int:
        """The cost of one unit of the order of steels; 0 where no aim counts it."""
        return sum(weight for counts, _, weight in self._of_parts if counts.ordered)

    @cached_property
    def _of_parts(self) -> list[tuple[OfParts, int, int]]:
        """The counts of parts, each with its grade and its cost."""
        return [
            (level.counts, level.grade, weight)
            for level, weight in self.weights.items()
            if isinstance(level.counts, OfParts)
        ]

    @cached_property
    def constant(self) -> int:
        """The cost of the layout itself: its rank, and the parts that come and go with it."""
        nth = next(n for n, layout in enumerate(self.gap.layouts) if layout is self.layout)
        tie = nth << self._rank_bits * self._most_parts
        moved = self.layout.moved + most_changes(self.instance.shared)
        return (
            tie
            + moved * self.changes
            + sum(
                level.counts.count(self.layout) * weight
                for level, weight in self.weights.items()
                if isinstance(level.counts, OfLayout)
            )
        )

    def _costs(self, group: SlotGroup, choice: int) -> list[int]:
        """Return the cost of a part at each place of a group, without changes."""
        key = group.indices[0], choice
        if key not in self._known_costs:
            part = self.instance.choices[choice]
            self._known_costs[key] = [
                sum(weight * one.count(place, part, grade) for one, grade, weight in self._of_parts)
                for place in group.places
            ]
        return self._known_costs[key]

    @cached_property
    def _known_costs(self) -> dict[tuple[int, int], list[int]]:
        return {}

    def deficits(self, family: str) -> list[list[tuple[int, ...]]]:
        """Return a family's choices in stock by deficit, and within a deficit by size.

        The sizes furthest from the thickest come first.
        """
        found: dict[int, list[tuple[int, ...]]] = {}
        for (name, _), choices in self.instance.sizes.items():
            held = tuple(choice for choice in choices if self.instance.choices[choice].count)
            if name == family and held:
                found.setdefault(self.instance.choices[held[0]].deficit, []).append(held)
        ordered = [found[deficit] for deficit in sorted(found, reverse=True)]
        steel = any(place.heat for place in self.layout.places if place.family == family)
        if steel and self._backwards:
            return [[choices[::-1] for choices in sizes[::-1]] for sizes in ordered]
        return ordered

    def moves(
        self, groups: tuple[SlotGroup, ...], choice: int, filled: tuple[int, ...],
        blocks: tuple[Block, ...],
    ) -> list[SlotMove]:  # fmt: skip
        """List every way to put parts of a choice into groups that hold some parts already.

        Parameters
        ----------
        groups
            The groups of the choice's family.
        choice
            The choice.
        filled
            For each group, the number of parts it holds.
        blocks
            For each group, the places that parts of the choice's deficit may take.
        """
        key = choice, filled, blocks
        if key not in self._known:
            self._known[key] = self._ways(groups, choice, filled, blocks)
        return self._known[key]

    @cached_property
    def _known(self) -> dict[object, list[SlotMove]]:
        """Moves worked out before; a layout is gone through more than once."""
        return {}

    def _ways(
        self, groups: tuple[SlotGroup, ...], choice: int, filled: tuple[int, ...],
        blocks: tuple[Block, ...],
    ) -> list[SlotMove]:  # fmt: skip
        count = self.instance.choices[choice].count
        room = [
            min(count, block[1] - here) if choice in group.places[0].takes else 0
            for group, here, block in zip(groups, filled, blocks, strict=True)
        ]
        return [
            self._move(groups, choice, filled, blocks, parts)
            for parts in product(*(range(most + 1) for most in room))
            if sum(parts) <= count
        ]

    def _move(
        self, groups: tuple[SlotGroup, ...], choice: int, filled: tuple[int, ...],
        blocks: tuple[Block, ...], parts: tuple[int, ...],
    ) -> SlotMove:  # fmt: skip
        change = takes = cost = 0
        for group, before, block, more in zip(groups, filled, blocks, parts, strict=True):
            place = group.places[0]
            if not more:
                continue
            takes += more * place.takes[choice]
            change -= group.saved(choice, more, block)
            each = self._costs(group, choice)
            cost += sum(each[before : before + more]) if len(each) > 1 else more * each[0]
            cost += sum(group.ties[before : before + more]) * (choice + 1)
        return SlotMove(choice, parts, takes, cost + change * self.changes)
