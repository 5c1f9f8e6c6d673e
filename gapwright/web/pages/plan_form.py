"""Serves the form of a plan: jobs of the folder, their shelf, and their precedence."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from gapwright.batch.options import wish_of
from gapwright.batch.several_shelves import plan_shelves
from gapwright.shelf.service import Author
from gapwright.web.author import who_of
from gapwright.web.forms.fields import AS_BUILT
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit, link, see
from gapwright.workers import executor_of
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from gapwright.batch.service import PlanReport, Wish
    from solver.engines.limits import Limits
    from specs.models.case import Case

    Plans = dict[str, PlanReport]

FIELDS = ("job", "shelf", "budget", "day", "lengths")
"""The fields in a plan's address, besides those for the precedence of jobs."""
TYPED = ("budget", "day")
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


def ask(visit: Visit) -> Reply:
    """Show the form; at first all jobs that are not assembled yet are chosen."""
    return asked(visit, ())


def asked(visit: Visit, problems: Sequence[Problem]) -> Reply:
    """Show the form as filled in, with what is wrong in it."""
    at = {name: [one.sentence for one in problems if one.field == f"--{name}"] for name in TYPED}
    others = [str(visit.shop.told(one)) for one in problems if one.field[2:] not in TYPED]
    page = screen(
        "plan_asked.html",
        visit=visit, offered=[*_offered(visit)], stands=STANDS, shelves=visit.shop.shelves(),
        wrong=at, others=others,
    )  # fmt: skip
    return Reply(page, 422 if problems else 200)


def _offered(visit: Visit) -> Iterator[Offered]:
    chosen = visit.all("job")
    for held in visit.shop.files():
        if "job" in held.sections:
            gaps = held.job.get("gaps")
            works = gaps.values() if isinstance(gaps, dict) else ()
            built = any(isinstance(work, dict) and AS_BUILT in work for work in works)
            yield Offered(
                held.name, held.sections["job"], ", ".join(_facts(held.job, built=built)),
                held.name in chosen if chosen else not built,
                visit.one(stands_at(held.name)), stands_at(held.name),
            )  # fmt: skip
    for name in visit.shop.tables():
        yield Offered(name, name, "a table, one drum a row", name in chosen, "", "")


def _facts(job: dict[str, Any], *, built: bool) -> Iterator[str]:
    """Yield a job's due day and priority, and whether it is measured after assembly."""
    for key, words in (("due", "due"), ("priority", "priority")):
        if job.get(key):
            yield f"{words} {job[key]}"
    if built:
        yield "measured after assembly"


def begin(visit: Visit) -> Reply:
    """Begin a plan as a background job, and redirect to its address.

    Where the form says so, the plan also reserves its parts.
    """
    try:
        cases = _cases(visit)
        wish = _wish(visit, cases)
        work = _work(visit, cases, wish)
    except InputError as error:
        return asked(visit, error.problems)
    name = visit.shop.errands.begin(visit.key, work)
    return see(link(f"/plan/{name}", *asked_along(visit)))


def _work(visit: Visit, cases: tuple[Case, ...], wish: Wish) -> Callable[[Limits], Plans]:
    """Return the work of the background job."""
    if visit.one("move") != "reserve":
        return partial(_planned, cases, wish, None)
    return partial(_planned, cases, wish, Author(who_of(visit), "a plan of the bench page"))


def _planned(cases: tuple[Case, ...], wish: Wish, said: Author | None, limits: Limits) -> Plans:
    with executor_of(1) as executor:
        return plan_shelves(cases, executor, limits, wish, said)


def _cases(visit: Visit) -> tuple[Case, ...]:
    if not visit.all("job"):
        raise InputError(Problem("choose at least one job"))
    return visit.shop.cases(dict.fromkeys(visit.all("job")), visit.one("shelf"))


def _wish(visit: Visit, cases: tuple[Case, ...]) -> Wish:
    """Return the options of the plan; a job file stands for the jobs it holds."""
    stands: dict[str, list[str]] = {"pin": [], "hold": []}
    for case in cases:
        file = os.path.relpath(case.origins["job"].source.file, visit.shop.folder)
        stand = visit.one(stands_at(file))
        if stand in stands:
            stands[stand].append(case.job.name)
    pin, hold = (tuple(stands[stand]) for stand in ("pin", "hold"))
    return wish_of(pin, hold, None, visit.one("budget") or None, visit.one("day") or None)


def stands_at(file: str) -> str:
    """Return the field for the precedence of a job."""
    return f"stands/{file}"


def asked_along(visit: Visit) -> list[tuple[str, str]]:
    """Return the fields that a plan's address keeps."""
    return [
        (field, value) for field, value in visit.fields
        if value and (field in FIELDS or field.startswith(stands_at("")))
    ]  # fmt: skip
