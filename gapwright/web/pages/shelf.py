"""Serves the form of a shelf, for people who do not write YAML: a number beside each lot."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import uuid4

from gapwright.shelf.service import Author, Move, moved, posted_under
from gapwright.shelf.text import posted_text
from gapwright.shelf.typed_part import Typed, part_asked
from gapwright.web.author import NOBODY, usual_who
from gapwright.web.forms.fields import UNITS, lengths_in
from gapwright.web.forms.shelf_rows import (
    KINDS,
    Rows,
    filled_in,
    post,
    rows_of,
    weighed,
)
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link, see
from gapwright.web.saved_files import make
from inventory.refusals import OtherRequestError
from specs.errors import InputError, Problem
from specs.files.read import read_unit
from specs.findings import near
from specs.formats.yaml_text import written

if TYPE_CHECKING:
    from collections.abc import Sequence

SENT_BEFORE = (
    "other numbers were sent with this form before and are posted; what stands here is not: hold "
    "it against the counts as they are now and send it again"
)
NEW = ("family", "size", "number", "bin", "label", "measured")
"""The fields of a part that comes to a ledger and may be new to it."""


def shelf(request: PageRequest) -> PageResponse:
    """Show every lot of a shelf with the number of its parts."""
    return _shown(request, rows_of(request.shop, request.one("shelf"), lengths_in(request)))


def move(request: PageRequest) -> PageResponse:
    """Post the numbers typed beside the lots, or show what is wrong with them and post nothing."""
    rows = filled_in(rows_of(request.shop, request.one("shelf"), lengths_in(request)), request)
    kind = next((one for one in KINDS if one == request.one("move")), None)
    problems = []
    if kind is None:
        problems.append(Problem(near(request.one("move"), [*KINDS], "choose one of"), field="move"))
    else:
        rows = weighed(rows, kind)
    if not any(row.typed for row in rows.rows):
        problems.append(Problem("type a number beside at least one lot"))
    problems += _nobody(request, rows)
    if kind is None or problems or any(row.wrong for row in rows.rows):
        return _shown(request, rows, problems)
    key = request.one("request") or uuid4().hex
    author = Author(request.one("who"), request.one("why"), key)
    try:
        post(
            request.shop, replace(rows, seen=request.one("seen")), kind, request.one("job"), author
        )
    except OtherRequestError:
        return _sent_before(request)
    except InputError as error:
        return _shown(request, rows, error.problems)
    return _done(request, key)


def bring(request: PageRequest) -> PageResponse:
    """Receive a part that may be new to a ledger, or show the form with what is wrong in it."""
    rows = rows_of(request.shop, request.one("shelf"), lengths_in(request))
    nobody = _nobody(request, rows)
    if nobody:
        return _shown(request, rows, nobody)
    key = request.one("request") or uuid4().hex
    try:
        typed = _typed(request)
        wanted, number = part_asked(typed, None)
        new = request.one("new") == "yes"
        move = Move("receive", wanted, number, new=new, unit=typed.unit)
        moved(rows.address, move, Author(request.one("who"), "", key))
    except OtherRequestError:
        return _sent_before(request)
    except InputError as error:
        return _shown(request, rows, error.problems)
    return _done(request, key)


def begin(request: PageRequest) -> PageResponse:
    """Make a shelf file with every size of a unit, none of each yet.

    Raises InputError where the unit cannot be read or the file's name is taken.
    """
    name = request.one("name")
    name = name if name.endswith((".yaml", ".yml")) or not name else f"{name}.yaml"
    unit, origin = read_unit(request.shop.path(request.one("unit")))
    data = {
        "length": origin.length or "in",
        "shelf": {
            family: dict.fromkeys(one.sizes, "0")
            for family, one in unit.families.items() if one.sizes
        },
    }  # fmt: skip
    make(request.shop, name, written(data))
    return see(link("/shelf", ("shelf", name)))


def _sent_before(request: PageRequest) -> PageResponse:
    """Show what was typed beside the present counts, as a new request."""
    fields = tuple(
        (name, value) for name, value in request.fields if name not in ("request", "seen")
    )
    request = replace(request, fields=fields)
    rows = rows_of(request.shop, request.one("shelf"), lengths_in(request))
    return _shown(request, filled_in(rows, request), [Problem(SENT_BEFORE)])


def _shown(request: PageRequest, rows: Rows, problems: Sequence[Problem] = ()) -> PageResponse:
    wrong = bool(problems) or any(row.wrong for row in rows.rows)
    sizes: dict[str, list[object]] = {}
    for row in rows.rows:
        sizes.setdefault(row.family, []).append(row)
    page = render_page(
        "shelf.html",
        request=request, shelf=rows, families=sizes, words=KINDS, new=NEW,
        others=[str(request.shop.relative(one)) for one in problems], wrong=wrong, unit=rows.length,
        seen=request.one("seen") or rows.seen, request_key=request.one("request") or uuid4().hex,
        who=request.one("who") or usual_who(), messages=_messages(request, rows),
        units=request.shop.units(),
        lengths=[(one, link("/shelf", ("shelf", rows.name), ("lengths", one)),
                  one == rows.length) for one in UNITS],
    )  # fmt: skip
    return PageResponse(page, 422 if wrong else 200)


def _messages(request: PageRequest, rows: Rows) -> list[str]:
    """Return what was done just now, as the ledger records it."""
    done = request.one("done")
    if not done:
        return []
    if not rows.ledger:
        return ["saved"]
    posted = posted_under(rows.address, done)
    return posted_text(posted, lengths_in(request) or "mm").split("\n") if posted else []


def _done(request: PageRequest, key: str) -> PageResponse:
    fields = [(name, request.one(name)) for name in ("shelf", "lengths") if request.one(name)]
    return see(link("/shelf", *fields, ("done", key)))


def _nobody(request: PageRequest, rows: Rows) -> list[Problem]:
    return [NOBODY] if rows.ledger and not request.one("who") else []


def _typed(request: PageRequest) -> Typed:
    unit = request.one("unit")
    words = tuple(request.one(name) for name in ("family", "size", "number"))
    return Typed(
        words, request.one("measured") or None, request.one("used") == "yes",
        request.one("bin") or None, request.one("label") or None, lengths_in(request) or "mm",
        read_unit(request.shop.path(unit)) if unit else None,
    )  # fmt: skip
