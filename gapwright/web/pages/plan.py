"""Serves the page of a plan: its progress, then what to build, what is left and what to order."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from gapwright.batch.chart import plans_chart
from gapwright.batch.tables import SizeRow, of_sizes, plans_csv
from gapwright.batch.text import (
    how_found,
    job_words,
    left_over,
    left_words,
    order_words,
    reserved_words,
    verdict,
    verdict_of,
    worth_words,
)
from gapwright.paper.job_sheet import said
from gapwright.web.author import usual_who
from gapwright.web.folder import ENDINGS
from gapwright.web.forms.fields import UNITS, lengths_in
from gapwright.web.pages.plan_form import asked, asked_along
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit, link, see
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.batch.service import PlanReport
    from gapwright.paper.job_sheet import Sentence
    from gapwright.web.background_jobs import Errand
    from specs.values.lengths import LengthUnit

A_MOMENT = 0.8
"""Seconds to wait for an answer before the page shows its progress."""
GONE = "this plan is no longer kept here; ask for it again"
GIVEN_UP = "it was stopped before it began; ask for it again"


@dataclass(frozen=True, slots=True)
class JobCard:
    """One job of a plan in words."""

    said: tuple[Sentence, ...]
    readings: str
    """The address of its readings."""


@dataclass(frozen=True, slots=True)
class ShelfPlan:
    """The plan of one shelf in words."""

    name: str
    verdict: str
    how: tuple[Sentence, ...]
    reserved: tuple[Sentence, ...]
    complete: tuple[JobCard, ...]
    left: tuple[JobCard, ...]
    orders: tuple[tuple[Sentence, ...], ...]
    drawn: tuple[SizeRow, ...]
    others: tuple[SizeRow, ...]
    worths: tuple[Sentence, ...]


def plan(visit: Visit) -> Reply:
    """Show a plan or its progress; where it cannot be made, the form with what is wrong in it."""
    errand = _errand(visit)
    if errand is None or errand.given_up():
        return asked(visit, [Problem(GIVEN_UP if errand else GONE)])
    if not errand.done(A_MOMENT):
        return _waits(visit, errand)
    try:
        reports = cast("dict[str, PlanReport]", errand.answer.result())
    except InputError as error:
        return asked(visit, error.problems)
    unit = _unit(visit, reports)
    page = screen(
        "plan.html",
        visit=visit, again=link("/plan", *asked_along(visit)), verdict=verdict_of(reports),
        whole=not any(map(left_over, reports.values())),
        shelves=[_shelf(visit, *one, unit) for one in reports.items()],
        reserved=any(report.reserved is not None for report in reports.values()),
        reservable=all(one.cases[0].ledger for one in reports.values()),
        picture=plans_chart(reports).image(), table=visit.link(f"{visit.path}/table"),
        sent=asked_along(visit), who=usual_who(),
        lengths=[(one, visit.link(visit.path, lengths=one), one == unit) for one in UNITS],
    )  # fmt: skip
    return Reply(page)


def _shelf(visit: Visit, shelf: str, report: PlanReport, unit: LengthUnit) -> ShelfPlan:
    sizes = of_sizes(report)
    return ShelfPlan(
        name=shelf.removeprefix(f"{visit.shop.folder}/"),
        verdict=verdict(report),
        how=said(how_found(report)),
        reserved=said(reserved_words(report)),
        complete=tuple(
            _job(visit, report, job, job_words(report, job, unit)) for job in report.gaps
        ),
        left=tuple(
            _job(visit, report, job, left_words(report, job, unit)) for job in left_over(report)
        ),
        orders=tuple(said(order) for order in order_words(report)),
        drawn=tuple(row for row in sizes if row.drawn or row.short),
        others=tuple(row for row in sizes if not row.drawn and not row.short),
        worths=said(worth_words(report, unit)),
    )


def table(visit: Visit) -> Reply:
    """Return a plan as a table for a spreadsheet, as the command writes it.

    Raises InputError where the plan is not there.
    """
    errand = _errand(visit)
    if errand is None or not errand.done() or errand.given_up():
        raise InputError(Problem(GONE))
    reports = cast("dict[str, PlanReport]", errand.answer.result())
    text = plans_csv(reports, _unit(visit, reports))
    return Reply(text, kind="text/csv; charset=utf-8", save_as="plan.csv")


def stop(visit: Visit) -> Reply:
    """End a search with the best plan so far."""
    errand = _errand(visit)
    if errand:
        errand.stop()
    return see(link(f"/plan/{visit.names['name']}", *asked_along(visit)))


def _errand(visit: Visit) -> Errand | None:
    return visit.shop.errands.find(visit.names["name"])


def _waits(visit: Visit, errand: Errand) -> Reply:
    page = screen("plan_waits.html", visit=visit, words=errand.words(), sent=asked_along(visit))
    return Reply(page)


def _unit(visit: Visit, reports: dict[str, PlanReport]) -> LengthUnit:
    return lengths_in(visit) or next(iter(reports.values())).cases[0].length


def _job(visit: Visit, report: PlanReport, job: int, words: Iterable[str]) -> JobCard:
    return JobCard(said(words), _readings(visit, report, job))


def _readings(visit: Visit, report: PlanReport, job: int) -> str:
    """Return the address of a job's readings; empty for a row of a table."""
    file = os.path.relpath(report.cases[job].origins["job"].source.file, visit.shop.folder)
    held = file.endswith(ENDINGS) and (visit.shop.folder / file).is_file()
    return link("/measure", ("from", file)) if held else ""
