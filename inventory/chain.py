"""The hash chain of a ledger, which shows whether the ledger still is as it was written.

Each request carries a hash of itself, of its entries and of all requests before it:

    link n = sha256(link n-1, request n, its entries)             without notes, in every version
    link n = sha256(link n-1, request n, its entries, its notes)  with notes, since version 2

A flipped bit, or a row that somebody alters, breaks the chain at its request. A lot's id is worked
out from the lot's own values, and entries name lots by id, so the chain covers the lots too.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from hashlib import sha256
from itertools import pairwise
from typing import TYPE_CHECKING

from inventory import sql
from inventory.holding import Holding
from inventory.kept import movement_of, part_of
from inventory.sql import NOTHING
from specs.errors import InputError, Problem, quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from inventory.movements import Part
    from inventory.sql import Database, EntryRow, LotRow, NoteRow, RequestRow

LOOKED_AT, MOST_LOOKED_AT = 16, 1_000
"""How many requests and entries are looked at when a shelf is opened; the last request always."""
PRINTED = 16  # signs of a hash, which nobody meets by chance
_LINK = re.compile(rf"([1-9][0-9]{{0,17}}):([0-9a-f]{{{PRINTED},64}})")
NO_LOT = "is of a lot that is not there"


@dataclass(frozen=True, slots=True)
class Verified:
    """The size of a sound ledger, and the hash of its last request, which stands for all of it."""

    requests: int
    entries: int
    lots: int
    notes: int
    link: str


@dataclass(frozen=True, slots=True)
class Link:
    """The end of a ledger at one moment: the number and the hash of its last request.

    A printed link stands for everything posted up to then. `verify` tells from it whether any of
    that is gone.
    """

    number: int
    """The number of the last request, 1 the first."""
    hash: str
    """The hash of that request and of all before; of a link that was printed, its beginning."""

    def __str__(self) -> str:
        """The link as it is printed, and as it is typed for `verify`: 31:9f2c01d7a86b53e4."""
        return f"{self.number}:{self.hash[:PRINTED]}"


def read_link(text: str) -> Link:
    """Read a link as it was printed. Raises InputError for a text that is no link."""
    found = _LINK.fullmatch("".join(text.lower().split()))
    if not found:
        sentence = f"{quoted(text)}; write it as it is printed, such as 31:9f2c01d7a86b53e4"
        raise InputError(Problem(sentence, field="--link"))
    return Link(int(found[1]), found[2])


def link(
    before: str, request: RequestRow, entries: Sequence[EntryRow], notes: Sequence[NoteRow]
) -> str:
    """Work out the hash of a request from the hash before it, the request and what it holds.

    Parameters
    ----------
    before
        The hash of the request before, in hexadecimal; empty for the first request.
    request
        The request's row; its own `link`, the last field, is left out of the hash.
    entries
        The rows of its entries, in order.
    notes
        The rows of its notes, in order.

    Returns
    -------
    str
        The sha256 of these as one line of JSON, 64 hexadecimal digits. A request without notes
        is hashed without a list of them, as before there were notes.
    """
    held = (before, request[:-1], entries, notes) if notes else (before, request[:-1], entries)
    text = json.dumps(held, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def flaws(database: Database) -> Iterator[str]:
    """Check the whole ledger from its beginning, and yield a sentence for each fault.

    Checks the database itself, the ids of the lots, the hash of each request, and that each entry
    follows from those before it by the rules of `inventory.holding`.
    """
    yield from database.faults()
    lots = sql.lots(database)
    yield from _other_lots(lots)
    parts = {row.id: part_of(row) for row in lots}
    holdings: dict[str, Holding] = {}
    before, noted = NOTHING, 0
    while chunk := sql.requests(database, before.seq, sql.MOST_AT_ONCE):
        notes = sql.notes(database, chunk[0].seq, chunk[-1].seq)
        noted += sum(map(len, notes.values()))
        for request in chunk:
            entries = sql.entries(database, request.first, request.last)
            yield from _unlinked(before, request, entries, notes.get(request.seq, ()))
            yield from _unfolded(entries, parts, holdings)
            before = request
    counted, follow = sql.counted(database), (before.seq, before.last, len(holdings), noted)
    if counted != follow:
        yield f"{counted} requests, entries, lots and notes are there, of which {follow} follow"


def unmet(database: Database, printed: Iterable[Link]) -> Iterator[str]:
    """Yield a sentence for each printed link that the ledger does not contain."""
    last = sql.last_request(database) or NOTHING
    for one in printed:
        if one.number > last.seq:
            ends = f"ends at link {Link(last.seq, last.link)}" if last.seq else "is empty"
            yield f"link {one} was printed, and the ledger {ends}: what came after it is gone"
            continue
        rows = sql.requests(database, one.number - 1, 1)
        if not rows or rows[0].seq != one.number:
            yield f"link {one} was printed, and request {one.number} is gone"
        elif not rows[0].link.startswith(one.hash):
            there = Link(one.number, rows[0].link)
            yield f"link {one} was printed, and the ledger has {there} in its place"


def flaws_at_end(database: Database) -> Iterator[str]:
    """Check the last requests with their entries and lots, and yield a sentence for each fault.

    This is the quick check whenever a shelf is opened: at most LOOKED_AT requests and about
    MOST_LOOKED_AT entries.
    """
    last = sql.last_request(database) or NOTHING
    for entry in sql.entries(database, last.last + 1, last.last + LOOKED_AT):
        yield f"entry {entry.seq} is of no request"
    for number in sql.notes(database, last.seq + 1, last.seq + LOOKED_AT):
        yield f"a note is of request {number}, which is not there"
    requests = sql.requests(database, last.seq - LOOKED_AT - 1, LOOKED_AT + 1)
    notes = sql.notes(database, last.seq - LOOKED_AT + 1, last.seq)
    seen: list[EntryRow] = []
    # Each request is checked against the one before it, the first of all against NOTHING. The last
    # comes first: it is checked however many entries it has.
    for before, request in reversed([*pairwise([NOTHING] * (last.seq <= LOOKED_AT) + requests)]):
        if seen and len(seen) + request.last - request.first >= MOST_LOOKED_AT:
            break
        entries = sql.entries(database, request.first, request.last)
        yield from _unlinked(before, request, entries, notes.get(request.seq, ()))
        seen += entries
    del seen[MOST_LOOKED_AT:]
    lots = sql.lots(database, sorted({entry.lot for entry in seen}))
    yield from _other_lots(lots)
    known = {row.id for row in lots}
    yield from (f"entry {one.seq} {NO_LOT}" for one in seen if one.lot not in known)


def _other_lots(lots: Iterable[LotRow]) -> Iterator[str]:
    for row in lots:
        if part_of(row).lot_id != row.id:
            yield f"lot {row.id} is not what it was written as"


def _unlinked(
    before: RequestRow,
    request: RequestRow,
    entries: Sequence[EntryRow],
    notes: Sequence[NoteRow],
) -> Iterator[str]:
    """Yield a sentence for each way in which a request does not follow the request before it."""
    if (request.seq, request.first) != (before.seq + 1, before.last + 1):
        yield f"request {request.seq} does not follow request {before.seq}"
    if [row.seq for row in entries] != list(range(request.first, request.last + 1)):
        yield f"request {request.seq} has lost entries"
    if link(before.link, request, entries, notes) != request.link:
        yield f"request {request.seq} of {request.at} is not what was written"


def _unfolded(
    entries: Sequence[EntryRow], parts: dict[str, Part], holdings: dict[str, Holding]
) -> Iterator[str]:
    for row in entries:
        if row.lot not in parts:
            yield f"entry {row.seq} {NO_LOT}"
            continue
        holding = holdings.setdefault(row.lot, Holding())
        movement = movement_of(row, parts[row.lot])
        short = holding.shortage(movement)
        stood = (*holding.move(movement), holding.on_hand, holding.reserved)
        held = holding.held.get(row.job, 0)
        if short or (*stood, held) != (row.change, row.holds, row.on_hand, row.reserved, row.held):
            yield f"entry {row.seq} does not follow from those before it"
