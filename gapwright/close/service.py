"""The service of `close`: what went in leaves the shelf, the rest is free, the record is complete.

On a ledger all of it is one request with the note `closed`. Where the shelf is a file, its counts
and the section `closed` of the job's file are written together. Two that close one job at once do
it one after the other: the second is told that it is closed.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.close.settlement import job_lots, settle
from gapwright.output.together import ChangedError, Rewrite, finish, write_together
from gapwright.record.book import read_book
from gapwright.record.lots import KeptLot, in_bin_order, kept_lots, lot_key
from gapwright.record.state import after_assembly, standing_of
from gapwright.today import today
from inventory import open_shelf
from inventory.movements import Movement, Note, Request
from inventory.refusals import ChangedShelfError, OtherRequestError, ShortShelfError
from inventory.shelf_file import recounted
from specs.errors import InputError, Problem
from specs.files.digest import record_code
from specs.files.notes import CLOSED, note_text
from specs.files.read import case_of
from specs.files.read_many import TABLES, read_jobs, stated_name
from specs.findings import near
from specs.formats.plain_file import content
from specs.formats.yaml import parse
from specs.formats.yaml_edit import with_value
from specs.models.record import Closed, Correction, plain
from specs.values.codes import canonical, code_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from gapwright.close.settlement import JobLot, LotChange, Settlement
    from gapwright.record.book import Book
    from gapwright.record.sizes import Size
    from gapwright.record.state import JobState, Standing
    from gapwright.shelf.service import Author
    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.models.record import Taken
    from specs.values.lengths import LengthUnit

MOST_TRIES = 9


@dataclass(frozen=True, slots=True)
class Closing:
    """A job that was closed, or whose record was corrected."""

    case: Case
    closed: Closed
    state: JobState
    """Where it was before: what was not measured after assembly, or is not as promised."""
    out: tuple[Taken, ...]
    """What went out now of each lot."""
    back: tuple[Taken, ...]
    """What came back now."""
    released: tuple[Taken, ...]
    """What was reserved for it and is free now."""
    extra: Counter[Size]
    """What went in and was not promised."""
    unused: Counter[Size]
    """What was promised and did not go in."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.case.length

    @property
    def corrected(self) -> Correction | None:
        """Who corrected the record now and why; None where it was closed now."""
        return self.closed.corrected[-1] if self.closed.corrected else None


def close_job(
    job: Path,
    author: Author,
    unit: Path | None = None,
    shelf: Path | str | None = None,
    *,
    row: str = "",
    correct: bool = False,
) -> Closing:
    """Close a job: take what went in off its shelf, free the rest, and complete its record.

    Parameters
    ----------
    job
        The job's file, or a table of jobs.
    author
        Who closes it; for a correction also why.
    unit, shelf
        The unit's file and the shelf's file or ledger, where the job's own are not meant.
    row
        The job's name in a table of jobs.
    correct
        Whether a closed job was corrected since and is to be closed once more.

    Returns
    -------
    Closing
        What went out, what came back and what is free again.

    Raises
    ------
    InputError
        Where nobody says what went in, where it is not on hand, or where the job is closed already.
    """
    for _ in range(MOST_TRIES):
        finish(job)
        case = _case(job, unit, shelf, row)
        try:
            return _closed(case, author, correct=correct)
        except (ChangedError, ChangedShelfError, OtherRequestError, ShortShelfError) as error:
            met = error  # somebody wrote meanwhile: perhaps it is closed by now
    raise met


def _case(job: Path, unit: Path | None, shelf: Path | str | None, row: str) -> Case:
    case = case_of(_source(job, row), unit, shelf)
    origin = case.origins["job"]
    if case.ledger and not origin.written(("name",)):
        sentence = "the job has no name to be closed under; write one: name: J-1042"
        raise InputError(origin.problem(("name",), sentence))
    if not case.ledger and job.suffix.lower() in TABLES:
        sentence = (
            "a row of a table is closed in a ledger: name one with --shelf shop.db, or write the "
            "job as a file of its own"
        )
        raise InputError(origin.problem(("name",), sentence))
    return case


