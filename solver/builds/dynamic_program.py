"""Goes through every way to fill a layout, choice by choice, in as few states as it can.

After each choice a state is told by how many parts each bank of the family holds, how many were
taken of the size at hand, and how far the rules are met; what else is known of it is a table
that the caller grows. All costs are sums over parts but two: the scarcity of a size, which is
settled after its last choice, and the changes at a place, max(parts, parts now) less the parts
that stay, which are settled with its family.
"""

from __future__ import annotations

from itertools import product
from operator import add
from typing import TYPE_CHECKING, Generic, NamedTuple, Protocol, TypeVar

from solver.builds.enumeration import TooManyError
from solver.builds.slots import SlotMove, SlottedLayout
from solver.problem.instance import ChoiceRule, scarcity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sized

    from solver.builds.slots import Block, SlotGroup

T = TypeVar("T", bound="Sized")
MOST_ENTRIES = 500_000  # of all tables at once: a few seconds


class State(NamedTuple):
    """How far a layout is filled, as far as it matters for what follows."""

    filled: tuple[int, ...]
    """Parts in each bank of the family at hand."""
    blocks: tuple[Block, ...]
    """Where in each bank the parts of the deficit at hand come to lie."""
    taken: int
    """Parts of the size at hand."""
    met: tuple[int, ...]
    """For each rule the parts of its first and of its second kind, counted as far as matters."""
    looks: tuple[int, ...]
    """Parts of each size gone through, where builds are told apart."""


class Grow(Protocol[T]):
    """Adds what a table comes to by a move to what other moves have come to."""

    def __call__(self, other: T | None, table: T, move: SlotMove) -> T:
        """Give both together."""


