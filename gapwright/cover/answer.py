"""The findings of a cover (served spans, runs of one build, past drums), and its JSON."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, Literal, TypeVar

from gapwright.fit.answer import CountedAnswer
from gapwright.output.answers import Answer, key
from gapwright.record.former_units_answer import UncountedJobAnswer
from solver.problem import judge
from solver.rebuild.thin_steels import thin_in
from specs.gaps.varied_reading import ROOM
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gapwright.cover.service import Covered, Hole
    from solver.cover.covering import Served
    from solver.problem.gaps import GridLayout

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class GapAt:
    """One gap at one value of the space that moves: the gap it leaves, and its parts."""

    name: str
    layout: str
    """Empty where there is only one."""
    gap: Length
    off: Length
    """How far that is from the aim."""
    height: Fraction | None
    """Where in its window it lies, from 0, the lowest gap, to 1; None for a one-sided window."""
    thin: int
    parts: tuple[tuple[str, str, int], ...]
    """Family, size and how many of it, in the order of the tie-break."""


@dataclass(frozen=True, slots=True)
class Run:
    """Consecutive values that share a finding, from number `first` to number `last`."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class PastOnAxis:
    """Past drums: their number, how many lie at a value, and how many of these are served."""

    drums: int
    seen: int
    served: int
    only_to_limit: int
    """How many of those served are so only up to the limit."""
    at: tuple[tuple[Length, int, Served | None], ...]
    """Each length, how many had it, and its answer; None between or beyond the values."""


def gaps_at(covered: Covered, nth: int) -> tuple[GapAt, ...]:
    """Return the gaps that move, at the value of number `nth`, which must have a fit."""
    sweep, build = covered.sweep, covered.served[nth].build
    instance = sweep.at(nth)
    found = []
    for index, gap in enumerate(instance.gaps):
        if not sweep.moves(index):
            continue
        layout = gap.layouts[build[index].layout]
        left = judge.gap_of(instance, build, index)
        found.append(
            GapAt(
                gap.name,
                layout.name if len(covered.case.unit.gaps[gap.name].layouts) > 1 else "",
                Length(left * instance.step),
                Length(abs(left - layout.aim) * instance.step),
                _height(layout, left),
                thin_in(instance, build, index),
                tuple(
                    (*size, count) for size, count in sorted(instance.counts(build[index]).items())
                ),
            )
        )
    return tuple(found)


def _height(layout: GridLayout, left: int) -> Fraction | None:
    if layout.low is None or layout.high is None or layout.low == layout.high:
        return None
    return Fraction(left - layout.low, layout.high - layout.low)


def spans(covered: Covered) -> list[Run]:
    """Return the runs of values that are served."""
    return [
        run
        for run, status in _runs(covered, lambda nth: covered.served[nth].status)
        if status == "fit"
    ]


def to_the_limit(covered: Covered) -> list[Run]:
    """Return the runs of values that are served only up to the limit."""
    close = _runs(covered, lambda nth: covered.served[nth].only_to_limit)
    return [run for run, only in close if only]


def thin_zones(covered: Covered) -> list[tuple[Run, int]]:
    """Return the runs of served values, each with the number of thin steels it needs."""

    def thin(nth: int) -> int | None:
        if covered.served[nth].status != "fit":
            return None
        return sum(gap.thin for gap in gaps_at(covered, nth))

    return [(run, number) for run, number in _runs(covered, thin) if number is not None]


def same_parts(covered: Covered) -> list[Run]:
    """Return the runs of served values whose best builds share layout and counts by size."""

    def looks(nth: int) -> object:
        if covered.served[nth].status != "fit":
            return None
        return tuple((gap.layout, gap.parts) for gap in gaps_at(covered, nth))

    return [run for run, same in _runs(covered, looks) if same is not None]


def _runs(covered: Covered, key_of: Callable[[int], T]) -> Iterator[tuple[Run, T]]:
    for same, numbers in groupby(range(covered.sweep.count), key_of):
        first, *rest = numbers
        yield Run(first, rest[-1] if rest else first), same


def past(covered: Covered) -> PastOnAxis:
    """Return where past drums lie, and which are served."""
    at = []
    for length, count in covered.history:
        nth = (length - covered.first).nm / covered.step.nm
        known = nth.denominator == 1 and 0 <= nth < covered.sweep.count
        at.append((length, count, covered.served[int(nth)] if known else None))
    seen = [(count, served) for _, count, served in at if served is not None]
    return PastOnAxis(
        sum(count for _, count, _ in at),
        sum(count for count, _ in seen),
        sum(count for count, served in seen if served.status == "fit"),
        sum(count for count, served in seen if served.only_to_limit),
        tuple(at),
    )


def _closed_by(hole: Hole, covered: Covered) -> CountedAnswer | None:
    if hole.addition is None:
        return None
    part = covered.sweep.instance.choices[hole.addition.choice]
    return CountedAnswer(part, count=hole.addition.count)


class RunAnswer(Answer):
    """Values next to each other, all of them served."""

    from_: Length = key(lambda run, covered: covered.at(run.first))
    """The first value."""
    to: Length = key(lambda run, covered: covered.at(run.last))
    """The last value."""


class HoleAnswer(RunAnswer):
    """Values between served ones at which nothing fits."""

    closed_by: CountedAnswer | None = key(_closed_by)
    """The parts of one size that would close it; null where none would, or no time was left."""
    looked: bool
    """Whether there was time to look for it."""


