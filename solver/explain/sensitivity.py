"""Finds how far one reading may change, up or down, before another build beats the answer.

A reading moves the rooms of some gaps together, by a whole number of grid steps for each step of
its own. So its steps in one direction are the values of a sweep, from the reading as it stands to
the last at which the answer lands (`solver/explain/stability.py` looks for another build there).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

from solver.explain.stability import MovedPatterns, Stability
from solver.problem.parameter import Sweep, rates_of

if TYPE_CHECKING:
    from solver.engines.limits import Clock
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance
    from solver.problem.parameter import Factors, Rates
    from solver.problem.solution import Fit


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The number of steps of a reading over which the answer stays best, down and up."""

    step: Fraction
    """The length of one step of the reading, in nanometres."""
    lower: int | None
    """None where no lower reading makes another build better."""
    higher: int | None
    proved: bool
    """Whether both were found exactly; otherwise time ran out, and they may be greater."""


def sensitivity_of(found: Fit, factors: Factors, clock: Clock) -> Sensitivity:
    """Find the largest run of steps around a reading in which a fit stays best.

    It stays best while no build is better on the aims; the tie-break does not count.

    Parameters
    ----------
    found
        A proved fit.
    factors
        For each gap and each of its layouts, the growth of its room when the reading grows by one.
    clock
        The time for both directions.

    Returns
    -------
    Sensitivity
        The number of steps down and up, each of `step` nanometres; None where there is no end.
    """
    step = _step(found.instance, factors)
    (lower, early), (higher, late) = (
        _reach(found, rates_of(found.instance, factors, towards), clock)
        for towards in (-step, step)
    )
    return Sensitivity(step, lower, higher, not (early or late))


def _step(instance: Instance, factors: Factors) -> Fraction:
    """Return the least step of a reading, in nanometres, that moves rooms by whole grid steps."""
    each = [abs(instance.step / factor) for layouts in factors for factor in layouts if factor]
    over = lcm(*(length.denominator for length in each))
    return Fraction(lcm(*(int(length * over) for length in each)), over)


def _reach(found: Fit, rates: Rates, clock: Clock) -> tuple[int | None, bool]:
    """Return the last step at which the answer stays best, and whether time ran out."""
    last = _last(found, rates)
    end = _beyond(found.instance, rates) if last is None else last
    sweep = Sweep(found.instance, rates, end + 1)
    stability = Stability(MovedPatterns(sweep), found.build, clock)
    first = stability.first_better(1, end)
    return last if first is None else first - 1, stability.late


def _last(found: Fit, rates: Rates) -> int | None:
    """Return the last step at which the answer lies in its windows; None where all do."""
    left = []
    for gap, built, layouts in zip(found.instance.gaps, found.build, rates, strict=True):
        layout, rate = gap.layouts[built.layout], layouts[built.layout]
        limit = layout.high if rate > 0 else layout.low
        if rate and limit is not None:
            left.append((limit - layout.left(built.parts)) // rate)
    return min(left, default=None)


def _beyond(instance: Instance, rates: Rates) -> int:
    """Return a step from which every gap of a moved stack lies on one side of all limits."""
    return max(
        _extent(gap) // abs(rate) + 1
        for gap, layouts in zip(instance.gaps, rates, strict=True)
        for rate in layouts
        if rate
    )


def _extent(gap: GridGap) -> int:
    """Return the distance from the least to the greatest of all gaps, limits and aims."""
    ends: list[int] = []
    for layout in gap.layouts:
        ends += [end for end in (layout.low, layout.high, layout.aim) if end is not None]
        most = sum(
            place.most * max(map(abs, place.takes.values()), default=0) for place in layout.places
        )
        ends += [layout.room - most, layout.room + most]
    return max(ends) - min(ends)
