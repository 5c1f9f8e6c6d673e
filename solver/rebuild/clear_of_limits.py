"""What the aim `safe` does to an answer: which gaps lack their guard band, and what it costs.

What is served only up to the very limit is told apart by narrowed windows: with its guard bands cut
off, a window holds the gaps that lack nothing and no others.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from solver.problem.judge import gap_of
from solver.problem.solution import Fit
from solver.rebuild.fit import fit

if TYPE_CHECKING:
    from solver.engines.limits import Limits
    from solver.problem.gaps import GridLayout, Guard
    from solver.problem.instance import Build, Instance
    from specs.models.aims import Aim


def lacking(instance: Instance, build: Build, index: int) -> Fraction:
    """Return how much of its guard band a gap of a build lacks, in steps; 0 where it keeps it."""
    layout = instance.gaps[index].layouts[build[index].layout]
    return lacked_at(layout, gap_of(instance, build, index))


def lacked_at(layout: GridLayout, gap: int) -> Fraction:
    """Return how much of a layout's guard band a gap lacks, in steps; 0 where it keeps it.

    Where a window states no low end the guard band has one all the same, for the aim alone: that
    no limit lies there, so a gap near it lacks nothing.
    """
    if layout.guard is None:
        return Fraction(0)
    margin = _stated(layout.guard).margin(gap)
    return Fraction(0) if margin is None else max(Fraction(0), layout.guard.band - margin)


def _stated(guard: Guard) -> Guard:
    return replace(guard, low=None) if guard.low_open else guard


def keeps_clear(instance: Instance, build: Build) -> bool:
    """Return whether every gap of a build keeps its whole guard band."""
    return not any(lacking(instance, build, index) for index in range(len(build)))


def narrowed(layout: GridLayout) -> GridLayout | None:
    """Return a layout with its window narrowed by its guard band; None where no step is left of it.

    Exactly the gaps that lack nothing lie in it.
    """
    if layout.guard is None:
        return layout
    stated, band = _stated(layout.guard), ceil(layout.guard.band)
    low = layout.low if stated.low is None else stated.low + band
    high = layout.high if stated.high is None else stated.high - band
    if low is not None and high is not None and low > high:
        return None
    return replace(layout, low=low, high=high)


def all_narrowed(instance: Instance) -> Instance:
    """Return an instance whose builds are those that keep every gap clear of its limits."""
    gaps = []
    for gap in instance.gaps:
        layouts = (narrowed(layout) for layout in gap.layouts)
        gaps.append(replace(gap, layouts=tuple(one for one in layouts if one)))
    return replace(instance, gaps=tuple(gaps))


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
