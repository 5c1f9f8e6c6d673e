"""A sheet of bin labels as one HTML page for printing, each with the code of its lot.

The code is a QR code of the lot's short name: a scanner types it where a command wants a part.
"""

from __future__ import annotations

from html import escape
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING

from gapwright.drawn.qr import qr_code
from gapwright.shelf.desk import there_is
from specs.errors import InputError, Problem
from specs.lengths import show
from specs.parts import PartError, find_size
from specs.sections import read_unit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from inventory.movements import Part
    from specs.lengths import Unit as LengthUnit
    from specs.unit import Unit

LONG = 9  # letters of a size that fit in a line in the large print


def label_sheet(
    address: str, asked: str = "", lengths: LengthUnit = "mm", unit: Path | None = None
) -> str:
    """Draw the labels of all lots on hand, of a family or of one lot by its code, by their bins.

    The unit's file is for the marks stamped on its parts. Raises InputError where there is none.
    """
    name, balances = there_is(address)
    lots = [one for one in balances if asked in ("", one.part.family, one.lot_id)]
    if not lots:
        raise InputError(Problem(f'has nothing on hand of "{asked}" to label', name))
    known = read_unit(unit)[0] if unit else None
    lots.sort(key=lambda balance: balance.part.bin)
    labels = "".join(_label(balance.part, known, lengths) for balance in lots)
    page = files("gapwright.shelf").joinpath("labels.html").read_text(encoding="utf-8")
    return Template(page).substitute(shelf=escape(name), labels=labels)


def _label(part: Part, unit: Unit | None, lengths: LengthUnit) -> str:
    size = "size long" if len(part.size) > LONG else "size"
    facts = " &middot; ".join(map(escape, _facts(part, unit, lengths)))
    return (
        f'<li><div class="words"><p class="family">{escape(part.family)}</p>'
        f'<p class="{size}">{escape(part.size)}</p><p class="facts">{facts}</p>'
        f'<p class="bin">{escape(part.bin)}</p></div>'
        f'<div class="code">{_drawn(part.lot_id)}<p>{part.lot_id}</p></div></li>\n'
    )


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
    """What is stamped on the part, where the unit's file says it and it is not its size's name."""
    family = unit.families.get(part.family) if unit else None
    try:
        found = find_size(part.family, family, part.size, None) if family and family.sizes else None
    except PartError:
        return ""
    mark = family.sizes[found.size].mark if family and found else None
    return mark if mark and mark != part.size else ""


def _drawn(code: str) -> str:
    try:
        return str(qr_code(code))
    except ImportError:
        raise InputError(
            Problem("labels need the package segno: pip install 'gapwright[labels]'")
        ) from None
