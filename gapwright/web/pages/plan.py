"""Serves the page of a plan: its progress, then what to build, what is left and what to order."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from gapwright.batch.chart import plans_chart
from gapwright.batch.tables import SizeRow, of_sizes, plans_csv
from gapwright.batch.text import (
    closed_words,
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
from gapwright.fit.reserve import to_release
from gapwright.paper.job_sheet import sentences
from gapwright.shelf.text import part_words
from gapwright.web.author import usual_who
from gapwright.web.folder import ENDINGS
from gapwright.web.forms.fields import UNITS, lengths_in
from gapwright.web.job_actions import leave_for
from gapwright.web.pages.plan_form import plan_form, sent_along
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link, see
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.batch.service import PlanReport
    from gapwright.paper.job_sheet import Sentence
    from gapwright.web.background_jobs import BackgroundJob
    from inventory.movements import Movement
    from specs.values.lengths import LengthUnit

A_MOMENT = 0.8
"""Seconds to wait for an answer before the page shows its progress."""
GONE = "this plan is no longer kept here; ask for it again"
GIVEN_UP = "it was stopped before it began; ask for it again"


@dataclass(frozen=True, slots=True)
class JobCard:
    """One job of a plan in words."""

    sentences: tuple[Sentence, ...]
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


def plan(request: PageRequest) -> PageResponse:
    """Show a plan or its progress; where it cannot be made, the form with what is wrong in it."""
    background_job = _background_job(request)
    if background_job is None or background_job.given_up():
        return plan_form(request, [Problem(GIVEN_UP if background_job else GONE)])
    if not background_job.done(A_MOMENT):
        return _waits(request, background_job)
    try:
        reports = cast("dict[str, PlanReport]", background_job.answer.result())
    except InputError as error:
        return plan_form(request, error.problems)
    unit = _unit(request, reports)
    reserved = any(report.reserved is not None for report in reports.values())
    reservable = not reserved and all(one.cases[0].ledger for one in reports.values())
    left = [move for one in reports.values() for move in _left(one)] if reservable else []
    page = render_page(
        "plan.html",
        request=request, again=link("/plan", *sent_along(request)), verdict=verdict_of(reports),
        whole=not any(map(left_over, reports.values())),
        shelves=[_shelf(request, *one, unit) for one in reports.items()],
        reservable=reservable, release=[*map(leave_for, left)],
        left=[f"{move.job}: {move.number} x {part_words(move.part, unit)}" for move in left],
        picture=plans_chart(reports).image(), table=request.link(f"{request.path}/table"),
        sent=sent_along(request), who=usual_who(),
        lengths=[(one, request.link(request.path, lengths=one), one == unit) for one in UNITS],
    )  # fmt: skip
    return PageResponse(page)


def _left(report: PlanReport) -> tuple[Movement, ...]:
    """Return what the jobs of a plan hold on their ledger and the plan does not take."""
    return to_release(report.builds)[1] if report.gaps else ()


def _shelf(request: PageRequest, shelf: str, report: PlanReport, unit: LengthUnit) -> ShelfPlan:
    sizes = of_sizes(report)
    return ShelfPlan(
        name=shelf.removeprefix(f"{request.shop.folder}/"),
        verdict=verdict(report),
        how=sentences([*how_found(report, unit), *closed_words(report)]),
        reserved=sentences(reserved_words(report)),
        complete=tuple(
            _job(request, report, job, job_words(report, job, unit)) for job in report.gaps
        ),
        left=tuple(
            _job(request, report, job, left_words(report, job, unit)) for job in left_over(report)
        ),
        orders=tuple(sentences(order) for order in order_words(report)),
        drawn=tuple(row for row in sizes if row.drawn or row.short),
        others=tuple(row for row in sizes if not row.drawn and not row.short),
        worths=sentences(worth_words(report, unit)),
    )


def table(request: PageRequest) -> PageResponse:
    """Return a plan as a table for a spreadsheet, as the command writes it.

    Raises InputError where the plan is not there.
    """
    background_job = _background_job(request)
    if background_job is None or not background_job.done() or background_job.given_up():
        raise InputError(Problem(GONE))
    reports = cast("dict[str, PlanReport]", background_job.answer.result())
    text = plans_csv(reports, _unit(request, reports))
    return PageResponse(text, kind="text/csv; charset=utf-8", save_as="plan.csv")


def stop(request: PageRequest) -> PageResponse:
    """End a search with the best plan so far."""
    background_job = _background_job(request)
    if background_job:
        background_job.stop()
    return see(link(f"/plan/{request.names['name']}", *sent_along(request)))


def _background_job(request: PageRequest) -> BackgroundJob | None:
    return request.shop.background_jobs.find(request.names["name"])


def _waits(request: PageRequest, background_job: BackgroundJob) -> PageResponse:
    page = render_page(
        "plan_waits.html", request=request, words=background_job.words(), sent=sent_along(request)
    )
    return PageResponse(page)


def _unit(request: PageRequest, reports: dict[str, PlanReport]) -> LengthUnit:
    return lengths_in(request) or next(iter(reports.values())).cases[0].length


def _job(request: PageRequest, report: PlanReport, job: int, words: Iterable[str]) -> JobCard:
    return JobCard(sentences(words), _readings(request, report, job))


def _readings(request: PageRequest, report: PlanReport, job: int) -> str:
    """Return the address of a job's readings; empty for a row of a table."""
    file = os.path.relpath(report.cases[job].origins["job"].source.file, request.shop.folder)
    held = file.endswith(ENDINGS) and (request.shop.folder / file).is_file()
    return link("/measure", ("from", file)) if held else ""
