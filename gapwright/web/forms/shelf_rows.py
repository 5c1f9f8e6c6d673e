"""Shows a shelf as rows with a field for a number: the lots of a shelf file or of a ledger."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.shelf.listing import on_hand_list
from gapwright.shelf.service import Move, moved_together
from gapwright.shelf.text import short_text
from gapwright.web.forms.fields import name_of
from gapwright.web.saved_files import opened, save
from inventory.naming import PartialName
from inventory.shelf_file import recounted
from specs.errors import InputError, Problem, shortened
from specs.files.read import shelf_of
from specs.files.shelf_address import is_ledger, is_server
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.shelf.service import Author
    from gapwright.web.folder import Shop
    from gapwright.web.request import PageRequest
    from inventory.movements import Balance, Kind
    from specs.models.shelf import ShelfLot
    from specs.values.lengths import LengthUnit

KINDS: dict[Kind, str] = {
    "count": "so many were counted",
    "receive": "so many came in",
    "issue": "so many were taken out",
    "scrap": "so many were thrown away",
}
"""The movements that the page of a shelf offers, and what each number stands for."""
LOT = "lot"
NO_NUMBER = "write a whole number"
OUTSIDE = "lies outside the folder this page was opened on, and is only read here"


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One lot: its description, the number of its parts, and what was typed beside it."""

    field: str
    family: str
    size: str
    facts: str
    on_hand: int
    reserved: int
    held_for: str = ""
    typed: str = ""
    wrong: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rows:
    """A shelf with every lot of it, and a mark of its state when it was opened."""

    name: str
    address: str
    ledger: bool
    rows: tuple[ShelfRow, ...]
    seen: str
    length: LengthUnit
    """The unit of length of the thicknesses shown."""
    link: str = ""
    """The last link of a ledger, as it is printed; empty for a file."""
    short: tuple[str, ...] = ()
    """The sizes of a ledger that are under their reorder points."""


def rows_of(shop: Shop, shelf: str, unit: LengthUnit | None) -> Rows:
    """Open a shelf of the folder, or the one named at the start.

    Parameters
    ----------
    shop
        The folder.
    shelf
        The shelf's name; ignored where one was named at the start.
    unit
        The unit of length to show; None for that of the shelf.

    Raises
    ------
    InputError
        Where the shelf cannot be opened.
    """
    address = _address_of(shop, shelf)
    if is_ledger(address):
        return _ledger(address, "" if shop.shelf else shelf, unit or "mm")
    return _file(shop, Path(address).relative_to(shop.folder).as_posix(), unit)


def _address_of(shop: Shop, shelf: str) -> str:
    """Return the path or address of a shelf.

    Raises InputError where it is neither in the folder nor named at the start.
    """
    if not shop.shelf:
        return str(shop.path(shelf))
    if not is_server(shop.shelf) and not is_ledger(shop.shelf):
        file = Path(shop.shelf).resolve()
        if not file.is_relative_to(shop.folder.resolve()):
            raise InputError(Problem(OUTSIDE, shop.shelf))
        return str(shop.path(file.relative_to(shop.folder.resolve()).as_posix()))
    return shop.shelf


def filled_in(rows: Rows, request: PageRequest) -> Rows:
    """Return the rows with what was typed beside them; marks what is not a number as wrong."""
    return replace(rows, rows=tuple(_filled_in(row, request.one(row.field)) for row in rows.rows))


