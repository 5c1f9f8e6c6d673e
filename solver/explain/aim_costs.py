"""Finds what each aim of a fit costs the later aims, and what more of it would cost the earlier.

The first cost is found by solving without the aim; the others keep their order. The second is found
by searching the whole order again among the builds that are better on this aim: the first earlier
aim that is then worse is the one that must yield. Where no build in the windows is better, the
windows are dropped and their largest miss is minimised.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.explain.improvement import ask_better
from solver.problem import judge
from solver.problem.solution import Fit
from solver.rebuild.fit import fit, judged, listed, model_of
from solver.rebuild.nearest_miss import least_miss
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.engines.limits import Clock
    from solver.problem.aims import Level
    from solver.problem.instance import Build, Instance


@dataclass(frozen=True, slots=True)
class Shift:
    """The change of an aim from one build to another, on the first of its levels that differs."""

    level: Level
    by: int
    """The change of the level; below 0 where it improves."""


@dataclass(frozen=True, slots=True)
class More:
    """The price of more of an aim."""

    fit: Fit | None = None
    """The best build that has more of it, where one lands in the windows."""
    gain: Shift | None = None
    yields: Shift | None = None
    """The first earlier aim that gets worse."""
    missing: Build | None = None
    """Where no build in the windows has more of it: the build that does and misses them least."""

    @property
    def none(self) -> bool:
        """Whether no build has more of it, whatever the windows."""
        return self.fit is None and self.missing is None


@dataclass(frozen=True, slots=True)
class AimCost:
    """The cost of one aim."""

    aim: str
    gains: tuple[Shift, ...] | None
    """The later aims that improve without it; None where that was not proved in time."""
    more: More | None
    """The price of more of it; None where that was not proved in time."""


def costs_of(found: Fit, clock: Clock) -> tuple[AimCost, ...]:
    """Find the cost of each aim of a proved fit, of the aims that measure anything there.

    Parameters
    ----------
    found
        A proved fit.
    clock
        The time for all aims together.

    Returns
    -------
    tuple of AimCost
        In the order of the aims. For each aim, the gains of later aims without it, and the earlier
        aim or the window that must yield for more of it. What was not proved in time is None.

    Raises
    ------
    JudgeError
        Where the search finds a build better than the fit, which was proved the best.
    """
    measured = dict.fromkeys(level.aim for level in found.instance.levels)
    return tuple(AimCost(a, _gains(found, a, clock), _more(found, a, clock)) for a in measured)


def _gains(found: Fit, aim: str, clock: Clock) -> tuple[Shift, ...] | None:
    aims = tuple(other for other in found.instance.aims if other != aim)
    later = found.instance.aims[found.instance.aims.index(aim) + 1 :]
    if not later:
        return ()
    other = fit(replace(found.instance, aims=aims), clock.rest())
    if not isinstance(other, Fit) or not other.proved:
        return None
    shifts = _shifts(found.instance, found.build, other.build)
    return tuple(shift for shift in shifts if shift.level.aim in later and shift.by < 0)


def _shifts(instance: Instance, build: Build, other: Build) -> Iterator[Shift]:
    """Yield each aim on which another build differs, in order, by its first level that does."""
    seen = set()
    pairs = zip(judge.values(instance, build), judge.values(instance, other), strict=True)
    for level, (value, others) in zip(instance.levels, pairs, strict=True):
        if value != others and level.aim not in seen:
            seen.add(level.aim)
            yield Shift(level, others - value)


def _more(found: Fit, aim: str, clock: Clock) -> More | None:
    instance = found.instance
    levels = [level.aim for level in instance.levels]
    mine = slice(levels.index(aim), levels.index(aim) + levels.count(aim))
    counted = _order_matters(instance, aim)
    model = model_of(
        instance, [None if counted else listed(instance, gap) for gap in instance.gaps]
    )
    goals = model.goals()
    ask_better(model, goals[mine], found.values[mine])
    best = model.best(clock, goals)
    if best.status == "infeasible":
        return _missing(found, mine, clock)
    if best.status != "optimal":
        return None
    better = judged(instance, best)
    shifts = {shift.level.aim: shift for shift in _shifts(instance, found.build, better.build)}
    first = next(iter(shifts.values()))
    if first.level.aim == aim or first.by < 0:
        raise JudgeError("a build better than the best was found")
    return More(better, shifts[aim], first)


def _order_matters(instance: Instance, aim: str) -> bool:
    """Return whether builds that listing leaves out may have more of an aim.

    A listed multiset of parts stands in the order that is best for the first of `heat` and
    `change`; a worse order may be better for the second.
    """
    return aim in [other for other in instance.aims if other in ("heat", "change")][1:]


def _missing(found: Fit, mine: slice, clock: Clock) -> More | None:
    status, build = least_miss(
        found.instance,
        clock,
        add_rows=lambda model: ask_better(model, model.goals()[mine], found.values[mine]),
    )
    if status == "infeasible":
        return More()
    return More(missing=build) if build else None