class DynamicProgram(Generic[T]):
    """Every way to fill one layout that stock and rules allow."""

    def __init__(self, slotted: SlottedLayout, grow: Grow[T], *, apart: bool) -> None:
        self.slotted = slotted
        self.grow = grow
        self.apart = apart
        self.rules = slotted.instance.rules

    def ends(self, start: T) -> dict[tuple[int, ...], T]:
        """The tables of full layouts, grown from that of an empty one.

        With `apart` there is one for each build a person could tell from the others, named by
        its counts of each size; without, a single one. Raises TooManyError past MOST_ENTRIES.
        """
        states = {State((), (), 0, (0, 0) * len(self.rules), ()): start}
        for family, groups in self.slotted.families.items():
            empty = (0,) * len(groups)
            states = {state._replace(filled=empty): table for state, table in states.items()}
            by_deficit = self.slotted.deficits(family)
            later = [choice for sizes in by_deficit for choices in sizes for choice in choices]
            for sizes in by_deficit:
                here = [choice for choices in sizes for choice in choices]
                later = later[len(here) :]
                states = dict(self._planned(states, groups, later))
                for choices in sizes:
                    for choice in choices:
                        here = here[1:]
                        to_come = [self._to_come(group, here, later) for group in groups]
                        states = self._placed(states, groups, choice, to_come)
                    states = self._sized(states, choices)
                states = self._reached(states, groups)
            states = self._closed(states, groups)
        ended: dict[tuple[int, ...], T] = {}
        for state, table in states.items():
            if all(map(ChoiceRule.met_by, self.rules, state.met[::2], state.met[1::2])):
                ended[state.looks] = self.grow(ended.get(state.looks), table, _cost(0))
        return ended

    def _stock(self, group: SlotGroup, choices: list[int]) -> int:
        """How many parts of some choices there are for a bank."""
        takes = group.places[0].takes
        return sum(
            self.slotted.instance.choices[choice].count for choice in choices if choice in takes
        )

    def _to_come(self, group: SlotGroup, here: list[int], later: list[int]) -> int:
        """How many parts more than it holds a bank may still get: of this deficit, or of any."""
        return self._stock(group, here if group.in_blocks else here + later)

    def _planned(
        self, states: dict[State, T], groups: tuple[SlotGroup, ...], later: list[int]
    ) -> Iterator[tuple[State, T]]:
        """Settle which places the parts of one deficit are to take, where that matters."""
        least = [group.least - self._stock(group, later) for group in groups]
        for state, table in states.items():
            options = [
                [(here, end) for end in range(max(here, few), group.most + 1)]
                if group.in_blocks
                else [(0, group.most)]
                for group, here, few in zip(groups, state.filled, least, strict=True)
            ]
            for blocks in product(*options):
                yield state._replace(blocks=blocks), table

    def _reached(self, states: dict[State, T], groups: tuple[SlotGroup, ...]) -> dict[State, T]:
        """Keep what has filled the places it was to take."""
        further: dict[State, T] = {}
        for state, table in states.items():
            filled = zip(groups, state.filled, state.blocks, strict=True)
            if all(here == end for group, here, (_, end) in filled if group.in_blocks):
                key = state._replace(blocks=())
                further[key] = self.grow(further.get(key), table, _cost(0))
        return further

    def _placed(
        self, states: dict[State, T], groups: tuple[SlotGroup, ...], choice: int, to_come: list[int]
    ) -> dict[State, T]:
        """Put any number of one choice in, as long as what is to come can fill every bank."""
        further: dict[State, T] = {}
        for state, table in states.items():
            for move in self.slotted.moves(groups, choice, state.filled, state.blocks):
                filled = tuple(map(add, state.filled, move.parts))
                if not all(map(_may_fill, groups, state.blocks, filled, to_come)):
                    continue
                count = sum(move.parts)
                key = state._replace(
                    filled=filled,
                    taken=state.taken + count,
                    met=self._met(state.met, choice, count) if self.rules else (),
                )
                further[key] = self.grow(further.get(key), table, move)
        if sum(map(len, further.values())) > MOST_ENTRIES:
            raise TooManyError
        return further

    def _sized(self, states: dict[State, T], choices: tuple[int, ...]) -> dict[State, T]:
        """Settle a size after the last of its choices."""
        on_hand = sum(self.slotted.instance.choices[choice].count for choice in choices)
        weight = self.slotted.scarcity
        further: dict[State, T] = {}
        for state, table in states.items():
            looks = (*state.looks, state.taken) if self.apart else ()
            key = state._replace(taken=0, looks=looks)
            cost = scarcity(on_hand, state.taken) * weight if weight else 0
            further[key] = self.grow(further.get(key), table, _cost(cost))
        return further

    def _closed(self, states: dict[State, T], groups: tuple[SlotGroup, ...]) -> dict[State, T]:
        """Settle a family: every bank holds enough."""
        weight = self.slotted.changes
        further: dict[State, T] = {}
        for state, table in states.items():
            if all(map(_enough, groups, state.filled)):
                change = sum(b.changes[n] for b, n in zip(groups, state.filled, strict=True))
                key = state._replace(filled=())
                further[key] = self.grow(further.get(key), table, _cost(change * weight))
        return further

    def _met(self, met: tuple[int, ...], choice: int, count: int) -> tuple[int, ...]:
        added = (
            min(before + count * (choice in kinds), most)
            for before, (kinds, most) in zip(met, _counted(self.rules), strict=True)
        )
        return tuple(added)


def _cost(cost: int) -> SlotMove:
    return SlotMove(-1, (), 0, cost)


def _may_fill(group: SlotGroup, block: Block, filled: int, to_come: int) -> bool:
    return filled + to_come >= (block[1] if group.in_blocks else group.least)


def _enough(group: SlotGroup, filled: int) -> bool:
    return filled >= group.least


def _counted(rules: Iterable[ChoiceRule]) -> Iterable[tuple[frozenset[int], int]]:
    """What each rule counts, and how far counting matters."""
    for rule in rules:
        yield rule.first, {"at most": rule.bound + 1, "at least": rule.bound}.get(rule.kind, 1)
        yield rule.second, 1
