"""Brute force: every assignment of the parts on hand to the places of a small job.

Written from the definitions of the aims as solver/README.md gives them, and from the files as
people write them: nothing of the solver is imported, so a mistake of posing shows as well as
one of searching.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations_with_replacement, product
from math import prod
from typing import TYPE_CHECKING

from tests.oracles.brute_files import Stacks, differ, grades_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case
    from specs.models.unit import Rule
    from tests.oracles.brute_files import Slot, Space, Stack

Key = tuple[str, bool, int]
"""A level: its measure, and for thin steels whether the pack shifts and which grade."""
Parts = tuple[tuple[int, ...], ...]
Named = tuple[tuple[str, dict[str, tuple[object, ...]]], ...]
"""For each gap the layout's name, and at each label what tells its parts from others."""


@dataclass(frozen=True, slots=True, eq=False)
class Filling:
    """One assignment of parts to the places of one gap."""

    stack: Stack
    order: tuple[int, Parts]
    gap: int
    uses: Counter[int]
    shares: dict[str, int]


Assignment = tuple[Filling, ...]


@dataclass(frozen=True, slots=True)
class Best:
    """The best build: the value of every level in order, lengths in nanometres."""

    values: dict[Key, Fraction]
    build: Named
    gaps: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Nearest:
    """How near no fit comes: each gap alone (its miss and gap, in nanometres), all together."""

    alone: tuple[tuple[Fraction, Fraction] | None, ...]
    together: tuple[int, int] | None
    """The largest miss in ten-thousandths of its window's width, and their sum."""


WORST = ("worst middle", "worst")
LENGTHS = ("heat", "deviation")
MEASURES = {
    "layout": ("rank",),
    "safe": ("near limits",),
    "heat": ("heat",),
    "middle": ("worst middle", "middle"),
    "change": ("change",),
    "aim": ("worst", "ratio", "deviation"),
    "spare": ("shims", "scarce"),
}