class StepsAnswer(Answer):
    """The rule of thumb for one family: its sizes step no wider than the window."""

    family: str
    """The family."""
    widest: Length
    """Its widest step from a size to the next."""
    between: list[str] = key(lambda steps: steps.sizes)
    """The two sizes that lie so far apart."""
    window: Length
    """How wide the window is."""
    holds: bool
    """Whether the family alone leaves no hole between its sizes."""


class CoveredAnswer(Answer):
    """What is served of one space or reading that moves."""

    gaps: list[str] = key(lambda covered: covered.moving.gaps())
    """The gaps it moves."""
    reading: str | None = key(
        lambda covered: None if covered.moving.reading == ROOM else covered.moving.reading
    )
    """The reading that moves; null for the room for the stack."""
    standing: list[str] = key(
        lambda covered: [name for name in covered.gaps if name not in covered.moving.gaps()]
    )
    """The gaps that stand as the job has them."""
    left_aside: list[str] = key(
        lambda covered: [name for name in covered.case.unit.gaps if name not in covered.gaps]
    )
    """The gaps that are not looked at."""
    from_: Length = key(lambda covered: covered.at(0))
    """The first value."""
    to: Length = key(lambda covered: covered.last)
    """The last value."""
    step: Length
    """From one value to the next."""
    stands_at: Length | None = key(lambda covered: covered.moving.stands)
    """What it is in the job; null where the job does not say."""
    served: list[RunAnswer] = key(
        lambda covered: [RunAnswer(run, covered=covered) for run in spans(covered)]
    )
    """The runs of values that are served."""
    only_to_the_limit: list[RunAnswer] = key(
        lambda covered: [RunAnswer(run, covered=covered) for run in to_the_limit(covered)]
    )
    """Of these, the runs where no build keeps every gap clear of its limits."""
    holes: list[HoleAnswer] = key(
        lambda covered: [HoleAnswer(hole, covered=covered) for hole in covered.holes]
    )
    """The runs between them that are not."""
    steps: list[StepsAnswer] = key(lambda covered: [StepsAnswer(one) for one in covered.steps])
    """The rule of thumb for each family of the gap that moves."""


class PastAtAnswer(Answer):
    """Past drums of one value."""

    value: Length
    """The value."""
    drums: int
    """How many had it."""
    served: bool | None
    """Whether it is served; null between or beyond the values looked at."""
    clear: bool | None
    """Whether some build keeps every gap clear of its limits; null where nothing fits, between or
    beyond the values looked at, or where time ran out first."""


class PastAnswer(Answer):
    """Where past drums lie."""

    drums: int
    """How many there are."""
    looked_at: int = key(lambda past: past.seen)
    """How many lie at a value that was looked at."""
    served: int
    """How many of these are served."""
    only_to_the_limit: int = key(lambda past: past.only_to_limit)
    """How many of those served are so only up to the limit."""
    at: list[PastAtAnswer] = key(
        lambda past: [
            PastAtAnswer(
                value=value,
                drums=count,
                served=served and served.status == "fit",
                clear=served and served.clear,
            )
            for value, count, served in past.at
        ]
    )
    """Each value they had."""


class GapAtAnswer(Answer):
    """A gap that moves, at one value."""

    name: str
    """Its name."""
    layout: str | None
    """The layout chosen; null where it has only one."""
    gap: Length
    """What it will measure."""
    off_aim: Length = key(lambda gap: gap.off)
    """How far that is from the aim."""
    thin: int
    """How many thin steels it takes."""
    parts: list[CountedAnswer] = key(
        lambda gap: [
            CountedAnswer(family=family, size=size, count=count)
            for family, size, count in gap.parts
        ]
    )
    """The parts chosen, by size."""


class ValueAnswer(Answer):
    """What there is at one value."""

    value: Length = key(lambda covered, nth: covered.at(nth))
    """The value."""
    answer: Literal["fit", "no fit", "undecided"] = key(
        lambda served: "undecided" if served.status == "unknown" else served.status
    )
    """Whether something fits."""
    clear: bool | None = key(lambda served: served.clear)
    """Whether some build keeps every gap clear of its limits; null where nothing fits, or time ran
    out first."""
    builds: int | None = key(lambda served: served.builds)
    """How many builds of the gap a person could tell apart; null where they were not counted."""
    gaps: list[GapAtAnswer] = key(
        lambda covered, nth, served: (
            [*map(GapAtAnswer, gaps_at(covered, nth))] if served.status == "fit" else []
        )
    )
    """The best build of the gaps that move."""


class WholeCoveredAnswer(CoveredAnswer):
    """What is served of one space or reading that moves, value by value."""

    history: PastAnswer | None = key(
        lambda covered: PastAnswer(past(covered)) if covered.history else None
    )
    """Where past drums lie; null without a history."""
    values: list[ValueAnswer] = key(
        lambda covered: [
            ValueAnswer(covered, nth=nth, served=served)
            for nth, served in enumerate(covered.served)
        ]
    )
    """Every value looked at."""


class CoverAnswer(Answer, shape="gapwright cover 2"):
    """Which spaces a kit or a shelf serves."""

    unit: str = key(lambda cover: cover.case.unit.name)
    """The unit's name."""
    covers: list[WholeCoveredAnswer] = key(
        lambda cover: [WholeCoveredAnswer(one) for one in cover.moved]
    )
    """For each gap or reading that moves, what is served."""
    jobs_not_counted: list[UncountedJobAnswer] = key(
        lambda cover: [*map(UncountedJobAnswer, cover.uncounted)]
    )
    """Kept jobs that do not count, with the reason."""


ANSWERS = {"cover": (CoverAnswer,)}
