"""Rows of the ledger as parts, movements, entries and balances, and back."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING, Any, cast

from inventory.movements import Balance, Entry, Movement, Part
from inventory.sql import EntryRow, LotRow, RequestRow
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.movements import Condition, Kind

_ENTRY, _REQUEST = len(EntryRow._fields), len(RequestRow._fields)


def lot_row(part: Part, lot: str) -> LotRow:
    """Write down what a lot is."""
    nm = "" if part.thickness is None else str(part.thickness.nm)
    return LotRow(lot, part.family, part.size, nm, part.condition, part.bin, part.label)


def part_of(row: LotRow) -> Part:
    """Tell what a lot is."""
    nm = row.thickness
    thickness = None if not nm else Length(int(nm) if nm.isdecimal() else Fraction(nm))
    condition = cast("Condition", row.condition)
    return Part(row.family, row.size, thickness, condition, row.bin, row.label)


def movement_of(row: EntryRow, part: Part) -> Movement:
    """Tell what moved."""
    reserved = row.kind == "issue" and row.holds < 0
    return Movement(cast("Kind", row.kind), part, row.number, row.job, reserved)


def balance_of(row: Sequence[Any], holders: tuple[tuple[str, int], ...]) -> Balance:
    """Tell how a lot stands from its row, what is on hand and what is reserved, side by side."""
    *lot, on_hand, reserved = row
    return Balance(part_of(LotRow(*lot)), row[0], on_hand, reserved, holders)


def entry_of(row: Sequence[Any]) -> Entry:
    """Tell an entry from its row, its request's and its lot's, side by side."""
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
