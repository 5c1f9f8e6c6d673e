"""The aims, each declared once: what it measures, how gaps are joined, how it is read.

A rebuild is chosen by ordered levels, whole numbers that are made least one after the other. An aim
has one level or several; each counts one of these:

- `OfLayout`: something of the layout chosen;
- `OfParts`: something of every part where it lies, summed;
- `OfGap`: something of the gap that is left, as the greatest of some straight lines and 0;
- `Changes`, `Scarcity`: what no sum over parts says, each worked out in its own way.

From this table follow the levels, the values of listed builds (`solver.builds.enumeration`), the
rows of counted ones (`solver.builds.counts`), the costs of the dynamic program
(`solver.builds.slots`), how far a reading may move (`solver.explain.sensitivity_ranges`), the
objectives of a batch and the words of `--why`. The judges use none of it but the names:
`solver.problem.judge` has arithmetic of its own and refuses a measure it does not know.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Literal, assert_never

from solver.problem.gaps import MIDDLE, RATIO
from specs.models.aims import AIMS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from collections.abc import Set as AbstractSet

    from solver.problem.gaps import GridLayout, GridPlace, LotChoice
    from specs.models.aims import Aim

JobMeasure = Literal[
    "rank", "near limits", "thin", "heat", "worst middle", "middle", "change", "worst", "ratio",
    "deviation", "shims", "scarce",
]  # fmt: skip
PlanMeasure = Literal["pinned", "priority", "number", "kept", "cost"]


@dataclass(frozen=True, slots=True)
class Lines:
    """What a gap counts: the greatest of some straight lines and 0, rounded up.

    A line is a pair (slope, start): (slope * gap + start) / over, the gap in steps of the grid.
    """

    over: int
    lines: tuple[tuple[int, int], ...] = ()

    def at(self, gap: int) -> int:
        """The value where the gap is so many steps."""
        return -(-self.top(gap) // self.over)

    def top(self, gap: int) -> int:
        """The greatest of the lines and 0, times `over`."""
        return max([0, *(slope * gap + start for slope, start in self.lines)])

    def zero(self) -> tuple[int | None, int | None]:
        """The least and the greatest gap at which the value is 0; None where open."""
        low = [-(-start // -slope) for slope, start in self.lines if slope < 0]
        high = [-start // slope for slope, start in self.lines if slope > 0]
        return max(low, default=None), min(high, default=None)

    def turns(self) -> set[int]:
        """The gaps, rounded down, at which one line takes over from another or from 0."""
        lines = [(0, 0), *self.lines]
        return {
            (second - first) // (one - other)
            for one, first in lines
            for other, second in lines
            if one != other
        }


@dataclass(frozen=True, slots=True)
class OfLayout:
    """A number of the layout chosen, nothing or more."""

    count: Callable[[GridLayout], int]


@dataclass(frozen=True, slots=True)
class OfParts:
    """A number of every part where it lies, nothing or more: by its place, itself and the grade."""

    count: Callable[[GridPlace, LotChoice, int], int]
    ordered: bool = False
    """Whether it matters in which of some like places a part lies."""


@dataclass(frozen=True, slots=True)
class OfGap:
    """A number of the gap that is left, by the layout."""

    lines: Callable[[GridLayout], Lines]


@dataclass(frozen=True, slots=True)
class Changes:
    """The parts that go in or come out, as their reach weighs them; shared parts count once."""


@dataclass(frozen=True, slots=True)
class Scarcity:
    """What is taken of each size, the dearer the fewer are left."""


@dataclass(frozen=True, slots=True)
class OfPlan:
    """A number of a whole plan of several rebuilds, which no single rebuild has."""


Counts = OfLayout | OfParts | OfGap | Changes | Scarcity | OfPlan


@dataclass(frozen=True, slots=True)
class AimMeasure:
    """One number that is made least."""

    name: JobMeasure | PlanMeasure
    counts: Counts
    noun: str = ""
    """What one of it is called; what a length of it is."""
    quantity: Literal["number", "length", "share"] = "number"
    """Whether people read it as a number, as a length, or as a share of a window."""
    worst: bool = False
    """Whether gaps are joined by their worst rather than by their sum."""
    by_grade: bool = False
    """Whether each grade of steels has a level of its own, packs that shift first."""


def _near_limits(layout: GridLayout) -> Lines:
    """How far a gap lies within the guard band along either limit."""
    guard = layout.guard
    if guard is None:
        return Lines(1)
    band = ceil(RATIO * guard.band)  # all else is whole, so that nothing is rounded twice
    near = [] if guard.low is None else [(-RATIO, band + RATIO * guard.low)]
    far = [] if guard.high is None else [(RATIO, band - RATIO * guard.high)]
    return Lines(layout.width, (*near, *far))


def _beyond_middle(layout: GridLayout) -> Lines:
    """How far a gap lies beyond the quarter of its window that is as good as the aim.

    Where the maker asks for the nearest, no quarter is as good: its whole distance counts.
    """
    spared = 0 if layout.nearest else MIDDLE
    return _off(layout, RATIO, layout.width, spared * layout.width)


def _off(layout: GridLayout, factor: int, over: int, spared: int = 0) -> Lines:
    """The deviation from the aim, times a factor, less what is spared."""
    aim = factor * layout.aim
    return Lines(over, ((factor, -aim - spared), (-factor, aim - spared)))


RANK = OfLayout(lambda layout: layout.rank)
NEAR_LIMITS = OfGap(_near_limits)
THIN = OfParts(lambda _, choice, grade: int(choice.grade == grade))
HEAT = OfParts(lambda place, choice, _: place.heat * choice.deficit, ordered=True)
BEYOND_MIDDLE = OfGap(_beyond_middle)
SHARE_OFF = OfGap(lambda layout: _off(layout, RATIO, layout.width))
OFF = OfGap(lambda layout: _off(layout, 1, 1))
SHIMS = OfParts(lambda place, *_: int(place.stacked))


def _declared(aim: Aim) -> tuple[AimMeasure, ...]:  # noqa: PLR0911 - one an aim
    match aim:
        case "layout":
            return (AimMeasure("rank", RANK, "rank"),)
        case "safe":
            return (AimMeasure("near limits", NEAR_LIMITS, quantity="share"),)
        case "thin":
            return (AimMeasure("thin", THIN, "thin steel", by_grade=True),)
        case "heat":
            return (AimMeasure("heat", HEAT, "of steel times places", "length"),)
        case "middle":
            return (
                AimMeasure("worst middle", BEYOND_MIDDLE, quantity="share", worst=True),
                AimMeasure("middle", BEYOND_MIDDLE, quantity="share"),
            )
        case "change":
            return (AimMeasure("change", Changes(), "change (as reach weighs it)"),)
        case "aim":
            return (
                AimMeasure("worst", SHARE_OFF, quantity="share", worst=True),
                AimMeasure("ratio", SHARE_OFF, quantity="share"),
                AimMeasure("deviation", OFF, "off the aims together", "length"),
            )
        case "spare":
            return (
                AimMeasure("shims", SHIMS, "shim"),
                AimMeasure("scarce", Scarcity(), "point of scarcity"),
            )
        case _:
            assert_never(aim)


OF_AIM = {aim: _declared(aim) for aim in AIMS}
"""The measures of each aim, in their order."""
OF_PLANS: tuple[PlanMeasure, ...] = ("pinned", "priority", "number", "kept", "cost")
MEASURES = {measure.name: measure for measures in OF_AIM.values() for measure in measures} | {
    name: AimMeasure(name, OfPlan()) for name in OF_PLANS
}


@dataclass(frozen=True, slots=True)
class Level:
    """One number to make least, in its turn."""

    aim: str
    measure: JobMeasure | PlanMeasure
    shifts: bool = False
    """Where grades have levels of their own: whether it counts the packs that shift."""
    grade: int = 0

    @property
    def declared(self) -> AimMeasure:
        """How it is measured and read."""
        return MEASURES[self.measure]

    @property
    def counts(self) -> Counts:
        """What it counts."""
        return MEASURES[self.measure].counts

    @property
    def worst(self) -> bool:
        """Whether gaps are joined by their worst rather than by their sum."""
        return MEASURES[self.measure].worst

    @property
    def moves(self) -> bool:
        """Whether it depends on where a gap lies, not only on its parts."""
        return isinstance(self.counts, OfGap)

    @property
    def in_steps(self) -> bool:
        """Whether it is counted in steps of the grid."""
        return self.declared.quantity == "length"

    def concerns(self, *, shifts: bool) -> bool:
        """Whether it counts a gap that shifts, or does not."""
        return not self.declared.by_grade or self.shifts == shifts


def levels_of(aims: Iterable[Aim], top: int, works: AbstractSet[bool]) -> tuple[Level, ...]:
    """The levels of some aims in their order.

    `top` is the highest grade of a steel, `works` whether there are gaps that shift, that do not.
    """
    return tuple(level for aim in aims for level in _levels(aim, top, works))


def _levels(aim: Aim, top: int, works: AbstractSet[bool]) -> Iterator[Level]:
    for measure in OF_AIM[aim]:
        if not measure.by_grade:
            yield Level(aim, measure.name)
            continue
        for shifts in sorted(works, reverse=True):
            grades = range(1, top + 1)
            yield from (Level(aim, measure.name, shifts, grade) for grade in grades)


def of_gap(levels: Iterable[Level], layout: GridLayout) -> Callable[[int], tuple[int, ...]]:
    """Say what a layout and the gap it leaves add to each of some levels."""
    counts = [level.counts for level in levels]
    fixed = [
        one.count(layout) if isinstance(one, OfLayout) else layout.moved * isinstance(one, Changes)
        for one in counts
    ]
    each = {one: one.lines(layout) for one in counts if isinstance(one, OfGap)}

    def values(gap: int) -> tuple[int, ...]:
        known = {one: lines.at(gap) for one, lines in each.items()}
        return tuple(
            known[one] if isinstance(one, OfGap) else constant
            for one, constant in zip(counts, fixed, strict=True)
        )

    return values
