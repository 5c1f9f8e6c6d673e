"""The service of `fit`: it solves a rebuild for a command or a page, and reserves its parts.

Here two packages meet that do not know each other: `inventory` lists the parts on hand, `solver`
chooses among them. This file makes no sentences and prints nothing.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypedDict, Unpack

from gapwright.fit.assembly import assemblies_of
from gapwright.fit.build_uncertainty import BuildUncertainty
from gapwright.fit.conformance import conformance_of
from gapwright.fit.decision_rule import ConformanceTest
from gapwright.fit.diagnostics import diagnose, explained, ranked
from gapwright.fit.explanation import explanation_of
from gapwright.fit.no_reading import no_readings
from gapwright.fit.part_remarks import remarks_of, worn_lots
from gapwright.fit.report import ClosedJob, Report, Unread, begun
from gapwright.fit.reserve import check_reservable, reserve, until_reserved
from gapwright.record.former_findings import former_findings
from gapwright.record.former_units import Records, records_of
from gapwright.record.promise import (
    check_keepable,
    keep_promise,
    promise_of,
    standing_closing,
    standing_promise,
)
from gapwright.record.reading import job_case
from gapwright.shelf.on_hand import Shelves
from gapwright.today import today
from solver.engines.limits import Clock, Limits
from solver.problem.from_case import instance_of
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError, Problem
from specs.gaps.job_gap import JobGap

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from gapwright.fit.decision_rule import Demand
    from gapwright.fit.reserve import Agreed
    from gapwright.shelf.service import Author
    from solver.problem.instance import Instance
    from solver.problem.solution import Answer
    from specs.models.case import Case
    from specs.models.lot import Lot

MOST_SOLVES = 5


class Further(TypedDict, total=False):
    """The further options of a fit, as `fit_case` takes them."""

    why: bool
    demand: Demand | None
    records: Records | None


def fit_job(
    job: Path,
    unit: Path | None = None,
    shelf: Path | str | None = None,
    limits: Limits | None = None,
    best: int = 1,
    history: Path | str | None = None,
    **further: Unpack[Further],
) -> Report:
    """Choose the parts of one rebuild, in order, or prove that nothing fits.

    Parameters
    ----------
    job
        The job's file, which holds or names its unit and its shelf.
    unit, shelf
        The unit's file and the shelf's file, kit or ledger, where the job's own are not meant.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    best
        How many of the best builds to list; the first is the answer.
    history
        A folder of job files, a ledger or a table of past drums, whose units the readings are held
        against; the job's own ledger is one without being named.
    further
        `why`, whether to say what each aim costs and how far each reading may be off; `demand`,
        how sure each gap must be; `records`, in place of a history.

    Returns
    -------
    Report
        The answer, `Fit`, `NoFit` or `Undecided`, with all that is to be said about it: the gaps
        with their parts in order, how sure it is, or why nothing fits and what would help.

    Raises
    ------
    InputError
        With all that is wrong with the files, or where no gap has all its readings.

    """
    if history is not None:
        further["records"] = records_of(history)
    return fit_case(job_case(job, unit, shelf), limits, best, **further)


def fit_reserved(
    case: Case,
    author: Author,
    limits: Limits | None = None,
    best: int = 1,
    *,
    release: Agreed | None = None,
    **further: Unpack[Further],
) -> Report:
    """Solve a case, reserve the parts of its answer, all of them or none, and promise it.

    Others may use the shelf meanwhile. Where they took parts of the answer, the case is solved
    again. Parts that the job holds and the answer does not take are released.

    Parameters
    ----------
    case
        The job's files as read; its shelf is a ledger.
    author
        Who asks and why.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    best
        How many of the best builds to list.
    release
        The most to release of each lot, by job and the lot's code; None for as many as needed.
    further
        `why` and `demand`, as for `fit_case`.

    Returns
    -------
    Report
        The answer, with what was posted and how often it was solved again.

    Raises
    ------
    ChangedShelfError
        Where the shelf changed under every attempt.
    UnaskedReleaseError
        Where more would be released than `release`.
    InputError
        Where the shelf is no ledger, or the job has no name.
    """
    check_reservable([case])

    def attempt(again: int) -> Report:
        report = fit_case(case, limits, best, **further)
        if not isinstance(report.answer, Fit):
            return replace(report, solved_again=again)
        posted = reserve(report, author, release)
        return replace(report, solved_again=again, reserved=posted, kept=posted.promised)

    return until_reserved(attempt, MOST_SOLVES, "answer")


def fit_promised(
    case: Case,
    author: Author | None = None,
    limits: Limits | None = None,
    best: int = 1,
    **further: Unpack[Further],
) -> Report:
    """Solve a case and keep the promise of its answer, in the job's file or its ledger.

    Where nothing fits, nothing is promised, and an earlier promise stands as it is.

    Parameters
    ----------
    case
        The job's files as read.
    author
        Who promises and why, where the shelf is a ledger.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    best
        How many of the best builds to list.
    further
        `why` and `demand`, as for `fit_case`.

    Returns
    -------
    Report
        The answer, with the promise that stands since.

    Raises
    ------
    ChangedError
        Where the job's file was changed meanwhile; it is left as it is.
    InputError
        Where the promise cannot be kept, or the job's name is another job's in its ledger.
    """
    check_keepable([case])
    report = fit_case(case, limits, best, **further)
    if not isinstance(report.answer, Fit):
        return report
    promised = promise_of(report, today().isoformat())
    return replace(report, kept=keep_promise(case, promised, author))


def fit_case(
    case: Case,
    limits: Limits | None = None,
    best: int = 1,
    *,
    why: bool = False,
    demand: Demand | None = None,
    records: Records | None = None,
) -> Report:
    """Solve the gaps of a case that have all their readings, and look around the answer.

    Parameters
    ----------
    case
        The job's files as read.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    best
        How many of the best builds to list; the first is the answer.
    why
        Whether to say what each aim costs and how far each reading may be off, or to give a reason
        with the fewest conditions where nothing fits. Left out with a `demand`.
    demand
        How sure each gap must be; only builds that are as sure are considered.
    records
        The records of former units to hold the readings against; those of the job's own ledger
        unless given.

    Returns
    -------
    Report
        The answer and every finding around it.

    Raises
    ------
    InputError
        Where no gap has all its readings, or a gap has no layout that the job's facts allow.
    """
    clock = Clock(limits or Limits())
    report = _answered(case, demand, clock)
    former = former_findings(case, report.solved, records or Records())
    report = replace(report, former=former)
    answer = report.answer
    if isinstance(answer, NoFit):
        if demand:
            return _unsure(report, clock)
        return explained(report, answer, clock, why=why)
    if not isinstance(answer, Fit):
        return report
    report = diagnose(report, answer, clock)
    if best > 1:
        report = replace(report, best=ranked(case, answer, best, clock))
    if why and answer.proved and not demand:
        report = replace(report, why=explanation_of(case, answer, report.solved, clock))
    return report


def _answered(case: Case, demand: Demand | None, clock: Clock) -> Report:
    """Solve a case, and begin the report of its answer."""
    shelves = Shelves()
    book = shelves.book(case)
    standing, closed = standing_promise(case, book), standing_closing(case, book)
    if closed:
        nothing = ClosedJob(instance_of(case, (), ()))
        return Report(
            **begun(case, {}), answer=nothing, solved=(), waiting={}, standing=standing,
            closed=closed, issued=shelves.stock(case, ()).issued,
        )  # fmt: skip
    unread = no_readings(case, clock, shelves)
    solved, waiting = sorted_gaps(case)
    if unread and not solved:
        stock = shelves.stock(case, ())
        return Report(
            **begun(case, {}), answer=Unread(instance_of(case, (), ())), solved=(),
            waiting=waiting, unread=unread, issued=stock.issued, standing=standing,
            remarks=remarks_of(case, unread, worn=worn_lots(case.unit, stock.on_hand)),
        )  # fmt: skip
    solved, waiting = ready(case)
    stock = shelves.stock(case, solved)
    worn = worn_lots(case.unit, stock.on_hand)
    answer = _answer(case, instance_of(case, stock.all, solved), demand, clock)
    return replace(
        reported(case, answer, unread, worn),
        waiting=waiting,
        unread=unread,
        issued=stock.issued,
        standing=standing,
        set_aside=stock.set_aside,
        link=stock.link,
        demand=demand,
    )


def _answer(case: Case, instance: Instance, demand: Demand | None, clock: Clock) -> Answer:
    """Solve an instance; with a demand, only among builds that are sure enough."""
    from solver.rebuild.fit import fit

    if demand:
        instance = replace(
            instance,
            sure=ConformanceTest(BuildUncertainty(case, instance.choices, instance.step), demand),
        )
    return fit(instance, clock.rest())


def _unsure(report: Report, clock: Clock) -> Report:
    """Report the best build where none is as sure as demanded, or why nothing fits at all."""
    plain = fit_case(report.case, clock.rest())
    if not isinstance(plain.answer, Fit):
        return replace(plain, former=report.former)
    sure = conformance_of(report.case, plain.gaps, report.enough)
    return replace(report, unsure=replace(plain, sure=sure))


def reported(
    case: Case, answer: Answer, unread: Iterable[str] = (), worn: Iterable[Lot] = ()
) -> Report:
    """Begin the report of an answer with its gaps, their spaces and the layouts ruled out.

    Parameters
    ----------
    case
        The job's files as read.
    answer
        The answer.
    unread
        The gaps that read nothing, whose parts are looked at too.
    worn
        The worn lots of the shelf.
    """
    gaps = answer.instance.gaps
    layouts = {
        gap.name: gap.layouts[answer.build[index].layout if isinstance(answer, Fit) else 0].name
        for index, gap in enumerate(gaps)
    }
    built = assemblies_of(case, answer.instance, answer.build) if isinstance(answer, Fit) else ()
    remarks = remarks_of(case, (*layouts, *unread), answer.instance, built, worn)
    return Report(
        **begun(case, layouts), answer=answer, solved=tuple(layouts), waiting={}, remarks=remarks
    )


def sorted_gaps(case: Case) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """Return the gaps that have all their readings, and the readings the other gaps wait for."""
    lacking = {name: JobGap(case, name).missing() for name in case.unit.gaps}
    solved = tuple(name for name, names in lacking.items() if not names)
    return solved, {name: names for name, names in lacking.items() if names}


def ready(case: Case) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """Return the gaps that have all their readings, and the readings the other gaps wait for.

    Raises InputError where no gap has all its readings, or a gap has no layout that is allowed.
    """
    solved, waiting = sorted_gaps(case)
    if not solved:
        wants = "; ".join(_wants(JobGap(case, name), names) for name, names in waiting.items())
        file = case.origins["job"].source.file
        raise InputError(Problem(f"no gap has all its readings yet: {wants}", file))
    check_solvable(case, solved)
    return solved, waiting


def _wants(gap: JobGap, names: tuple[str, ...]) -> str:
    nothing = ", ".join(f"`{name}` reads nothing, which is no reading" for name in gap.no_reading())
    return f"{gap.name} waits for {', '.join(names)}" + (f" ({nothing})" if nothing else "")


def check_solvable(case: Case, solved: tuple[str, ...]) -> None:
    """Raise InputError where the job's facts leave a gap without a layout."""
    origin = case.origins["job"]
    problems = []
    for name in solved:
        if not JobGap(case, name).layouts:
            sentence = f"no layout of {name} is allowed: {'; '.join(JobGap(case, name).barred)}"
            problems.append(origin.problem(("facts",), sentence))
    if problems:
        raise InputError(*problems)