class Brute:
    """One job, by trying everything."""

    def __init__(self, case: Case, gaps: tuple[str, ...], space: Space | None = None) -> None:
        self.unit = case.unit
        self.aims = case.job.aims or case.unit.aims
        self.gaps = gaps
        self.stacks = Stacks(case, gaps, space)
        self.kinds = self.stacks.kinds
        self.levels = self._levels()
        self._known: dict[Filling, tuple[int, ...]] = {}

    def best(self) -> Best | None:
        """The best build; nothing where none lands every gap in its window."""
        found = self.best_assignment()
        return None if found is None else self._best(*found)

    def best_assignment(self) -> tuple[tuple[int, ...], Assignment] | None:
        """The best values and the assignment that has them, by the tie-break."""
        found: tuple[tuple[int, ...], tuple[tuple[int, Parts], ...]] | None = None
        winner: Assignment = ()
        for together in self.assignments():
            values = self.worth(together)
            if values is not None:
                order = tuple(filling.order for filling in together)
                if found is None or (values, order) < found:
                    found, winner = (values, order), together
        return None if found is None else (found[0], winner)

    def assignments(self) -> Iterator[Assignment]:
        """Every assignment that lands each gap in its window, whether it is allowed or not."""
        landing = ([f for f in self.fillings(gap) if not f.stack.miss(f.gap)] for gap in self.gaps)
        return product(*landing)

    @cached_property
    def size(self) -> int:
        """How many assignments there are, whatever gaps they leave."""
        return prod(len(self.fillings(gap)) for gap in self.gaps)

    def worth(self, together: Assignment, *, windows: bool = True) -> tuple[int, ...] | None:
        """The value of every level; nothing where an assignment is not allowed."""
        uses = self._allowed(together)
        if uses is None or (windows and any(f.stack.miss(f.gap) for f in together)):
            return None
        columns = zip(*map(self._measured, self.gaps, together), strict=True)
        return self._values(tuple(columns), together, uses)

    def keeps_clear(self, together: Assignment) -> bool:
        """Whether every gap keeps its whole band, by the limits the unit file states."""
        inside = []
        for name, filling in zip(self.gaps, together, strict=True):
            stack, gap = filling.stack, filling.gap
            if stack.band is not None:
                window = self.unit.gaps[name].arrangements[stack.name].window.gap
                low = [gap - stack.low] if window.low is not None and stack.low is not None else []
                high = [stack.high - gap] if stack.high is not None else []
                inside += [margin >= stack.band for margin in low + high]
        return all(inside)

    def nearest(self) -> Nearest:
        """How near the windows can be come to, with all else as hard as ever."""
        alone: list[tuple[int, int] | None] = [None] * len(self.gaps)
        best: tuple[int, int] | None = None
        for together in product(*(self.fillings(gap) for gap in self.gaps)):
            if self._allowed(together) is None:
                continue
            for index, filling in enumerate(together):
                here = filling.stack.miss(filling.gap), filling.gap
                alone[index] = min(alone[index] or here, here)
            here = missed(together)
            best = here if best is None else min(best, here)
        return Nearest(tuple(pair and self._lengths(pair) for pair in alone), best)

    def _lengths(self, pair: tuple[int, int]) -> tuple[Fraction, Fraction]:
        times = self.stacks.times
        return Fraction(pair[0], times), Fraction(pair[1], times)

    # Every assignment.

    def fillings(self, gap: str) -> list[Filling]:
        """Every assignment to one gap that its own stock allows, whatever gap it leaves."""
        found = []
        for order, stack in enumerate(self.stacks.of(gap)):
            for parts in product(*(options(slot) for slot in stack.slots)):
                taken = sum(
                    slot.takes[kind]
                    for slot, here in zip(stack.slots, parts, strict=True)
                    for kind in here
                )
                filling = self._filling(stack, (order, parts), stack.room - taken)
                if filling is not None:
                    found.append(filling)
        return found

    def _filling(self, stack: Stack, order: tuple[int, Parts], gap: int) -> Filling | None:
        uses: Counter[int] = Counter()
        shares: dict[str, int] = {}
        for slot, here in zip(stack.slots, order[1], strict=True):
            if not slot.shared:
                uses.update(here)
            elif shares.setdefault(slot.shared, here[0]) != here[0]:
                return None
        return Filling(stack, order, gap, uses, shares) if self._in_stock(uses) else None

    def _in_stock(self, uses: Counter[int]) -> bool:
        return all(count <= self.kinds[kind].count for kind, count in uses.items())

    def _allowed(self, together: Assignment) -> Counter[int] | None:
        """What a joint assignment draws; nothing where stock, shared parts or rules forbid it."""
        shares: dict[str, int] = {}
        uses: Counter[int] = Counter()
        for filling in together:
            uses.update(filling.uses)
            for name, kind in filling.shares.items():
                if shares.setdefault(name, kind) != kind:
                    return None
        uses.update(shares.values())
        if not self._in_stock(uses):
            return None
        held = all(self._holds(rule, together, uses) for rule in self.unit.rules)
        return uses if held else None

    def _holds(self, rule: Rule, together: Assignment, uses: Counter[int]) -> bool:
        waiting = len(self.gaps) < len(self.unit.gaps)
        if rule.in_ is not None:
            if rule.in_ not in self.gaps:
                return True
            filling = together[self.gaps.index(rule.in_)]
            uses = filling.uses + Counter(filling.shares.values())
            waiting = False
        if rule.with_ is not None:
            used = self._number(rule.with_, uses) > 0
            if rule.must:
                # A gap that still waits for its readings may bring the other part yet.
                return not used or waiting or self._number(rule.must, uses) > 0
            return not used or not self._number(rule.never, uses)
        number = self._number(rule.count, uses)
        few = rule.at_most is None or number <= rule.at_most
        return few and (rule.at_least is None or waiting or number >= rule.at_least)

    def _number(self, text: str | None, uses: Counter[int]) -> int:
        family, _, size = (word.strip() for word in (text or "").partition("/"))
        return sum(
            count
            for kind, count in uses.items()
            if self.kinds[kind].family == family and size in ("", self.kinds[kind].size)
        )

    # The aims.

    def _levels(self) -> list[Key]:
        families = [family for family in self.unit.families.values() if family.kind == "steel"]
        top = max((max(grades_of(family).values(), default=0) for family in families), default=0)
        thin = [("thin", shifts, grade) for shifts in (True, False) for grade in range(1, top + 1)]
        found: list[Key] = []
        for aim in self.aims:
            found += thin if aim == "thin" else [(m, False, 0) for m in MEASURES[aim]]
        return found

    def _measured(self, gap: str, filling: Filling) -> tuple[int, ...]:
        """What one gap adds to each level."""
        if filling not in self._known:
            self._known[filling] = self._measure(gap, filling)
        return self._known[filling]

    def _measure(self, gap: str, filling: Filling) -> tuple[int, ...]:
        stack, parts = filling.stack, filling.order[1]
        filled = list(zip(stack.slots, parts, strict=True))
        off = abs(filling.gap - stack.aim)
        ratio = -(-10_000 * off // stack.width)
        beyond = ratio if stack.nearest else max(0, ratio - 2_500)
        found = {
            "rank": stack.rank,
            "near limits": stack.lacking(filling.gap),
            "heat": sum(s.heat * self._deficit(k) for s, here in filled for k in here),
            "worst middle": beyond,
            "middle": beyond,
            "change": stack.moved + sum(self._change(slot, here) for slot, here in filled),
            "worst": ratio,
            "ratio": ratio,
            "deviation": off,
            "shims": sum(len(here) for s, here in filled if s.how_many != (1, 1)),
        }
        grades = Counter(self.kinds[k].grade for here in parts for k in here)
        shifts = getattr(self.unit.gaps[gap], "works", "holds") == "shifts"
        return tuple(
            (grades[grade] if shifts == shifting else 0)
            if measure == "thin"
            else found.get(measure, 0)
            for measure, shifting, grade in self.levels
        )

    def _deficit(self, kind: int) -> int:
        return self.stacks.whole(self.kinds[kind].deficit)

    def _change(self, slot: Slot, here: tuple[int, ...]) -> int:
        """What changes at a place of its own; shared parts are one part and count with the job."""
        if slot.old is None or slot.shared:
            return 0
        return slot.weight * differ(Counter(self.kinds[k].told for k in here), slot.old)

    def _values(
        self, columns: tuple[tuple[int, ...], ...], together: Assignment, uses: Counter[int]
    ) -> tuple[int, ...]:
        joined = []
        for (measure, _, _), column in zip(self.levels, columns, strict=True):
            value = max(column) if measure in WORST else sum(column)
            if measure == "change":
                value += self._shared_change(together)
            elif measure == "scarce":
                value = self._scarce(uses)
            joined.append(value)
        return tuple(joined)

    def _shared_change(self, together: Assignment) -> int:
        new = {name: kind for filling in together for name, kind in filling.shares.items()}
        total = 0
        for name, old in self.stacks.old_shared.items():
            here = Counter([self.kinds[new[name]].told] if name in new else [])
            total += self.stacks.shared_weight(name) * differ(here, old)
        return total

    def _scarce(self, uses: Counter[int]) -> int:
        """The j-th of q parts on hand of a size costs 10000 // (q - j + 1)."""
        on_hand: Counter[tuple[str, str]] = Counter()
        taken: Counter[tuple[str, str]] = Counter()
        for index, kind in enumerate(self.kinds):
            on_hand[kind.family, kind.size] += kind.count
            taken[kind.family, kind.size] += uses[index]
        return sum(
            10_000 // (on_hand[size] - j + 1)
            for size, number in taken.items()
            for j in range(1, number + 1)
        )

    def _best(self, values: tuple[int, ...], winner: Assignment) -> Best:
        lengths = [self.stacks.times if key[0] in LENGTHS else 1 for key in self.levels]
        exact = [Fraction(value, over) for value, over in zip(values, lengths, strict=True)]
        build = self.names(winner)
        gaps = tuple(Fraction(f.gap, self.stacks.times) for f in winner)
        return Best(dict(zip(self.levels, exact, strict=True)), build, gaps)

    def names(self, together: Assignment) -> Named:
        """An assignment by names."""
        return tuple((filling.stack.name, self._told(filling)) for filling in together)

    def _told(self, filling: Filling) -> dict[str, tuple[object, ...]]:
        return {
            slot.label: tuple(self.kinds[kind].told for kind in here)
            for slot, here in zip(filling.stack.slots, filling.order[1], strict=True)
        }


def missed(together: Assignment) -> tuple[int, int]:
    """The largest miss of an assignment in ten-thousandths of its window, and their sum."""
    ratios = [-(-10_000 * f.stack.miss(f.gap) // f.stack.width) for f in together]
    return max(ratios), sum(ratios)


def options(slot: Slot) -> Iterator[tuple[int, ...]]:
    """Every part, or every handful of shims, that a place can take."""
    least, most = slot.how_many
    for count in range(least, most + 1):
        yield from combinations_with_replacement(sorted(slot.takes), count)
