"""Whether the ledger is what was written: each request carries the hash of all before it.

    link n = sha256(link n-1, request n, its entries)

A bit that flips, or a row that somebody alters, breaks the chain at its request. The lots are
named by what they are made of, so the chain holds them too.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from inventory import sql
from inventory.holding import Holding
from inventory.kept import movement_of, part_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from inventory.movements import Part
    from inventory.sql import Database, EntryRow, RequestRow


@dataclass(frozen=True, slots=True)
class Verified:
    """What a sound ledger holds; `link` is worth writing down, it stands for all of it."""

    requests: int
    entries: int
    lots: int
    link: str


def link(before: str, request: RequestRow, entries: Sequence[EntryRow]) -> str:
    """Work out the hash of a request, from the one before it and all that is written of it."""
    said = json.dumps([before, request[:-1], entries], separators=(",", ":"))
    return sha256(said.encode()).hexdigest()


def flaws(database: Database) -> Iterator[str]:
    """Go through the ledger from its beginning and tell all that does not follow."""
    yield from database.faults()
    parts = {}
    for row in sql.lots(database):
        parts[row.id] = part = part_of(row)
        if part.lot_id != row.id:
            yield f"lot {row.id} is not what it was written as"
    holdings: dict[str, Holding] = {}
    seq, last, before = 0, 0, ""
    while chunk := sql.requests(database, seq, sql.MOST_AT_ONCE):
        for request in chunk:
            entries = sql.entries(database, request.first, request.last)
            if (request.seq, request.first) != (seq + 1, last + 1):
                yield f"request {request.seq} does not follow request {seq}"
            if [row.seq for row in entries] != list(range(request.first, request.last + 1)):
                yield f"request {request.seq} has lost entries"
            if link(before, request, entries) != request.link:
                yield f"request {request.seq} of {request.at} is not what was written"
            yield from _unfolded(entries, parts, holdings)
            seq, last, before = request.seq, request.last, request.link
    counted = sql.counted(database)
    if counted != (seq, last, len(holdings)):
        follow = (seq, last, len(holdings))
        yield f"{counted} requests, entries and lots are there, of which {follow} follow"


def _unfolded(
    entries: Sequence[EntryRow], parts: dict[str, Part], holdings: dict[str, Holding]
) -> Iterator[str]:
    for row in entries:
        if row.lot not in parts:
            yield f"entry {row.seq} is of a lot that is not there"
            continue
        holding = holdings.setdefault(row.lot, Holding())
        movement = movement_of(row, parts[row.lot])
        short = holding.shortage(movement)
        stood = (*holding.move(movement), holding.on_hand, holding.reserved)
        held = holding.held.get(row.job, 0)
        if short or (*stood, held) != (row.change, row.holds, row.on_hand, row.reserved, row.held):
            yield f"entry {row.seq} does not follow from those before it"
