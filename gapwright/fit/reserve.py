"""The reservation of an answer's parts with its promise: all of it in one request, or nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar
from uuid import uuid4

from gapwright.fit.assembly import fetched
from gapwright.fit.report import Reserved
from gapwright.record.promise import check_keepable, promise_notes, promise_of
from gapwright.shelf.notes import remember
from gapwright.today import today
from inventory import open_shelf
from inventory.movements import Movement, Request
from inventory.refusals import ChangedShelfError, ShortShelfError
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.report import BuildReport, Report
    from gapwright.shelf.service import Author
    from inventory import Shelf
    from inventory.movements import Balance, Note
    from specs.models.case import Case
    from specs.models.record import Promised

    Builds = Sequence[BuildReport]
    Agreed = Counter[tuple[str, str]]

MOST_TRIES = 9
Found = TypeVar("Found")


def check_reservable(cases: Iterable[Case]) -> None:
    """Raise InputError where jobs have no ledger, or no name to keep anything under there."""
    cases = [*cases]
    sentence = (
        "only a shelf that is a ledger can reserve: gapwright shelf init shop.db, and name it "
        "with --shelf shop.db"
    )
    files = dict.fromkeys(case.origins["shelf"].source.file for case in cases if not case.ledger)
    if files:
        raise InputError(*(Problem(sentence, file) for file in files))
    check_keepable(cases)


class UnaskedReleaseError(InputError):
    """An answer would release more of the parts its job holds than somebody agreed to."""


def reserve(report: Report, author: Author, most: Agreed | None = None) -> Reserved:
    """Reserve for a job just the parts that its answer takes from the shelf, and promise it.

    Parts it holds already are not posted again. Parts it holds and the answer does not take are
    released.

    Parameters
    ----------
    report
        The answer, a fit.
    author
        Who asks and why.
    most
        The most to release of each lot, by job and the lot's code; None for as many as needed.

    Returns
    -------
    Reserved
        The parts that were reserved, released, and kept from before, and the promise.

    Raises
    ------
    ShortShelfError
        Where others have meanwhile taken parts of the answer; nothing is posted then.
    UnaskedReleaseError
        Where more would be released than `most`; nothing is posted then.
    """
    return reserve_together([report], author, most)[report.case.job.name]


def to_release(builds: Builds) -> tuple[int, tuple[Movement, ...]]:
    """Count the parts that some jobs hold on their ledger, and list those no build of theirs takes.

    Parameters
    ----------
    builds
        What is built of each job; all of one ledger.

    Returns
    -------
    tuple
        How many parts the jobs hold, and the releases that reserving the builds would post.
    """
    with open_shelf(builds[0].case.ledger) as shelf:
        balances = shelf.balances()
    held, released = 0, []
    for build in builds:
        job = build.case.job.name
        moves = changes(_wanted(build.gaps), balances, job)
        held += sum(dict(one.holders).get(job, 0) for one in balances)
        released += [move for move in moves if move.kind == "release"]
    return held, tuple(released)


def reserve_together(
    builds: Builds,
    author: Author,
    most: Agreed | None = None,
) -> dict[str, Reserved]:
    """Reserve the parts of several jobs' builds and promise them, all in one request or nothing.

    Parameters
    ----------
    builds
        What is built of each job.
    author
        Who asks and why.
    most
        The most to release of each lot, by job and the lot's code; None for as many as needed.

    Returns
    -------
    dict
        The reservation of each job, by the job's name.

    Raises
    ------
    InputError
        Where the jobs are built from different shelves, or a name is another job's there.
    """
    addresses = sorted({build.case.ledger for build in builds})
    if len(addresses) > 1:
        sentence = f"these jobs are built from several shelves ({', '.join(addresses)}); name one"
        raise InputError(Problem(f"{sentence} with --shelf"))
    day = today().isoformat()
    asked = [_Asked(one.case, _wanted(one.gaps), promise_of(one, day)) for one in builds]
    return _held(addresses[0], asked, author, most) if addresses else {}


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is to be kept for one job: parts, counted by the lot's code, and its promise."""

    case: Case
    wanted: Counter[str]
    promised: Promised


