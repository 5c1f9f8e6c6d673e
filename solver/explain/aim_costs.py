"""What each aim of a fit costs the aims after it, and what more of it would cost those before.

Without an aim, the others keep their order. For more of it, the whole order is searched again
among the builds that are better on this aim: the first earlier aim that is then worse is the one
that must yield. Where no build in the windows is better, the windows are dropped and their
largest miss is made least.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.explain.improvement import ask_better
from solver.problem import judge
from solver.problem.solution import Fit
from solver.rebuild.fit import fit, judged, listed, model_of
from solver.rebuild.model import descend
from solver.rebuild.nearest_miss import least_miss
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.engines.limits import Clock
    from solver.problem.aims import Level
    from solver.problem.instance import Build, Instance


@dataclass(frozen=True, slots=True)
class Shift:
    """An aim that another build serves better or worse, by the first level that differs."""

    level: Level
    by: int
    """What is added to the level: below 0 where it improves."""


@dataclass(frozen=True, slots=True)
class More:
    """What it takes to have more of an aim."""

    fit: Fit | None = None
    """The best build that has more of it, where one lands in the windows."""
    gain: Shift | None = None
    yields: Shift | None = None
    """The first earlier aim that must yield."""
    missing: Build | None = None
    """Where no build in the windows has more of it: the one that has, and misses them least."""

    @property
    def none(self) -> bool:
        """Whether no build has more of it, whatever the windows."""
        return self.fit is None and self.missing is None


@dataclass(frozen=True, slots=True)
class AimCost:
    """What one aim costs."""

    aim: str
    gains: tuple[Shift, ...] | None
    """The later aims that improve without it; None where that was not proved in time."""
    more: More | None
    """What more of it takes; None where that was not proved in time."""


def costs_of(found: Fit, clock: Clock) -> tuple[AimCost, ...]:
    """Say what each aim of a proved fit costs the others, of those that measure anything there.

    Parameters
    ----------
    found
        A proved fit.
    clock
        The time for all aims together.

    Returns
    -------
    tuple of AimCost
        In the order of the aims: what later aims gain without it, and which earlier aim must yield,
        or which window, for more of it. What was not proved in time is None.
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
    """Each aim on which another build differs, in order, by its first level that does."""
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
    descent = descend(model, clock, goals)
    if descent.status == "infeasible":
        return _missing(found, mine, clock)
    if descent.status != "proved":
        return None
    better = judged(instance, descent)
    shifts = {shift.level.aim: shift for shift in _shifts(instance, found.build, better.build)}
    first = next(iter(shifts.values()))
    if first.level.aim == aim or first.by < 0:
        raise JudgeError("a build better than the best was found")
    return More(better, shifts[aim], first)


def _order_matters(instance: Instance, aim: str) -> bool:
    """Whether equal parts in a worse order may have more of an aim: then listing leaves it out.

    A listed multiset stands in the order that is best for the first of `heat` and `change`.
    """
    return aim in [other for other in instance.aims if other in ("heat", "change")][1:]


def _missing(found: Fit, mine: slice, clock: Clock) -> More | None:
    status, build = least_miss(
        found.instance,
        clock,
        asked=lambda model: ask_better(model, model.goals()[mine], found.values[mine]),
    )
    if status == "infeasible":
        return More()
    return More(missing=build) if build else None
