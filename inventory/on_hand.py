"""What one job may draw on: the shelf less what is spoken for, and the job's own parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.lengths import ZERO
from specs.parts import find_size, own_lots
from specs.stock import Lot

if TYPE_CHECKING:
    from specs.case import Case


def on_hand(case: Case, gaps: tuple[str, ...]) -> tuple[Lot, ...]:
    """Freeze the stock for the gaps that are being built now."""
    return (*shelf_lots(case), *own_lots(case, gaps))


def catalogue(case: Case) -> tuple[Lot, ...]:
    """Every size the unit's families are made in, none of it on hand: what could be bought."""
    return tuple(
        Lot(name, size, spec.nominal, 0)
        for name, family in case.unit.families.items()
        for size, spec in family.sizes.items()
    )


def shelf_lots(case: Case) -> tuple[Lot, ...]:
    """The lots of the shelf file, each with its thickness as measured or as sold."""
    lots = []
    for family, sizes in case.shelf.items():
        for text, written in sizes.items():
            part = find_size(family, case.unit.families[family], text, case.shelf_length)
            lots += [
                Lot(
                    family,
                    part.size,
                    lot.thickness or part.thickness,
                    lot.count - lot.reserved,
                    condition=lot.condition,
                    measured=lot.thickness is not None,
                    gauge=lot.gauge or "",
                    within=lot.within or ZERO,
                    bin=lot.bin or "",
                    lot=lot.lot or "",
                )
                for lot in written
            ]
    return tuple(lot for lot in lots if lot.count)
