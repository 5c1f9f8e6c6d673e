"""Counts of lots as a shelf file: read for a ledger, and written from one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inventory.counted import Counted, exact
from inventory.movements import Part
from specs.errors import InputError
from specs.files.read import shelf_of
from specs.formats.yaml import parse
from specs.formats.yaml_edit import with_values
from specs.formats.yaml_text import written
from specs.values.lengths import LengthError
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.movements import Balance
    from specs.models.shelf import ShelfLot
    from specs.values.lengths import LengthUnit


Place = tuple[str, str, int]
"""Where a lot stands in a shelf file: its family, its size as written, its place in the list."""


def read_shelf_file(raw: bytes, file: str) -> list[Counted]:
    """Read the lots of a shelf file. Raises InputError with all that is wrong with it."""
    shelf, origin = shelf_of(raw, file)
    found, problems = [], []
    for family, sizes in shelf.items():
        for size, lots in sizes.items():
            line = origin.problem((family, size), "").line
            for lot in lots:
                counted = _counted(family, size, lot, line)
                slips = [*counted.problems(), *_out_of_proportion(lot)]
                problems += [origin.problem((family, size), slip) for slip in slips]
                found.append(counted)
    if problems:
        raise InputError(*problems)
    return found


def _counted(family: str, size: str, lot: ShelfLot, line: int) -> Counted:
    part = Part(family, size, lot.thickness, lot.condition, lot.bin or "", lot.lot or "")
    reserved = {job: number for job, number in lot.reserved.items() if number}
    return Counted(part, lot.count, reserved, line)


def _out_of_proportion(lot: ShelfLot) -> list[str]:
    if lot.thickness:
        try:
            check_proportion(lot.thickness, "part", exact(lot.thickness, "mm"), "mm")
        except LengthError as error:
            return [str(error)]
    return []


def recounted(
    text: str,
    file: str,
    counts: Mapping[Place, int],
    reserved: Mapping[Place, Mapping[str, int]] | None = None,
) -> str:
    """Replace counts in a shelf file's text, and keep every other character of it.

    Parameters
    ----------
    text
        The file's text.
    file
        The file's name, for messages.
    counts
        The new counts by family, size as the file writes it, and position of the lot, 0 the first.
    reserved
        How many are reserved for which job from now on, likewise, of lots that had some reserved.
    """
    shelf = parse(text, file).data["shelf"]
    changes: dict[tuple[str | int, ...], Any] = {
        _count_at(shelf, *lot): number for lot, number in counts.items()
    }
    for lot, holders in (reserved or {}).items():
        changes[(*_count_at(shelf, *lot)[:-1], "reserved")] = dict(holders) or None
    return with_values(text, changes, file)


def _count_at(shelf: dict[str, Any], family: str, size: str, nth: int) -> tuple[str | int, ...]:
    """Return the path to a lot's count, which stands alone, in a mapping, or in a list of them."""
    path: tuple[str | int, ...] = ("shelf", family, size)
    lot = shelf[family][size]
    if isinstance(lot, list):
        path, lot = (*path, nth), lot[nth]
    return (*path, "count") if isinstance(lot, dict) else path


def write_shelf_file(balances: Iterable[Balance], unit: LengthUnit, file: str) -> str:
    """Write lots as a shelf file that `fit --shelf` and `read_shelf_file` read.

    Parameters
    ----------
    balances
        The lots.
    unit
        The unit of length for thicknesses.
    file
        The file's name, for messages.

    Raises
    ------
    InputError
        Where the shelf is larger than a shelf file may be.
    """
    shelf: dict[str, dict[str, Any]] = {}
    for balance in balances:
        part = balance.part
        shelf.setdefault(part.family, {}).setdefault(part.size, []).append(_lot(balance, unit))
    for sizes in shelf.values():
        for size, lots in sizes.items():
            sizes[size] = lots[0] if len(lots) == 1 else lots
    text = written({"shelf": shelf})
    parse(text, file)
    return text


def _lot(balance: Balance, unit: LengthUnit) -> Any:  # noqa: ANN401 - a count, or a mapping
    part = balance.part
    lot: dict[str, Any] = {"count": balance.on_hand}
    if part.thickness:
        lot["thickness"] = exact(part.thickness, unit)
    if part.condition == "used":
        lot["condition"] = "used"
    lot |= {key: text for key, text in (("bin", part.bin), ("lot", part.label)) if text}
    if balance.holders:
        lot["reserved"] = dict(balance.holders)
    return lot if len(lot) > 1 else balance.on_hand
