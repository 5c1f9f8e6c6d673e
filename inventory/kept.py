"""Translation between the rows of the ledger and parts, movements, entries and balances."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING, Any, cast

from inventory.movements import KINDS, Balance, Entry, Movement, Note, Part, PostedNote
from inventory.sql import EntryRow, LotRow, NoteRow, RequestRow
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.movements import Condition

_ENTRY, _REQUEST = len(EntryRow._fields), len(RequestRow._fields)
_NOTE = len(NoteRow._fields)


def lot_row(part: Part, lot: str) -> LotRow:
    """Write a lot's part as a row; the thickness in nanometres, empty where the part is as sold."""
    nm = "" if part.thickness is None else str(part.thickness.nm)
    return LotRow(lot, part.family, part.size, nm, part.condition, part.bin, part.label)


def part_of(row: LotRow) -> Part:
    """Read the part of a lot from its row."""
    nm = row.thickness
    thickness = None if not nm else Length(int(nm) if nm.isdecimal() else Fraction(nm))
    condition = cast("Condition", row.condition)
    return Part(row.family, row.size, thickness, condition, row.bin, row.label)


def movement_of(row: EntryRow, part: Part) -> Movement:
    """Read the movement of an entry from its row. Raises ValueError for a kind there is none of."""
    if row.kind not in KINDS:
        raise ValueError(f"{row.kind!r} in entry {row.seq}")
    reserved = row.kind == "issue" and row.holds < 0
    return Movement(row.kind, part, row.number, row.job, reserved)


def balance_of(row: Sequence[Any], holders: tuple[tuple[str, int], ...]) -> Balance:
    """Read a lot's balance from its row, which ends in on hand and reserved, and its holders."""
    *lot, on_hand, reserved = row
    return Balance(part_of(LotRow(*lot)), row[0], on_hand, reserved, holders)


def entry_of(row: Sequence[Any]) -> Entry:
    """Read an entry from one row that joins the entry, its request and its lot, in this order."""
    entry = EntryRow(*row[:_ENTRY])
    request = RequestRow(*row[_ENTRY : _ENTRY + _REQUEST])
    return Entry(
        number=entry.seq,
        time=datetime.fromisoformat(request.at),
        key=request.key,
        who=request.who,
        why=request.why,
        movement=movement_of(entry, part_of(LotRow(*row[_ENTRY + _REQUEST :]))),
        change=entry.change,
        on_hand=entry.on_hand,
        reserved=entry.reserved,
        link=request.link,
    )


def note_of(row: Sequence[Any]) -> PostedNote:
    """Read a note from one row that joins the note and its request, in this order."""
    note, request = NoteRow(*row[:_NOTE]), RequestRow(*row[_NOTE:])
    return PostedNote(
        number=note.seq,
        time=datetime.fromisoformat(request.at),
        key=request.key,
        who=request.who,
        why=request.why,
        note=Note(note.kind, note.about, note.text),
        link=request.link,
    )
