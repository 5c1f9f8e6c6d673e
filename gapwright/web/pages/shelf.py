"""Serves the form of a shelf, for people who do not write YAML: a number beside each lot."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import uuid4

from gapwright.shelf.service import Author, Move, moved, posted_under
from gapwright.shelf.text import tell_posted
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
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit, link, see
from gapwright.web.saved_files import make
from inventory.refusals import OtherRequestError
from specs.errors import InputError, Problem
from specs.files.read import read_unit
from specs.findings import near
from specs.formats.yaml import written

if TYPE_CHECKING:
    from collections.abc import Sequence

SENT_BEFORE = (
    "other numbers were sent with this form before and are posted; what stands here is not: hold "
    "it against the counts as they are now and send it again"
)
NEW = ("family", "size", "number", "bin", "label", "measured")
"""The fields of a part that comes to a ledger and may be new to it."""


def shelf(visit: Visit) -> Reply:
    """Show every lot of a shelf with the number of its parts."""
    return _shown(visit, rows_of(visit.shop, visit.one("shelf"), lengths_in(visit)))


def move(visit: Visit) -> Reply:
    """Post the numbers typed beside the lots, or show what is wrong with them and post nothing."""
    rows = filled_in(rows_of(visit.shop, visit.one("shelf"), lengths_in(visit)), visit)
    kind = next((one for one in KINDS if one == visit.one("move")), None)
    problems = []
    if kind is None:
        problems.append(Problem(near(visit.one("move"), [*KINDS], "choose one of"), field="move"))
    else:
        rows = weighed(rows, kind)
    if not any(row.typed for row in rows.rows):
        problems.append(Problem("type a number beside at least one lot"))
    problems += _nobody(visit, rows)
    if kind is None or problems or any(row.wrong for row in rows.rows):
        return _shown(visit, rows, problems)
    request = visit.one("request") or uuid4().hex
    said = Author(visit.one("who"), visit.one("why"), request)
    try:
        post(visit.shop, replace(rows, seen=visit.one("seen")), kind, visit.one("job"), said)
    except OtherRequestError:
        return _sent_before(visit)
    except InputError as error:
        return _shown(visit, rows, error.problems)
    return _done(visit, request)


def bring(visit: Visit) -> Reply:
    """Receive a part that may be new to a ledger, or show the form with what is wrong in it."""
    rows = rows_of(visit.shop, visit.one("shelf"), lengths_in(visit))
    nobody = _nobody(visit, rows)
    if nobody:
        return _shown(visit, rows, nobody)
    request = visit.one("request") or uuid4().hex
    try:
        asked, number = part_asked(_typed(visit), None)
        moved(rows.address, Move("receive", asked, number), Author(visit.one("who"), "", request))
    except OtherRequestError:
        return _sent_before(visit)
    except InputError as error:
        return _shown(visit, rows, error.problems)
    return _done(visit, request)


def begin(visit: Visit) -> Reply:
    """Make a shelf file with every size of a unit, none of each yet.

    Raises InputError where the unit cannot be read or the file's name is taken.
    """
    name = visit.one("name")
    name = name if name.endswith((".yaml", ".yml")) or not name else f"{name}.yaml"
    unit, origin = read_unit(visit.shop.path(visit.one("unit")))
    data = {
        "length": origin.length or "in",
        "shelf": {
            family: dict.fromkeys(one.sizes, "0")
            for family, one in unit.families.items() if one.sizes
        },
    }  # fmt: skip
    make(visit.shop, name, written(data))
    return see(link("/shelf", ("shelf", name)))


def _sent_before(visit: Visit) -> Reply:
    """Show what was typed beside the present counts, as a new request."""
    fields = tuple((name, value) for name, value in visit.fields if name not in ("request", "seen"))
    visit = replace(visit, fields=fields)
    rows = rows_of(visit.shop, visit.one("shelf"), lengths_in(visit))
    return _shown(visit, filled_in(rows, visit), [Problem(SENT_BEFORE)])


def _shown(visit: Visit, rows: Rows, problems: Sequence[Problem] = ()) -> Reply:
    wrong = bool(problems) or any(row.wrong for row in rows.rows)
    sizes: dict[str, list[object]] = {}
    for row in rows.rows:
        sizes.setdefault(row.family, []).append(row)
    page = screen(
        "shelf.html",
        visit=visit, shelf=rows, families=sizes, words=KINDS, new=NEW,
        others=[str(visit.shop.told(one)) for one in problems], wrong=wrong, unit=rows.length,
        seen=visit.one("seen") or rows.seen, request=visit.one("request") or uuid4().hex,
        who=visit.one("who") or usual_who(), told=_told(visit, rows),
        units=visit.shop.units(),
        lengths=[(one, link("/shelf", ("shelf", rows.name), ("lengths", one)),
                  one == rows.length) for one in UNITS],
    )  # fmt: skip
    return Reply(page, 422 if wrong else 200)


def _told(visit: Visit, rows: Rows) -> list[str]:
    """Return what was done just now, as the ledger records it."""
    done = visit.one("done")
    if not done:
        return []
    if not rows.ledger:
        return ["saved"]
    posted = posted_under(rows.address, done)
    return tell_posted(posted, lengths_in(visit) or "mm").split("\n") if posted else []


def _done(visit: Visit, request: str) -> Reply:
    fields = [(name, visit.one(name)) for name in ("shelf", "lengths") if visit.one(name)]
    return see(link("/shelf", *fields, ("done", request)))


def _nobody(visit: Visit, rows: Rows) -> list[Problem]:
    return [NOBODY] if rows.ledger and not visit.one("who") else []


def _typed(visit: Visit) -> Typed:
    unit = visit.one("unit")
    words = tuple(visit.one(name) for name in ("family", "size", "number"))
    return Typed(
        words, visit.one("measured") or None, visit.one("used") == "yes",
        visit.one("bin") or None, visit.one("label") or None, lengths_in(visit) or "mm",
        visit.shop.path(unit) if unit else None,
    )  # fmt: skip
