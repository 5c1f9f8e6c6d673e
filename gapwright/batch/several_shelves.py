"""The plans of several shelves, each worked out by itself on the workers there are.

The shelves are read and reserved from in this process only. The workers get plain numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from gapwright.batch.service import (
    PlanOptions,
    batch_problem,
    by_shelf,
    open_jobs,
    plan_cases,
    reported,
    solved,
)
from gapwright.fit.reserve import (
    UnaskedReleaseError,
    check_reservable,
    reserve_together,
    until_reserved,
)
from inventory.refusals import ShelfError
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from gapwright.batch.service import BatchProblem, PlanDiagnostics, PlanReport
    from gapwright.fit.reserve import Agreed
    from gapwright.shelf.service import Author
    from gapwright.workers import Executor
    from solver.batch.instance import Batch
    from solver.batch.planning import Plan
    from solver.engines.limits import Limits
    from specs.models.case import Case

MOST_PLANS = 3  # where the shelf changes under a plan
SolveArguments = tuple["Batch", "int | None", "Limits"]


@dataclass(frozen=True, slots=True)
class Plans:
    """The plan of every shelf."""

    by_shelf: dict[str, PlanReport]

    @property
    def length(self) -> None:
        """None: each job is shown in its unit file's own unit of length unless asked otherwise."""

    @property
    def proved(self) -> bool:
        """Whether every plan is proved."""
        return all(report.plan.proved for report in self.by_shelf.values())


def plan_shelves(
    cases: Iterable[Case],
    executor: Executor,
    limits: Limits,
    options: PlanOptions | None = None,
    author: Author | None = None,
    release: Agreed | None = None,
) -> dict[str, PlanReport]:
    """Plan the jobs of every shelf, and reserve the parts of each plan where that is asked.

    Parameters
    ----------
    cases
        The jobs' files as read.
    executor
        Runs the planning, shelf by shelf.
    limits
        How long to search, all shelves together.
    options
        The options of the plans.
    author
        Who reserves and why; None to reserve nothing.
    release
        The most to release of each lot, by job and the lot's code, of parts that the jobs hold and
        the plan does not take; None for as many as needed.

    Returns
    -------
    dict
        The report of each shelf's plan, by the shelf's name.

    Raises
    ------
    InputError
        With all that is wrong with any job, before anything is planned; or where reserving is
        refused, with the shelves that parts were reserved from already.
    """
    open_, closed = open_jobs(cases)
    shelves = by_shelf(open_)
    if author is not None:
        check_reservable(open_)
    posed = _posed(shelves, closed, options or PlanOptions())
    reports = {
        shelf: reported(posed[shelf], *found)
        for shelf, found in zip(posed, _solved([*posed.values()], executor, limits), strict=True)
    }
    if author is not None:
        held = partial(_held, author=author, release=release)
        reports = _reserved(reports, held, limits, options or PlanOptions())
    first = next(iter(reports))
    return {**reports, first: replace(reports[first], closed=closed)}


def _posed(
    shelves: dict[str, list[Case]], closed: tuple[str, ...], options: PlanOptions
) -> dict[str, BatchProblem]:
    """Make every shelf's jobs ready. Raises InputError with all that is wrong with any of them."""
    names = (case.job.name for cases in shelves.values() for case in cases)
    options.check_names([*closed, *names])
    found: dict[str, BatchProblem] = {}
    problems: list[Problem] = []
    for shelf, cases in shelves.items():
        try:
            found[shelf] = batch_problem(cases, options.of({case.job.name for case in cases}))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    return found


def _solved(
    posed: Sequence[BatchProblem], executor: Executor, limits: Limits
) -> Iterator[tuple[Plan, PlanDiagnostics]]:
    """Plan every shelf; after Ctrl-C, plan those that are not done in no time."""
    turns = -(-len(posed) // executor.workers)
    each = replace(limits, seconds=limits.seconds / turns)
    came = 0
    try:
        for found in executor.map(_work, [(one.batch, one.options.budget, each) for one in posed]):
            came += 1
            yield found
            limits.watch.words = f"{came} of {len(posed)} shelves planned"
    except KeyboardInterrupt:
        for one in posed[came:]:
            yield solved(one.batch, one.options.budget, replace(limits, seconds=0.0))


def _work(arguments: SolveArguments) -> tuple[Plan, PlanDiagnostics]:
    return solved(*arguments)


def _reserved(
    reports: dict[str, PlanReport],
    held: Callable[[PlanReport, int], PlanReport],
    limits: Limits,
    options: PlanOptions,
) -> dict[str, PlanReport]:
    """Reserve plan by plan, each whole or not at all; a refusal names what is reserved already."""
    done: dict[str, PlanReport] = {}
    for shelf, report in reports.items():

        def attempt(again: int, report: PlanReport = report) -> PlanReport:
            if again:
                mine = options.of({case.job.name for case in report.cases})
                report = plan_cases(report.cases, limits, mine)
            return held(report, again)

        try:
            done[shelf] = until_reserved(attempt, MOST_PLANS, "plan")
        except (ShelfError, UnaskedReleaseError) as error:
            if not done:
                raise
            sentence = (
                f"reserved already from {', '.join(done)}; asked again, that is kept as it is"
            )
            raise InputError(*error.problems, Problem(sentence)) from None
    return done


def _held(report: PlanReport, again: int, author: Author, release: Agreed | None) -> PlanReport:
    """Reserve a plan's parts. Raises ShortShelfError where others have taken some of them."""
    reserved = reserve_together(report.builds, author, release)
    return replace(report, planned_again=again, reserved=reserved)
