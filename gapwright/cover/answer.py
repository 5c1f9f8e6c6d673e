"""What is told of a cover, as data: its spans, its runs of one build, and where past drums lie."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, TypeVar

from solver.problem import judge
from solver.rebuild.thin_steels import thin_in
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gapwright.cover.service import Covered
    from solver.problem.instance import GridLayout

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class GapAt:
    """One gap that moves, at one value: what it leaves and what it is made of."""

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
    """Values next to each other of which the same is to be said."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Past:
    """Past drums: how many there are, how many lie at a value, and how many of these are served."""

    drums: int
    seen: int
    served: int
    at: tuple[tuple[Length, int, bool | None], ...]
    """Each length, how many had it, and whether it is served; None between or beyond the values."""


def gaps_at(covered: Covered, nth: int) -> tuple[GapAt, ...]:
    """The gaps that move, at a value that fits."""
    course, build = covered.course, covered.served[nth].build
    task = course.at(nth)
    found = []
    for index, gap in enumerate(task.gaps):
        if not course.moves(index):
            continue
        layout = gap.layouts[build[index].layout]
        left = judge.gap_of(task, build, index)
        found.append(
            GapAt(
                gap.name,
                layout.name if len(covered.case.unit.gaps[gap.name].layouts) > 1 else "",
                Length(left * task.step),
                Length(abs(left - layout.aim) * task.step),
                _height(layout, left),
                thin_in(task, build, index),
                tuple((*size, count) for size, count in sorted(task.counts(build[index]).items())),
            )
        )
    return tuple(found)


def _height(layout: GridLayout, left: int) -> Fraction | None:
    if layout.low is None or layout.high is None or layout.low == layout.high:
        return None
    return Fraction(left - layout.low, layout.high - layout.low)


def spans(covered: Covered) -> list[Run]:
    """The runs of values that are served."""
    return [
        run
        for run, status in _runs(covered, lambda nth: covered.served[nth].status)
        if status == "fit"
    ]


def thin_zones(covered: Covered) -> list[tuple[Run, int]]:
    """The runs of served values by how many thin steels they need."""

    def thin(nth: int) -> int | None:
        if covered.served[nth].status != "fit":
            return None
        return sum(gap.thin for gap in gaps_at(covered, nth))

    return [(run, number) for run, number in _runs(covered, thin) if number is not None]


def same_parts(covered: Covered) -> list[Run]:
    """The runs of served values whose best builds have the same layout and counts by size."""

    def looks(nth: int) -> object:
        if covered.served[nth].status != "fit":
            return None
        return tuple((gap.layout, gap.parts) for gap in gaps_at(covered, nth))

    return [run for run, same in _runs(covered, looks) if same is not None]


def _runs(covered: Covered, told: Callable[[int], T]) -> Iterator[tuple[Run, T]]:
    for same, numbers in groupby(range(covered.course.count), told):
        first, *rest = numbers
        yield Run(first, rest[-1] if rest else first), same


def past(covered: Covered) -> Past:
    """Where past drums lie."""
    at = []
    for length, count in covered.history:
        nth = (length - covered.first).nm / covered.step.nm
        known = nth.denominator == 1 and 0 <= nth < covered.course.count
        served = covered.served[int(nth)].status == "fit" if known else None
        at.append((length, count, served))
    return Past(
        sum(count for _, count, _ in at),
        sum(count for _, count, served in at if served is not None),
        sum(count for _, count, served in at if served),
        tuple(at),
    )