def _wanted(gaps: tuple[GapAssembly, ...]) -> Counter[str]:
    """Count the parts of each lot of the ledger that a build takes."""
    return Counter(lot.id for _, lot in fetched(gaps) if lot.id and not lot.own)


def until_reserved(attempt: Callable[[int], Found], most: int, what: str) -> Found:
    """Solve and reserve, and begin again where others meanwhile took parts of the answer.

    Parameters
    ----------
    attempt
        Solves and reserves once; its argument is how many attempts there were before.
    most
        The greatest number of attempts.
    what
        What was solved, for the message: an answer, a plan.

    Raises
    ------
    ChangedShelfError
        Where the shelf changed under every attempt; nothing was reserved.
    """
    name = ""
    for again in range(most):
        try:
            return attempt(again)
        except ShortShelfError as short:
            name = short.problems[0].file
    sentence = f"changed under the {what} {most} times; nothing was reserved, try again"
    raise ChangedShelfError(name, sentence)


def _held(
    address: str, asked: Sequence[_Asked], author: Author, most: Agreed | None
) -> dict[str, Reserved]:
    with open_shelf(address) as shelf:
        for _ in range(MOST_TRIES):
            seen, balances = shelf.revision(), shelf.balances()
            moves = [changes(one.wanted, balances, one.case.job.name) for one in asked]
            together = [move for each in moves for move in each]
            _check_agreed(shelf, together, most)
            # What one job gives up another may take: all that is released comes first.
            together.sort(key=lambda move: move.kind != "release")
            noted = [promise_notes(shelf, one.case, one.promised) for one in asked]
            notes = tuple(note for _, each in noted for note in each)
            try:
                _post(shelf, tuple(together), notes, author, seen)
            except ChangedShelfError:
                continue  # as likely as not there is still enough: look once more
            for case in {id(one.case.unit): one.case for one in asked}.values():
                remember(shelf, case.unit, case.origins["unit"], author.who)
            return {
                one.case.job.name: _reserved(mine, one.wanted, stands)
                for one, mine, (stands, _) in zip(asked, moves, noted, strict=True)
            }
        raise ChangedShelfError(shelf.name, "moves all the time; nothing was reserved, try again")


def _check_agreed(shelf: Shelf, moves: list[Movement], most: Agreed | None) -> None:
    """Raise UnaskedReleaseError where more would be released than somebody agreed to."""
    released = [move for move in moves if move.kind == "release"]
    over = [
        move
        for move in released
        if most is not None and move.number > most[move.job, move.part.lot_id]
    ]
    if over:
        raise UnaskedReleaseError(*(
            Problem(f"{move.part}: {move.number} reserved for {move.job} would be given back",
                    shelf.name)
            for move in over
        ))  # fmt: skip


def changes(wanted: Counter[str], balances: Iterable[Balance], job: str) -> tuple[Movement, ...]:
    """Return the movements after which a job holds just the wanted number of each lot.

    `wanted` counts parts by the lot's code.
    """
    held = [(one, dict(one.holders).get(job, 0)) for one in balances]
    less = [
        Movement("release", one.part, number - wanted[one.lot_id], job)
        for one, number in held
        if number > wanted[one.lot_id]
    ]
    more = [
        Movement("reserve", one.part, wanted[one.lot_id] - number, job)
        for one, number in held if number < wanted[one.lot_id]
    ]  # fmt: skip
    return (*less, *more)


def _post(
    shelf: Shelf,
    movements: tuple[Movement, ...],
    notes: tuple[Note, ...],
    author: Author,
    seen: int,
) -> None:
    if movements or notes:
        key, why = author.key or uuid4().hex, author.why or "fit"
        shelf.post(Request(key, author.who, why, movements, notes), seen=seen)


def _reserved(
    movements: tuple[Movement, ...], wanted: Counter[str], promised: Promised
) -> Reserved:
    reserved, released = (
        tuple((one.part, one.number) for one in movements if one.kind == kind)
        for kind in ("reserve", "release")
    )
    kept = wanted.total() - sum(number for _, number in reserved)
    return Reserved(promised, reserved, released, kept)