def post(shop: Shop, rows: Rows, kind: Kind, job: str, author: Author) -> None:
    """Post the numbers typed beside the rows, all of them or none.

    Parameters
    ----------
    shop
        The folder.
    rows
        The shelf, with what was typed.
    kind
        The kind of movement.
    job
        The job that it is for; empty where it is for none.
    author
        The author, the reason and the request.

    Raises
    ------
    InputError
        Where the shelf does not allow it, or has changed since it was opened.
    """
    typed = {row.field: int(row.typed) for row in rows.rows if row.typed}
    if rows.ledger:
        moves = [Move(kind, PartialName(lot_id=field.partition("/")[2]), number, job)
                 for field, number in typed.items()]  # fmt: skip
        seen = int(rows.seen) if re.fullmatch("[0-9]{1,15}", rows.seen) else 0
        author = replace(author, seen=seen if kind == "count" else None)
        moved_together(rows.address, moves, author)
        return
    counts = {
        (row.family, row.size, int(row.field.rpartition("/")[2])): _after(row, kind)
        for row in rows.rows
        if row.typed
    }
    kept = opened(shop, rows.name)
    text = recounted(kept.text, rows.name, counts)
    save(shop, rows.name, text, rows.seen)


def weighed(rows: Rows, kind: Kind) -> Rows:
    """Mark the rows of a shelf file that would keep fewer parts than are reserved.

    The rows of a ledger are returned as they are, because the ledger checks for itself.
    """
    if rows.ledger:
        return rows
    return replace(rows, rows=tuple(_weighed(row, kind) for row in rows.rows))


def _weighed(row: ShelfRow, kind: Kind) -> ShelfRow:
    if not row.typed or row.wrong or _after(row, kind) >= row.reserved:
        return row
    held = f", {row.reserved} of them reserved" if row.reserved else ""
    return replace(row, wrong=(f"there are {row.on_hand}{held}",))


def _after(row: ShelfRow, kind: Kind) -> int:
    number = int(row.typed)
    return {"count": number, "receive": row.on_hand + number}.get(kind, row.on_hand - number)


def _filled_in(row: ShelfRow, typed: str) -> ShelfRow:
    fits = not typed or re.fullmatch("[0-9]{1,6}", typed)
    return replace(
        row, typed=typed, wrong=() if fits else (f'found "{shortened(typed)}"; {NO_NUMBER}',)
    )


def _ledger(address: str, called: str, unit: LengthUnit) -> Rows:
    found = on_hand_list(address)
    rows = tuple(
        ShelfRow(
            f"{LOT}/{one.lot_id}", size.family, size.size,
            _facts(one.part.bin, one.part.label, one.part.condition,
                   show(one.part.thickness, unit) if one.part.thickness else ""),
            one.on_hand, one.reserved, ", ".join(f"{n} for {job}" for job, n in one.holders),
        )
        for size in found.sizes for one in size.lots or _as_sold(size.used_up)
    )  # fmt: skip
    return Rows(
        called or found.shelf, address, ledger=True, rows=rows, seen=str(found.entry),
        length=unit, link=str(found.link or ""), short=tuple(short_text(found)),
    )  # fmt: skip


def _as_sold(lots: Iterable[Balance]) -> list[Balance]:
    """Return the lots that parts of their size come in to: new ones, not measured."""
    return [one for one in lots if one.part.condition == "new" and one.part.thickness is None]


def _file(shop: Shop, name: str, unit: LengthUnit | None) -> Rows:
    kept = opened(shop, name)
    shelf, origin = shelf_of(kept.text.encode(), str(shop.folder / name))
    length = unit or origin.length or "in"
    rows = tuple(
        ShelfRow(
            name_of((LOT, family, size, str(nth))), family, size,
            _lot_facts(lot, length), lot.count, lot.spoken_for,
            ", ".join(f"{number} for {job or 'somebody'}" for job, number in lot.reserved.items()),
        )
        for family, sizes in shelf.items()
        for size, lots in sizes.items()
        for nth, lot in enumerate(lots)
    )  # fmt: skip
    return Rows(
        name, str(shop.folder / name), ledger=False, rows=rows, seen=kept.mark, length=length
    )


def _lot_facts(lot: ShelfLot, unit: LengthUnit) -> str:
    measured = show(lot.thickness, unit) if lot.thickness else ""
    return _facts(lot.bin or "", lot.lot or "", lot.condition, measured)


def _facts(place: str, label: str, condition: str, measured: str) -> str:
    facts = [f"bin {place}" * bool(place), measured, "used" * (condition == "used"), label]
    return ", ".join(filter(None, facts))
