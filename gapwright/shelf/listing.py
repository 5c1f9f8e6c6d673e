"""The lists of a shelf: the parts on hand by family and size, and their movements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.shelf.names import Names
from gapwright.shelf.notes import reorder_points
from gapwright.shelf.service import in_order
from gapwright.shelf.typed_part import CODE
from inventory import open_shelf
from specs.errors import InputError, Problem
from specs.files.read import read_unit
from specs.findings import near

if TYPE_CHECKING:
    from pathlib import Path

    from inventory.chain import Link
    from inventory.movements import Balance, Entry


@dataclass(frozen=True, slots=True)
class SizeOnHand:
    """A size of a shelf: its lots with parts on hand, and what else is known of it."""

    family: str
    size: str
    lots: tuple[Balance, ...]
    used_up: tuple[Balance, ...] = ()
    """Its lots that have no parts any more."""
    reorder_below: int | None = None
    """The size is short where fewer are free; None without a reorder point."""

    @property
    def on_hand(self) -> int:
        """How many are on hand."""
        return sum(lot.on_hand for lot in self.lots)

    @property
    def free(self) -> int:
        """How many of them are reserved for nobody."""
        return sum(lot.free for lot in self.lots)

    @property
    def short(self) -> bool:
        """Whether fewer are free than its reorder point asks for."""
        return self.free < (self.reorder_below or 0)


@dataclass(frozen=True, slots=True)
class OnHandList:
    """The parts on hand, with the last entry and link at that moment."""

    shelf: str
    entry: int
    link: Link | None
    """None where nothing was posted yet."""
    sizes: tuple[SizeOnHand, ...]
    """Each size that ever had a lot, or has a reorder point, by family and size."""


@dataclass(frozen=True, slots=True)
class HistoryList:
    """The movements of a shelf, with the last link at that moment."""

    shelf: str
    link: Link | None
    entries: tuple[Entry, ...]


def on_hand_list(address: str, family: str = "", unit: Path | None = None) -> OnHandList:
    """List the sizes of a shelf, or of one of its families, with the parts on hand.

    Parameters
    ----------
    address
        The address of the ledger.
    family
        Only this family; empty for all.
    unit
        A unit's file, whose sizes are listed even where there never was any.

    Raises
    ------
    InputError
        Where there is no such family.
    """
    with open_shelf(address) as shelf:
        entry, link = shelf.end()
        balances = sorted(shelf.balances(), key=in_order)
        name, points = shelf.name, reorder_points(shelf)
    lots: dict[tuple[str, str], list[Balance]] = {size: [] for size in (*_sizes_of(unit), *points)}
    for balance in balances:
        lots.setdefault((balance.part.family, balance.part.size), []).append(balance)
    families = {known for known, _ in lots}
    if family and family not in families:
        raise InputError(Problem(near(family, sorted(families), "families on hand"), name))
    chosen = {size: mine for size, mine in sorted(lots.items()) if family in ("", size[0])}
    sizes = (
        SizeOnHand(
            *size,
            tuple(one for one in mine if one.on_hand),
            tuple(one for one in mine if not one.on_hand),
            points.get(size),
        )
        for size, mine in chosen.items()
    )
    return OnHandList(name, entry, link, tuple(sizes))


def history_list(address: str, family: str = "", size: str = "", job: str = "") -> HistoryList:
    """List the movements of a shelf, or of a part of it.

    Parameters
    ----------
    address
        The address of the ledger.
    family
        Only this family, or the lot with this code; empty for all.
    size
        Only this size; empty for all.
    job
        Only movements for this job; empty for all.
    """
    with open_shelf(address) as shelf:
        _, link = shelf.end()
        code = family.upper() if CODE.fullmatch(family.upper()) else ""
        if not code:
            family, size = Names(shelf, shelf.balances()).called(family, size, doubt=False)
        entries = shelf.history(lot=code, job=job)
        parts = ((entry, entry.movement.part) for entry in entries)
        chosen = [
            entry for entry, part in parts
            if code or (family in ("", part.family) and size in ("", part.size))
        ]  # fmt: skip
        return HistoryList(shelf.name, link, tuple(chosen))


def _sizes_of(unit: Path | None) -> list[tuple[str, str]]:
    if unit is None:
        return []
    families = read_unit(unit)[0].families
    return [(name, size) for name, family in families.items() for size in family.sizes]
