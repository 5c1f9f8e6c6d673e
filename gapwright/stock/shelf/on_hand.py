"""What is on hand already, so that only the difference is ordered."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from gapwright.shelf.on_hand import stock_of
from specs.files.read import read_shelf

if TYPE_CHECKING:
    from pathlib import Path


def on_hand(unit: Path, shelf: str | None) -> dict[tuple[str, str], int] | None:
    """How many of each size are free on a shelf, new and as sold or not; None without a shelf.

    Raises InputError where the shelf cannot be read or contradicts the unit.
    """
    if shelf is None:
        return None
    case = read_shelf(unit, None, shelf)
    found: Counter[tuple[str, str]] = Counter()
    for lot in stock_of(case, ()).on_hand:
        found[lot.family, lot.size] += lot.count
    return dict(found)
