"""Changes something for a job: saves it as a file, and reserves or releases its parts.

Each change is sent by a form of the page and ends with a redirect, so that a reload repeats
nothing.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.fit.reserve import UnaskedReleaseError, to_release
from gapwright.fit.service import fit_case, fit_reserved
from gapwright.record.promise import check_keepable, keep_promise, promise_of
from gapwright.shelf.service import Author, settled
from gapwright.shelf.text import part_words
from gapwright.today import today
from gapwright.web.author import who_of
from gapwright.web.forms.fields import path_of, source_of
from gapwright.web.request import PageRequest, PageResponse, link, see
from gapwright.web.saved_files import mark_of, put_new, put_over
from solver.problem.solution import Fit
from specs.errors import InputError, Problem
from specs.formats.plain_file import content
from specs.formats.yaml_text import written
from specs.models.record import plain

if TYPE_CHECKING:
    from gapwright.fit.report import Report
    from gapwright.fit.reserve import Agreed
    from gapwright.web.folder import Shop
    from inventory.movements import Movement
    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.models.record import Promised
    from specs.values.lengths import LengthUnit

MARK = "# kept by the bench page"
"""The first line of job files written by the page; those written by hand do not have it."""
LONGEST = 80
SEEN = "seen"
"""The field with the mark of the job's file when it was opened."""
DRAFT = "draft"
"""The field with the name under which a browser keeps the draft of a job over several pages."""
PROMISE = "promise"
"""The field with the code of the answer that is shown, where keeping the job promises it."""
ANOTHER = Problem("the answer is another by now than the one that was shown: look at it again")
RELEASE = "give back"
"""The field with the parts of a lot that may be released: its code, their number, the job."""
ASKS = "asks"
"""The field that says that more parts would have been released than were agreed to."""


@dataclass(frozen=True, slots=True)
class ReservedForJob:
    """The parts that a shelf has reserved for a job."""

    number: int
    left: str
    """Those of them that the answer does not take, in words."""
    release: tuple[str, ...]
    """The same, in the form's notation for parts to release."""


def keep(request: PageRequest) -> PageResponse:
    """Save a job in its own file where the page wrote that, or else in a new file.

    Where the form says which answer it shows, its promise is kept too: in the file, or in the
    job's ledger. A file written by hand that holds the same job is given the promise alone, and
    stays as it is otherwise.

    Raises InputError where the job cannot be read, its answer is another by now, or the file or
    ledger cannot be written.
    """
    source = source_of(request)
    case = request.shop.case(source)
    promised = _shown(request, case)
    author = Author(who_of(request), "bench page") if promised and case.ledger else None
    base = request.one("from")
    if promised and base and not keeps_own(request) and _stands_in(request.shop, base, source):
        keep_promise(case, promised, author)
        return see(link("/fit", ("from", base), ("kept", "yes"), *_view(request)))
    if promised and not case.ledger:
        source.data["job"]["promised"] = plain(promised, case.length)
    text = f"{MARK}\n{written(source.data)}"
    if keeps_own(request):
        name = base
        put_over(request.shop, name, text, request.one(SEEN))
    else:
        name = _file_name(case)
        put_new(request.shop, name, text, _taken(case, name))
    if promised and case.ledger:
        keep_promise(case, promised, author)
    return see(link("/fit", ("from", name), ("kept", "yes"), *_view(request)))


def _shown(request: PageRequest, case: Case) -> Promised | None:
    """Return the promise of the answer that the form shows; None where it shows none.

    Raises InputError where the files or the shelf lead to another answer by now.
    """
    code = request.one(PROMISE)
    if not code:
        return None
    check_keepable([case])
    report = fit_case(case, request.limits)
    if isinstance(report.answer, Fit):
        standing, promised = report.standing, promise_of(report, today().isoformat())
        if promised.answer == code:
            return standing if standing and standing.answer == code else promised
    raise InputError(ANOTHER)


def _stands_in(shop: Shop, name: str, source: Source) -> bool:
    """Return whether a file holds a job just as the form has it."""
    return shop.source(name).data == source.data


def reserve(request: PageRequest) -> PageResponse:
    """Reserve the parts that the answer takes, or release those that the job holds.

    Parts that the job holds and the answer does not take are released only where the form says so.
    Raises InputError where the job cannot be read or the shelf does not allow it.
    """
    case = request.shop.case(source_of(request))
    author = Author(who_of(request), "bench page")
    here = ("key", "who", "move", RELEASE, ASKS)
    kept = [(name, value) for name, value in request.fields if name not in here]
    try:
        if request.one("move") == "release":
            settled(case.ledger, "release", case.job.name, author)
        else:
            fit_reserved(case, author, request.limits, release=agreed(request))
    except UnaskedReleaseError:
        kept.append((ASKS, "yes"))
    return see(link("/fit", *kept))


def held_for(report: Report, unit: LengthUnit) -> ReservedForJob | None:
    """Return the parts reserved for the job of a report; None where the shelf is no ledger."""
    if not report.case.ledger:
        return None
    number, left = to_release([report])
    return ReservedForJob(
        number,
        ", ".join(f"{move.number} x {part_words(move.part, unit)}" for move in left),
        tuple(map(leave_for, left)),
    )


def leave_for(move: Movement) -> str:
    """Return what the field of the parts to release holds where this release is agreed to."""
    return f"{move.part.lot_id}/{move.number}/{move.job}"


def agreed(request: PageRequest) -> Agreed:
    """Return the number of parts of each lot that the form allows each job to release."""
    shape = re.compile(r"([A-Z0-9-]{1,20})/([0-9]{1,9})/(.*)", re.DOTALL)
    found = map(shape.fullmatch, request.all(RELEASE))
    return Counter({(one[3], one[1]): int(one[2]) for one in found if one})


def keeps_own(request: PageRequest) -> bool:
    """Return whether saving the job would write the file it came from."""
    base = request.one("from")
    return bool(base) and _is_ours(request.shop, base)


def _is_ours(shop: Shop, name: str) -> bool:
    """Return whether the page wrote a job file, and so may write it again."""
    file = shop.path(name)
    try:
        return content(file, len(MARK)) == MARK.encode()
    except InputError:
        return False


def _view(request: PageRequest) -> list[tuple[str, str]]:
    """Return the fields for the view of the answer, which are not saved with the job."""
    shown = ("lengths", "gap")
    return [(name, value) for name, value in request.fields if name in shown and value]


def _file_name(case: Case) -> str:
    origin = case.origins["job"]
    name = re.sub(r"[^\w.-]+", "-", case.job.name, flags=re.ASCII).strip("-.")[:LONGEST]
    if not origin.written(("name",)) or not name:
        sentence = "the job has no name to keep it under; write one, such as J-1042"
        raise InputError(Problem(sentence, field="job.name"))
    return f"{name}.yaml"


def _taken(case: Case, name: str) -> Problem:
    sentence = (
        f"a job is kept as {name} already; go on with that one, or give this one a name of its own"
    )
    return Problem(f'"{case.job.name}": {sentence}', field="job.name")


def sent_along(request: PageRequest) -> list[tuple[str, str]]:
    """Return the fields of a job, for a form that does something with it."""
    known = ("from", "unit", "shelf", "length", "lengths", "gap", SEEN, DRAFT)
    sent = [(name, value) for name, value in request.fields if name in known or path_of(name)]
    base = request.one("from")
    return sent if not base or request.one(SEEN) else [*sent, (SEEN, mark_of(request.shop, base))]