def _source(job: Path, row: str) -> Source:
    """Return a job file, or the row of a table of jobs."""
    sources = read_jobs(job)
    if not row:
        if len(sources) > 1:
            sentence = f"holds {len(sources)} jobs: say which one with --job"
            raise InputError(Problem(sentence, str(job)))
        return sources[0]
    named = {stated_name(source): source for source in sources}
    if row not in named:
        raise InputError(Problem(near(row, [*named], "its jobs"), str(job), field="--job"))
    return named[row]


def _closed(case: Case, author: Author, *, correct: bool) -> Closing:
    """Close a job, as its files and its ledger stand now."""
    book = read_book(case.ledger, case.job.name) if case.ledger else None
    lots = kept_lots(case, book.balances if book else None)
    standing = standing_of(case, book, lots)
    _check_open(case, standing, correct=correct)
    settlement = settle(case, standing.promised, _job_lots(case, book, lots, standing))
    closed = _record(case, standing, settlement, author)
    if book:
        _post(case, book, settlement, closed, author)
    else:
        _write(case, settlement, closed)
    return Closing(
        case=case,
        closed=closed,
        state=after_assembly(case, standing.promised),
        out=_taken(settlement, lambda one: one.from_held + one.from_free),
        back=_taken(settlement, lambda one: one.back),
        released=_taken(settlement, lambda one: one.released),
        extra=settlement.extra,
        unused=settlement.unused,
    )


def _check_open(case: Case, standing: Standing, *, correct: bool) -> None:
    """Raise InputError where a job is closed already, or is to be corrected and is not."""
    closed, origin = standing.closed, case.origins["job"]
    if closed is None and correct:
        sentence = "the job is not closed yet; close it without --correct"
    elif closed and correct and not standing.changed(case):
        sentence = (
            f"nothing was changed since the job was closed on {closed.on}; write into it what was "
            "wrong, then correct it"
        )
    elif closed and not correct:
        since = (
            "; it was changed since, which --correct --why WHY closes once more"
            if standing.changed(case)
            else ""
        )
        sentence = f"the job was closed on {closed.on} by {closed.by}{since}"
    else:
        return
    raise InputError(origin.problem((), sentence))


def _job_lots(
    case: Case, book: Book | None, lots: tuple[KeptLot, ...], standing: Standing
) -> list[JobLot]:
    """Return the lots of a shelf as a job stands to them.

    What a shelf file gave when the job was closed went out of it; the lot may be gone from it.
    """
    name = case.origins["job"].written(("name",))
    if book:
        account = book.account(name)
        codes = [lot.part.code or "" for lot in lots]
        held, out, by_hand = (
            [numbers[code] for code in codes]
            for numbers in (account.held, account.out, account.by_hand)
        )
        return job_lots(lots, standing.promised, held, out, by_hand)
    used = standing.closed.used if standing.closed else ()
    went = Counter({lot_key(taken): taken.count for taken in used})
    there = {lot_key(lot.part) for lot in lots}
    lots += tuple(KeptLot(taken, 0) for taken in used if lot_key(taken) not in there)
    held = [lot.holders.get(name, 0) if name else 0 for lot in lots]
    out = [went.pop(lot_key(lot.part), 0) for lot in lots]
    return job_lots(lots, standing.promised, held, out, [0] * len(lots))


