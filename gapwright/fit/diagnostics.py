"""The findings around an answer: margins, equal builds, fewest thin steels, or why nothing fits."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from gapwright.fit.assembly import GapAssembly, assemblies_of
from gapwright.fit.conformance import chance_of, conformance_of
from gapwright.fit.report import (
    BuildReport,
    NearLimit,
    Ranked,
    Report,
    Reseat,
    TriedWay,
    Unguarded,
)
from solver.engines.limits import Clock
from solver.problem.solution import Fit, NoFit
from specs.gaps.job_gap import JobGap
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.conformance import Conformance
    from solver.explain.ways_out import WayOut
    from solver.problem.instance import Build, GapBuild, Instance
    from solver.rebuild.thin_steels import ThinGrade
    from specs.gaps.suspected_mistakes import Mistake
    from specs.models.case import Case

EXPLAIN_SECONDS = 10
AnyReport = TypeVar("AnyReport", bound=BuildReport)


def diagnose(report: Report, found: Fit, clock: Clock) -> Report:
    """Add to the report of a fit its assemblies, how sure it is, and what is worth knowing of it.

    Parameters
    ----------
    report
        The report that was begun.
    found
        The fit. Where it is not proved, nothing is searched further, for time is up.
    clock
        The time that is left.
    """
    if not found.proved:  # time is up, or somebody does not want to wait
        clock = Clock(replace(clock.limits, seconds=0))
    gaps = assemblies_of(report.case, found.instance, found.build)
    report = examined(report, found.instance, found.build, gaps)
    without = _without_safe(found, gaps, clock)
    return replace(
        report,
        leave=_leave(report, found),
        close=tuple(_with_safe(report, near, found, clock) for near in report.close),
        fewest_thin=_fewest_thin(without, gaps, clock),
        unguarded=_unguarded(report, without, gaps),
        equal=tuple(_equal(report.case, found, index, clock) for index in range(len(gaps))),
    )


def examined(
    report: AnyReport, instance: Instance, build: Build, gaps: tuple[GapAssembly, ...]
) -> AnyReport:
    """Add to the report of a build how sure it is, and what is to be minded before it is built.

    Nothing is searched, so that it serves each of many jobs.

    Parameters
    ----------
    report
        The report that was begun.
    instance, build
        The job in integers, and its build there.
    gaps
        The assemblies of the build.
    """
    sure = conformance_of(report.case, gaps, report.enough)
    close = _close(report, instance, build, sure)
    return replace(
        report,
        gaps=gaps,
        sure=sure,
        close=tuple(sorted(close, key=lambda near: near.chance.least)),
        reseat=tuple(_reseat(report, gaps)),
    )


def explained(report: Report, answer: NoFit, clock: Clock, *, why: bool) -> Report:
    """Add to a report why nothing fits and what would help, within at most EXPLAIN_SECONDS.

    Parameters
    ----------
    report
        The report that was begun.
    answer
        The proof that nothing fits, with the nearest miss of each gap.
    clock
        The time that is left.
    why
        Whether to look for a reason with the fewest conditions.
    """
    from solver.explain.conflict import reason_of, smallest_reason
    from solver.explain.ways_out import ways_out

    rest = clock.rest()
    clock = Clock(replace(rest, seconds=min(rest.seconds, EXPLAIN_SECONDS)))
    tells = tuple(
        int(report.spaces[name].tells.nm / answer.instance.step) for name in report.solved
    )
    reason = reason_of(answer.instance, answer.alone, clock)
    if why:
        reason = smallest_reason(answer.instance, reason, clock)
    return replace(
        report,
        doubtful=dict(_doubtful(report.case, answer, clock)),
        reason=reason,
        ways=tuple(_tried(report.case, way) for way in ways_out(answer, reason, tells, clock)),
    )


def _tried(case: Case, way: WayOut) -> TriedWay:
    gaps = assemblies_of(case, way.fit.instance, way.fit.build)
    return TriedWay(way, gaps, tuple(chance_of(case, gap) for gap in gaps))


def _doubtful(case: Case, answer: NoFit, clock: Clock) -> Iterator[tuple[str, tuple[Mistake, ...]]]:
    from solver.explain.conditions import can_serve
    from specs.gaps.suspected_mistakes import suspected_mistakes

    instance = answer.instance
    for index, (gap, miss) in enumerate(zip(instance.gaps, answer.alone, strict=True)):
        if miss.status != "near" or not miss.by or JobGap(case, gap.name).settled:
            continue
        if can_serve(instance, index, Fraction(0), clock) is not False:
            continue
        found = {
            mistake.words: mistake
            for layout in gap.layouts
            for mistake in suspected_mistakes(JobGap(case, gap.name), layout.name)
            if can_serve(instance, index, mistake.shift.nm / instance.step, clock)
        }
        yield gap.name, tuple(found.values())


def ranked(case: Case, found: Fit, best: int, clock: Clock) -> tuple[Ranked, ...]:
    """Return the best builds of a fit in order, each with the aim it is worse on than the best."""
    from solver.rebuild.alternatives import best_builds

    fits = best_builds(found, best, clock.rest())
    return tuple(
        Ranked(assemblies_of(case, fit.instance, fit.build), _yields(found, fit), fit.proved)
        for fit in fits
    )


def _yields(best: Fit, fit: Fit) -> str:
    for level, first, value in zip(best.instance.levels, best.values, fit.values, strict=True):
        if value != first:
            return level.aim
    return ""


def _leave(report: Report, found: Fit) -> bool:
    """Tell whether the build in the unit is as good as any on the aims before `change`.

    Where a part is worn or always replaced the drum is not left as it is.
    """
    case = report.case
    if any(remark.kind in ("worn", "always replaced") for remark in report.remarks):
        return False
    if "change" not in found.instance.aims:
        return False
    known = all(JobGap(case, gap.name).now for gap in found.instance.gaps)
    measures = [level.measure for level in found.instance.levels]
    return known and not found.values[measures.index("change")]


def _close(
    report: BuildReport, instance: Instance, build: Build, sure: Conformance
) -> Iterator[NearLimit]:
    """Yield the gaps that lack some of their guard band, or whose chance is low."""
    from solver.rebuild.clear_of_limits import lacking

    for index, gap in enumerate(sure.gaps):
        lacks = lacking(instance, build, index)
        if lacks or gap.chance.least < report.enough:
            yield NearLimit(gap.name, Length(lacks * instance.step), gap.chance)


def _with_safe(report: Report, near: NearLimit, found: Fit, clock: Clock) -> NearLimit:
    """Add to a gap near a limit the build with `safe` that keeps it clearer, if there is one."""
    from solver.rebuild.clear_of_limits import with_safe

    index = [gap.name for gap in report.gaps].index(near.gap)
    other = with_safe(found, index, clock.rest()) if near.lacks else None
    if other is None:
        return near
    return replace(near, instead=assemblies_of(report.case, other.instance, other.build))


def _without_safe(found: Fit, gaps: tuple[GapAssembly, ...], clock: Clock) -> Fit:
    """Return the build without `safe`, which can spare thin steels only where there are some."""
    from solver.rebuild.clear_of_limits import without_safe

    return without_safe(found, clock.rest()) if any(gap.thin for gap in gaps) else found


def _unguarded(report: Report, without: Fit, gaps: tuple[GapAssembly, ...]) -> Unguarded | None:
    others = assemblies_of(report.case, without.instance, without.build)
    if sum(gap.thin for gap in others) >= sum(gap.thin for gap in gaps):
        return None
    from solver.rebuild.clear_of_limits import lacking

    near = any(lacking(without.instance, without.build, index) for index in range(len(others)))
    return Unguarded(others, conformance_of(report.case, others, report.enough), near)


def _reseat(report: BuildReport, gaps: tuple[GapAssembly, ...]) -> Iterator[Reseat]:
    for gap in gaps:
        space = report.spaces[gap.name]
        if not space.places:
            continue
        seen = {gap.gap: gap.inside}
        tried = JobGap(report.case, gap.name).trial_gap(gap.layout)
        if tried is not None:
            seen[tried] = gap.holds(tried)
        for at in space.places:
            for average, inside in seen.items():
                would_be = average + at.space - space.length
                if inside and not gap.holds(would_be):
                    yield Reseat(gap.name, at, would_be)
                    break


def _fewest_thin(
    found: Fit, gaps: tuple[GapAssembly, ...], clock: Clock
) -> tuple[ThinGrade, ...] | None:
    from solver.rebuild.thin_steels import fewest_thin, thin_by_grade

    if not any(gap.thin for gap in gaps):
        return ()
    least = fewest_thin(found, clock.rest())
    if not isinstance(least, Fit) or not least.proved:
        return None
    return thin_by_grade(least.instance, least.build)


def _equal(case: Case, found: Fit, index: int, clock: Clock) -> tuple[GapAssembly, ...] | None:
    from solver.rebuild.alternatives import equal_builds

    others = equal_builds(found, index, clock)
    if others is None:
        return None

    def swapped(other: GapBuild) -> Build:
        return (*found.build[:index], other, *found.build[index + 1 :])

    return tuple(assemblies_of(case, found.instance, swapped(other))[index] for other in others)
