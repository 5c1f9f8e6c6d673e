"""The explanation of a build: what each aim costs, and how far each reading may be off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.gaps.varied_reading import varied_readings
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from solver.engines.limits import Clock
    from solver.explain.aim_costs import AimCost
    from solver.problem.solution import Fit
    from specs.gaps.varied_reading import VariedReading
    from specs.models.case import Case


@dataclass(frozen=True, slots=True)
class StableRange:
    """A reading, and the range in which no other build is better than the answer."""

    reading: str
    gap: str
    """Empty where gaps share the reading."""
    value: Length
    low: Length | None
    """None where nothing lower makes another build better."""
    high: Length | None
    proved: bool
    """Otherwise time ran out, and it may be more."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """The explanation of a fit: the costs of its aims, and the ranges of its readings."""

    costs: tuple[AimCost, ...]
    ranges: tuple[StableRange, ...]


def explanation_of(case: Case, found: Fit, gaps: tuple[str, ...], clock: Clock) -> Explanation:
    """Explain a proved fit, as far as time allows.

    Parameters
    ----------
    case
        The job's files as read.
    found
        The fit.
    gaps
        The names of the gaps that were solved.
    clock
        The time that is left; its watch hears what is being looked at.
    """
    from solver.explain.aim_costs import costs_of

    clock.limits.watch.words = "asking what each aim costs"
    costs = costs_of(found, clock)
    clock.limits.watch.words = "asking how far each reading may be off"
    return Explanation(
        costs, tuple(_range_of(found, moving, clock) for moving in varied_readings(case, gaps))
    )


def _range_of(found: Fit, moving: VariedReading, clock: Clock) -> StableRange:
    from solver.explain.sensitivity import sensitivity_of
    from solver.problem.parameter import factors_of

    stable = sensitivity_of(found, factors_of(found.instance, moving.factor), clock)
    value = moving.stands or ZERO
    return StableRange(
        moving.reading,
        moving.gap,
        value,
        None if stable.lower is None else value - Length(stable.lower * stable.step),
        None if stable.higher is None else value + Length(stable.higher * stable.step),
        stable.proved,
    )
