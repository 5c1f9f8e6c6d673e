"""The use cases: what a command or a page asks for, done with the shelf and the solver.

Here the two sides meet: `inventory` says what is on hand, `solver` chooses from it. No sentence
is made here and nothing is printed.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING

import inventory
from gapwright.lines import GapLines, lines_of
from solver.answer import Answer, Fit, NoFit
from solver.engine import Clock, Limits
from solver.pose import pose
from specs.case import Case
from specs.errors import InputError, Problem
from specs.files import read_case
from specs.layouts import allowed_layouts, barred_layouts
from specs.parts import now_parts
from specs.readings import AtPlace, Space, fewer_places, missing, settled, space_of, trial_gap

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from solver.reason import Reason
    from solver.task import Build, GapBuild
    from solver.ways import Way
    from specs.lengths import Length
    from specs.slips import Slip

EXPLAIN_SECONDS = 10


@dataclass(frozen=True, slots=True)
class Reseat:
    """One place whose gap lies outside the window that the average is inside."""

    gap: str
    at: AtPlace
    would_be: Length


@dataclass(frozen=True, slots=True)
class Beside:
    """A gap nearer its limit than its gauge can tell, and the build with one thin steel more."""

    gap: str
    tells: Length
    instead: tuple[GapLines, ...] | None


@dataclass(frozen=True, slots=True)
class Ranked:
    """One of the best builds: its gaps, and the first aim in which it yields to the best."""

    gaps: tuple[GapLines, ...]
    yields: str
    """Empty where it is as good on every aim."""
    proved: bool


@dataclass(frozen=True, slots=True)
class Report:
    """One rebuild's answer, with what it was asked of and what else is to be said."""

    case: Case
    answer: Answer
    solved: tuple[str, ...]
    """The gaps whose readings are there, in the unit file's order."""
    waiting: dict[str, tuple[str, ...]]
    """The other gaps, with the readings they wait for."""
    barred: dict[str, list[str]]
    """For each gap, the layouts the job's facts rule out, with the reason."""
    spaces: dict[str, Space]
    """The space of each solved gap, in its chosen or its best layout."""
    fewer_places: tuple[tuple[str, str, int, int], ...] = ()
    """Gaps with a reading taken at fewer places than asked for: its name, asked and given."""
    gaps: tuple[GapLines, ...] = ()
    leave: bool = False
    """Whether the build now in the unit is as good as any."""
    close: tuple[Beside, ...] = ()
    reseat: tuple[Reseat, ...] = ()
    fewest_thin: int | None = None
    """How few thin steels the whole job could have; None where that was not proved."""
    equal: tuple[tuple[GapLines, ...] | None, ...] = ()
    """For each gap, the other ways to build it as well; None where not all were looked at."""
    doubtful: dict[str, tuple[Slip, ...]] = field(default_factory=dict)
    """Gaps whose space no size could serve, with the single mistakes that would explain it."""
    reason: Reason | None = None
    """Why nothing fits."""
    ways: tuple[Way, ...] = ()
    """What would help where nothing fits, each verified."""
    best: tuple[Ranked, ...] = ()
    """The best builds in order, where they were asked for; the first is the answer."""


def fit_job(
    job: Path,
    unit: Path | None = None,
    shelf: Path | None = None,
    limits: Limits | None = None,
    best: int = 1,
) -> Report:
    """Read one job and solve it. Raises InputError with all that is wrong with its files."""
    return fit_case(read_case(job, unit, shelf), limits, best)


def fit_case(case: Case, limits: Limits | None = None, best: int = 1) -> Report:
    """Solve the gaps of a case whose readings are there, and look around the answer.

    With `best` more than 1 the answer also lists so many best builds.
    """
    from solver.fit import fit

    clock = Clock(limits or Limits())
    lacking = {name: missing(case, name) for name in case.unit.gaps}
    solved = tuple(name for name, names in lacking.items() if not names)
    waiting = {name: names for name, names in lacking.items() if names}
    _check_solvable(case, solved, waiting)
    lots = (*inventory.on_hand(case, solved), *inventory.catalogue(case))
    task = pose(case, lots, solved)
    answer = fit(task, clock.rest())
    layouts = {
        gap.name: gap.layouts[answer.build[index].layout if isinstance(answer, Fit) else 0].name
        for index, gap in enumerate(task.gaps)
    }
    report = Report(
        case=case,
        answer=answer,
        solved=solved,
        waiting=waiting,
        barred={name: barred_layouts(case, name) for name in solved},
        spaces={name: space_of(case, name, layouts[name]) for name in solved},
        fewer_places=tuple(
            (name, *places) for name in solved for places in fewer_places(case, name)
        ),
    )
    if isinstance(answer, NoFit):
        return _explained(report, answer, clock)
    if not isinstance(answer, Fit):
        return report
    report = _looked_around(report, answer, clock)
    return replace(report, best=_ranked(case, answer, best, clock)) if best > 1 else report


def _check_solvable(
    case: Case, solved: tuple[str, ...], waiting: dict[str, tuple[str, ...]]
) -> None:
    origin = case.origins["job"]
    if not solved:
        wants = "; ".join(f"{name} waits for {', '.join(names)}" for name, names in waiting.items())
        raise InputError(Problem(f"no gap has all its readings yet: {wants}", origin.source.file))
    problems = []
    for name in solved:
        if not allowed_layouts(case, name):
            sentence = f"no layout of {name} is allowed: {'; '.join(barred_layouts(case, name))}"
            problems.append(origin.problem(("facts",), sentence))
    if problems:
        raise InputError(*problems)


