"""Serves the form of a plan: jobs of the folder, their shelf, and their precedence."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from gapwright.batch.options import plan_options
from gapwright.batch.several_shelves import plan_shelves
from gapwright.fit.reserve import UnaskedReleaseError
from gapwright.shelf.service import Author
from gapwright.web.author import who_of
from gapwright.web.forms.fields import AS_BUILT
from gapwright.web.job_actions import agreed
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link, see
from gapwright.workers import executor_of
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from gapwright.batch.service import PlanOptions, PlanReport
    from gapwright.fit.reserve import Agreed
    from solver.engines.limits import Limits
    from specs.models.case import Case

    Plans = dict[str, PlanReport]

FIELDS = ("job", "shelf", "budget", "day", "lengths")
"""The fields in a plan's address, besides those for the precedence of jobs."""
TYPED = ("budget", "day")
UNASKED = "nothing was reserved: plan again, and see there what would be given back"
STANDS = (("", "as it counts"), ("pin", "before any other"), ("hold", "held back"))


@dataclass(frozen=True, slots=True)
class Offered:
    """A job file, or a table of drums, that may be planned."""

    file: str
    name: str
    facts: str
    chosen: bool
    stands: str
    """Its precedence among the others; only for a job file."""
    field: str


def ask(request: PageRequest) -> PageResponse:
    """Show the form; at first all jobs that are not assembled yet are chosen."""
    return plan_form(request, ())


def plan_form(request: PageRequest, problems: Sequence[Problem]) -> PageResponse:
    """Show the form as filled in, with what is wrong in it."""
    at = {name: [one.sentence for one in problems if one.field == f"--{name}"] for name in TYPED}
    others = [str(request.shop.relative(one)) for one in problems if one.field[2:] not in TYPED]
    page = render_page(
        "plan_form.html",
        request=request,
        offered=[*_offered(request)],
        stands=STANDS,
        shelves=request.shop.shelves(),
        wrong=at,
        others=others,
    )
    return PageResponse(page, 422 if problems else 200)


def _offered(request: PageRequest) -> Iterator[Offered]:
    chosen = request.all("job")
    for held in request.shop.files():
        if "job" in held.sections:
            gaps = held.job.get("gaps")
            works = gaps.values() if isinstance(gaps, dict) else ()
            built = any(isinstance(work, dict) and AS_BUILT in work for work in works)
            yield Offered(
                held.name, held.sections["job"], ", ".join(_facts(held.job, built=built)),
                held.name in chosen if chosen else not built,
                request.one(_stands_at(held.name)), _stands_at(held.name),
            )  # fmt: skip
    for name in request.shop.tables():
        yield Offered(name, name, "a table, one drum a row", name in chosen, "", "")


def _facts(job: dict[str, Any], *, built: bool) -> Iterator[str]:
    """Yield a job's due day and priority, and whether it is measured after assembly."""
    for key, words in (("due", "due"), ("priority", "priority")):
        if job.get(key):
            yield f"{words} {job[key]}"
    if built:
        yield "measured after assembly"


def begin(request: PageRequest) -> PageResponse:
    """Begin a plan as a background job, and redirect to its address.

    Where the form says so, the plan also reserves its parts; parts that its jobs hold and it does
    not take are released only where the form names them.
    """
    try:
        cases = _cases(request)
        options = _plan_options(request, cases)
        work = _work(request, cases, options)
    except InputError as error:
        return plan_form(request, error.problems)
    name = request.shop.background_jobs.begin(request.key, work)
    return see(link(f"/plan/{name}", *sent_along(request)))


def _work(
    request: PageRequest, cases: tuple[Case, ...], options: PlanOptions
) -> Callable[[Limits], Plans]:
    """Return the work of the background job."""
    if request.one("move") != "reserve":
        return partial(_planned, cases, options, None, None)
    author = Author(who_of(request), "a plan of the bench page")
    return partial(_planned, cases, options, author, agreed(request))


def _planned(
    cases: tuple[Case, ...],
    options: PlanOptions,
    author: Author | None,
    release: Agreed | None,
    limits: Limits,
) -> Plans:
    try:
        with executor_of(1) as executor:
            return plan_shelves(cases, executor, limits, options, author, release)
    except UnaskedReleaseError as error:
        raise InputError(*error.problems, Problem(UNASKED)) from None


def _cases(request: PageRequest) -> tuple[Case, ...]:
    if not request.all("job"):
        raise InputError(Problem("choose at least one job"))
    return request.shop.cases(dict.fromkeys(request.all("job")), request.one("shelf"))


def _plan_options(request: PageRequest, cases: tuple[Case, ...]) -> PlanOptions:
    """Return the options of the plan; a job file stands for the jobs it holds."""
    stands: dict[str, list[str]] = {"pin": [], "hold": []}
    for case in cases:
        file = os.path.relpath(case.origins["job"].source.file, request.shop.folder)
        stand = request.one(_stands_at(file))
        if stand in stands:
            stands[stand].append(case.job.name)
    pin, hold = (tuple(stands[stand]) for stand in ("pin", "hold"))
    return plan_options(
        pin,
        hold,
        None,
        request.one("budget") or None,
        request.one("day") or None,
        request.shop.records(),
    )


def _stands_at(file: str) -> str:
    """Return the field for the precedence of a job."""
    return f"stands/{file}"


def sent_along(request: PageRequest) -> list[tuple[str, str]]:
    """Return the fields that a plan's address keeps."""
    return [
        (field, value) for field, value in request.fields
        if value and (field in FIELDS or field.startswith(_stands_at("")))
    ]  # fmt: skip