def _record(case: Case, standing: Standing, settlement: Settlement, author: Author) -> Closed:
    """Write how a job is closed; of a correction, beside how it was closed before."""
    before, day = standing.closed, today().isoformat()
    back = Counter({lot_key(one.lot.part): one.back for one in settlement.changes})
    parts = {lot_key(one.lot.part): one.lot.part for one in settlement.changes}
    for taken in before.back if before else ():
        back[lot_key(taken)] += taken.count
        parts.setdefault(lot_key(taken), taken)
    correction = Correction.model_construct(on=day, by=author.who, why=author.why)
    return Closed.model_construct(
        on=before.on if before else day,
        by=before.by if before else author.who,
        record=record_code(case, standing.promised),
        used=_taken(settlement, lambda one: one.used),
        back=in_bin_order(parts[key].model_copy(update={"count": back[key]}) for key in +back),
        corrected=(*before.corrected, correction) if before else (),
    )


def _taken(settlement: Settlement, count: Callable[[LotChange], int]) -> tuple[Taken, ...]:
    """Return how many of each lot a settlement moves in one way, in the order of the bins."""
    return in_bin_order(
        one.lot.part.model_copy(update={"count": count(one)})
        for one in settlement.changes
        if count(one)
    )


def _post(case: Case, book: Book, settlement: Settlement, closed: Closed, author: Author) -> None:
    """Post to a ledger what closing a job does, in one request with the note of it."""
    parts, job = {one.lot_id: one.part for one in book.balances}, case.job.name
    moves: list[Movement] = []
    for one in settlement.changes:
        part = parts[one.lot.part.code or ""]
        moves += [
            Movement("release", part, one.released, job),
            Movement("issue", part, one.from_held, job, reserved=True),
            Movement("issue", part, one.from_free, job),
            Movement("return", part, one.back, job),
        ]
    # What was released may be what goes out, and what goes out may come back into another lot.
    order = ("release", "issue", "return")
    moves = sorted((move for move in moves if move.number), key=lambda one: order.index(one.kind))
    # Named after the job and how often it was closed, so that two cannot close it at once.
    key = code_of(canonical([CLOSED, job, len(book.account(job).closings)]))
    note = Note(CLOSED, job, note_text(closed, case.length))
    request = Request(key, author.who, author.why or "close", tuple(moves), (note,))
    with open_shelf(case.ledger) as shelf:
        if shelf.post(request, seen=book.revision).again:
            sentence = "was closed by another at the same time"
            raise ChangedShelfError(shelf.name, sentence)


def _write(case: Case, settlement: Settlement, closed: Closed) -> None:
    """Write the counts of a shelf file and the record of the job, both or neither."""
    texts: dict[Path, str] = {}
    job = Path(case.origins["job"].source.file)
    for origin in case.origins.values():
        if origin.section in ("job", "shelf"):
            file = Path(origin.source.file)
            raw = content(file)
            if parse(raw, origin.source.file).data != origin.source.data:
                raise ChangedError(origin.source.file)
            texts[file] = raw.decode()
    new = dict(texts)
    if not case.kit:
        shelf = Path(case.origins["shelf"].source.file)
        new[shelf] = _counted_off(case, settlement, new[shelf])
    record = plain(closed, case.length)
    new[job] = with_value(new[job], ("job", "closed"), record, str(job))
    write_together([Rewrite(file, texts[file], new[file]) for file in new])


def _counted_off(case: Case, settlement: Settlement, text: str) -> str:
    """Return the text of a shelf file without what went in, and without what was reserved."""
    file, job = case.origins["shelf"].source.file, case.origins["job"].written(("name",))
    counts: dict[tuple[str, str, int], int] = {}
    reserved: dict[tuple[str, str, int], dict[str, int]] = {}
    for one in settlement.changes:
        family, size, nth = one.lot.at
        if not family and one.leaves:
            sentence = (
                f"{one.lot.part.family} {one.lot.part.size} of {one.lot.part.bin or 'no bin'}"
            )
            raise InputError(Problem(f"{sentence} is not listed any more: list it, with 0", file))
        if one.leaves:
            counts[one.lot.at] = case.shelf[family][size][nth].count - one.leaves
        if one.from_held or one.released:
            reserved[one.lot.at] = {
                holder: n for holder, n in one.lot.holders.items() if holder != job
            }
    return recounted(text, file, counts, reserved)
