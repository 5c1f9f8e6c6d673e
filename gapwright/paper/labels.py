"""The sheet of bin labels: one HTML page for printing, each label with the code of its lot.

The code is a QR code of the lot's id. A scanner types it where a command wants a part.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.drawing.qr import qr_code
from gapwright.extras import check_extra
from gapwright.output.template import fill_in
from gapwright.shelf.service import there_is
from specs.errors import InputError, Problem
from specs.files.read import read_unit
from specs.parts.lookup import PartError, find_size
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from gapwright.drawing.svg import Svg
    from inventory.movements import Part
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit

LONG = 9  # letters of a size that fit in a line in the large print


@dataclass(frozen=True, slots=True)
class Label:
    """The contents of the label of one lot."""

    part: Part
    facts: tuple[str, ...]
    code: Svg


def label_sheet(
    address: str, selection: str = "", lengths: LengthUnit = "mm", unit: Path | None = None
) -> str:
    """Write the page of labels for lots on hand, in the order of their bins.

    Parameters
    ----------
    address
        The address of the ledger.
    selection
        A family, or the code of one lot; empty for all lots.
    lengths
        The unit of length for thicknesses.
    unit
        The unit's file, for the marks stamped on its parts.

    Raises
    ------
    InputError
        Where nothing on hand is as asked, or a library for labels is not installed.
    """
    check_extra("labels")
    name, link, balances = there_is(address)
    parts = [one.part for one in balances if selection in ("", one.part.family, one.lot_id)]
    if not parts:
        raise InputError(Problem(f'has nothing on hand of "{selection}" to label', name))
    known = read_unit(unit)[0] if unit else None
    parts.sort(key=lambda part: part.bin)
    labels = [
        Label(part, tuple(_facts(part, known, lengths)), qr_code(part.lot_id)) for part in parts
    ]
    return fill_in("labels.html", shelf=name, labels=labels, long=LONG, link=link)


def _facts(part: Part, unit: Unit | None, lengths: LengthUnit) -> Iterator[str]:
    mark = _mark(part, unit)
    if mark:
        yield f"mark {mark}"
    if part.thickness:
        yield show(part.thickness, lengths)
    if part.condition == "used":
        yield "used"
    if part.label:
        yield part.label


def _mark(part: Part, unit: Unit | None) -> str:
    """Return the mark stamped on a part, where the unit's file states one besides its size."""
    family = unit.families.get(part.family) if unit else None
    try:
        found = find_size(part.family, family, part.size, None) if family and family.sizes else None
    except PartError:
        return ""
    mark = family.sizes[found.size].mark if family and found else None
    return mark if mark and mark != part.size else ""
