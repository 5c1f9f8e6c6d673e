"""Other builds than the answer: those as good on every aim before `spare`, and the best in order.

A person tells two builds of a gap apart by their layouts and their counts by size; of builds that
look alike the best stands for all. Builds as good are looked for gap by gap, the other gaps held: a
gap that is listed is gone through pattern by pattern; one that is counted is searched, each build
found being shut out of the next search. The best builds are builds of the whole job, ordered by all
aims.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from solver.engines.limits import Clock
from solver.problem import judge
from solver.problem.instance import Build, GapBuild
from solver.rebuild.fit import judged, listed, model_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.builds.patterns import Pattern
    from solver.engines.limits import Limits
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance
    from solver.problem.solution import Fit

MOST = 6  # one more than anybody is shown
Looks = tuple[int, frozenset[tuple[tuple[str, str], int]]]


def equal_builds(fit: Fit, index: int, clock: Clock) -> list[GapBuild] | None:
    """List the other ways to build one gap as well, the other gaps held.

    Parameters
    ----------
    fit
        The answer; other builds are equal to it on every level before `spare`.
    index
        Which of its gaps.
    clock
        The time that is left.

    Returns
    -------
    list of GapBuild, or None
        The best first, one for all that a person could not tell apart. Of a gap with too many ways
        to list, no more than MOST. None where time ran out.
    """
    patterns = listed(fit.instance, fit.instance.gaps[index])
    if patterns is None:
        return _searched(fit, index, clock)
    found: dict[Looks, Build] = {}
    for build in _as_good(fit, index, patterns):
        looks = _looks_of(fit.instance, build, index)
        if looks not in found or _rank(fit.instance, build) < _rank(fit.instance, found[looks]):
            found[looks] = build
    found.pop(_looks_of(fit.instance, fit.build, index), None)
    ordered = sorted(found.values(), key=lambda build: _rank(fit.instance, build))
    return [build[index] for build in ordered]


def _looks_of(instance: Instance, build: Build, index: int) -> Looks:
    """What of a gap's build a person can tell apart: its layout and its counts by size."""
    return build[index].layout, frozenset(instance.counts(build[index]).items())


def _rank(instance: Instance, build: Build) -> tuple[object, ...]:
    return judge.values(instance, build), [(gap.layout, gap.parts) for gap in build]


def _as_good(fit: Fit, index: int, patterns: list[Pattern]) -> Iterator[Build]:
    visible = _visible_levels(fit.instance)
    mine = next(pattern.values for pattern in patterns if pattern.build == fit.build[index])
    for pattern in patterns:
        if not _may_equal(fit.instance, pattern.values[:visible], mine[:visible]):
            continue
        build = _with(fit.build, index, pattern.build)
        if judge.faults(fit.instance, build):
            continue
        if judge.values(fit.instance, build)[:visible] == fit.values[:visible]:
            yield build


def _visible_levels(instance: Instance) -> int:
    """How many levels come before `spare`: those whose difference a person can see."""
    aims = [level.aim for level in instance.levels]
    return aims.index("spare") if "spare" in aims else len(aims)


def _may_equal(instance: Instance, theirs: tuple[int, ...], mine: tuple[int, ...]) -> bool:
    """With the other gaps held, sums over gaps stay equal only if this gap's share does."""
    levels = instance.levels[: len(mine)]
    return all(
        level.worst or ours == other
        for level, ours, other in zip(levels, mine, theirs, strict=True)
    )


def _with(build: Build, index: int, gap: GapBuild) -> Build:
    return (*build[:index], gap, *build[index + 1 :])


def _searched(fit: Fit, index: int, clock: Clock) -> list[GapBuild] | None:
    instance = replace(
        fit.instance,
        gaps=tuple(
            gap if nth == index else held(gap, fit.build[nth])
            for nth, gap in enumerate(fit.instance.gaps)
        ),
    )
    free = _with(tuple(GapBuild(0, gap.parts) for gap in fit.build), index, fit.build[index])
    visible = _visible_levels(instance)
    found: list[Build] = [free]
    while len(found) <= MOST:
        model = model_of(instance, [listed(instance, gap) for gap in instance.gaps])
        for goal, value in zip(model.goals()[:visible], fit.values[:visible], strict=True):
            model.program.row(goal.expression, None, value)
        for build in found:
            model.shut_out(build, [index])
        best = model.best(clock)
        if best.status == "infeasible":
            break
        if best.status != "optimal" or best.build is None:
            return None
        if judge.faults(instance, best.build):
            return None
        found.append(best.build)
    return [build[index] for build in found[1:]]


def held(gap: GridGap, build: GapBuild) -> GridGap:
    """A gap with nothing left to choose."""
    layout = gap.layouts[build.layout]
    places = tuple(
        replace(
            place,
            takes={choice: place.takes[choice] for choice in parts},
            least=len(parts),
            most=len(parts),
        )
        for place, parts in zip(layout.places, build.parts, strict=True)
    )
    return replace(gap, layouts=(replace(layout, places=places),))


def best_builds(first: Fit, count: int, limits: Limits) -> tuple[Fit, ...]:
    """Find the first `count` builds by all aims, beginning with the answer itself.

    Builds that a person could not tell apart (equal layouts and counts by size in every gap) count
    as one and are told by their best.

    Returns
    -------
    tuple of Fit
        In their order; fewer where there are no more. The last is not proved where time ran out.

    Raises
    ------
    JudgeError
        Where the engine's answer does not hold in plain integers.
    """
    clock = Clock(limits)
    instance = first.instance
    patterns = [listed(instance, gap) for gap in instance.gaps]
    found = [first]
    while len(found) < count and found[-1].proved:
        model = model_of(instance, patterns)
        for fit in found:
            model.shut_out(fit.build)
        best = model.best(clock)
        if best.build is None:
            break
        found.append(judged(instance, best))
    return tuple(found)
