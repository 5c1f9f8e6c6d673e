"""What the aim `safe` does to an answer: which gaps lack their guard band, and what it costs."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from solver.problem.judge import gap_of
from solver.problem.solution import Fit
from solver.rebuild.fit import fit

if TYPE_CHECKING:
    from solver.engines.limits import Limits
    from solver.problem.instance import Build, Instance
    from specs.models.aims import Aim


def lacking(instance: Instance, build: Build, index: int) -> Fraction:
    """Return how much of its guard band a gap of a build lacks, in steps; 0 where it keeps it.

    Where a window states no low end the guard band has one all the same, for the aim alone: that
    no limit lies there, so a gap near it lacks nothing.
    """
    layout = instance.gaps[index].layouts[build[index].layout]
    if layout.guard is None:
        return Fraction(0)
    stated = layout.guard if layout.guard.low == layout.low else replace(layout.guard, low=None)
    margin = stated.margin(gap_of(instance, build, index))
    return Fraction(0) if margin is None else max(Fraction(0), layout.guard.band - margin)


def without_safe(found: Fit, limits: Limits) -> Fit:
    """Return the build that would be best without `safe`; the answer where none other is proved.

    Parameters
    ----------
    found
        The answer, with `safe` among its aims or not.
    limits
        The time that is left.
    """
    rest = tuple(aim for aim in found.instance.aims if aim != "safe")
    if rest == found.instance.aims:
        return found
    other = fit(replace(found.instance, aims=rest), limits)
    return other if isinstance(other, Fit) and other.proved else found


def with_safe(found: Fit, index: int, limits: Limits) -> Fit | None:
    """Return the best build with `safe` after the layouts, where that keeps a gap clearer.

    Parameters
    ----------
    found
        The answer to aims that may leave `safe` out.
    index
        The gap.
    limits
        The time that is left.

    Returns
    -------
    Fit or None
        None where `safe` is among the aims, or another build keeps the gap no clearer.
    """
    instance = found.instance
    if "safe" in instance.aims:
        return None
    first: tuple[Aim, ...] = ("layout", "safe") if "layout" in instance.aims else ("safe",)
    aims = (*first, *(aim for aim in instance.aims if aim not in first))
    other = fit(replace(instance, aims=aims), limits)
    if not isinstance(other, Fit):
        return None
    before = lacking(instance, found.build, index)
    return other if lacking(instance, other.build, index) < before else None