def _looked_around(report: Report, found: Fit, clock: Clock) -> Report:
    """Add what a person wants to know of a fit besides its parts."""
    if not found.proved:  # time is up, or somebody does not want to wait
        clock = Clock(replace(clock.limits, seconds=0))
    gaps = lines_of(report.case, found.task, found.build)
    return replace(
        report,
        gaps=gaps,
        leave=_leave(report.case, found),
        close=tuple(_close(report, found, gaps, clock)),
        reseat=tuple(_reseat(report, gaps)),
        fewest_thin=_fewest_thin(found, gaps, clock),
        equal=tuple(_equal(report.case, found, index, clock) for index in range(len(gaps))),
    )


def _explained(report: Report, answer: NoFit, clock: Clock) -> Report:
    """Add why nothing fits and what would help, within a deadline of their own."""
    from solver.reason import reason_of
    from solver.ways import ways_out

    rest = clock.rest()
    clock = Clock(replace(rest, seconds=min(rest.seconds, EXPLAIN_SECONDS)))
    tells = tuple(int(report.spaces[name].tells.nm / answer.task.step) for name in report.solved)
    return replace(
        report,
        doubtful=dict(_doubtful(report.case, answer, clock)),
        reason=reason_of(answer.task, answer.alone, clock),
        ways=ways_out(answer, tells, clock),
    )


def _doubtful(case: Case, answer: NoFit, clock: Clock) -> Iterator[tuple[str, tuple[Slip, ...]]]:
    from solver.serve import can_serve
    from specs.slips import slips

    task = answer.task
    for index, (gap, miss) in enumerate(zip(task.gaps, answer.alone, strict=True)):
        if miss.status != "near" or not miss.by or settled(case, case.unit.gaps[gap.name]):
            continue
        if can_serve(task, index, Fraction(0), clock) is not False:
            continue
        found = {
            slip.words: slip
            for layout in gap.layouts
            for slip in slips(case, gap.name, layout.name)
            if can_serve(task, index, slip.shift.nm / task.step, clock)
        }
        yield gap.name, tuple(found.values())


def _ranked(case: Case, found: Fit, best: int, clock: Clock) -> tuple[Ranked, ...]:
    from solver.best import best_builds

    fits = best_builds(found, best, clock.rest())
    return tuple(
        Ranked(lines_of(case, fit.task, fit.build), _yields(found, fit), fit.proved) for fit in fits
    )


def _yields(best: Fit, fit: Fit) -> str:
    for level, first, value in zip(best.task.levels, best.values, fit.values, strict=True):
        if value != first:
            return level.aim
    return ""


def _leave(case: Case, found: Fit) -> bool:
    """Nothing is to be changed: the build in the unit is as good on the aims before `change`."""
    if "change" not in found.task.aims:
        return False
    known = all(now_parts(case.job.gaps.get(gap.name)) for gap in found.task.gaps)
    measures = [level.measure for level in found.task.levels]
    return known and not found.values[measures.index("change")]


def _close(
    report: Report, found: Fit, gaps: tuple[GapLines, ...], clock: Clock
) -> Iterator[Beside]:
    from solver.thin import one_thin_more

    for index, gap in enumerate(gaps):
        tells = report.spaces[gap.name].tells
        if gap.margin is None or gap.margin >= tells or not found.task.gaps[index].layouts:
            continue
        if settled(report.case, report.case.unit.gaps[gap.name]):
            continue
        more = one_thin_more(found, index, clock.rest())
        instead = lines_of(report.case, more.task, more.build) if isinstance(more, Fit) else None
        yield Beside(gap.name, tells, instead)


def _reseat(report: Report, gaps: tuple[GapLines, ...]) -> Iterator[Reseat]:
    for gap in gaps:
        space = report.spaces[gap.name]
        seen = {gap.gap: gap.inside}
        tried = trial_gap(report.case, gap.name, gap.layout)
        if tried is not None:
            seen[tried] = gap.holds(tried)
        for at in space.places:
            for average, inside in seen.items():
                would_be = average + at.space - space.length
                if inside and not gap.holds(would_be):
                    yield Reseat(gap.name, at, would_be)
                    break


def _fewest_thin(found: Fit, gaps: tuple[GapLines, ...], clock: Clock) -> int | None:
    from solver.thin import fewest_thin, thin_in

    if not sum(gap.thin for gap in gaps):
        return 0
    least = fewest_thin(found, clock.rest())
    if not isinstance(least, Fit) or not least.proved:
        return None
    return sum(thin_in(least.task, least.build, index) for index in range(len(least.build)))


def _equal(case: Case, found: Fit, index: int, clock: Clock) -> tuple[GapLines, ...] | None:
    from solver.equal import equal_builds

    others = equal_builds(found, index, clock)
    if others is None:
        return None

    def swapped(other: GapBuild) -> Build:
        return (*found.build[:index], other, *found.build[index + 1 :])

    return tuple(lines_of(case, found.task, swapped(other))[index] for other in others)
