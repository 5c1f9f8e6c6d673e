"""The lists of a shelf: the parts on hand by family and size, and their movements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.shelf.names import Names
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

Sizes = tuple[tuple[str, str, tuple["Balance", ...]], ...]


@dataclass(frozen=True, slots=True)
class OnHandList:
    """The parts on hand, with the last entry and link at that moment."""

    shelf: str
    entry: int
    link: Link | None
    """None where nothing was posted yet."""
    sizes: Sizes
    """Each family and size with its lots."""


@dataclass(frozen=True, slots=True)
class HistoryList:
    """The movements of a shelf, with the last link at that moment."""

    shelf: str
    link: Link | None
    entries: tuple[Entry, ...]


def on_hand_list(
    address: str, family: str = "", unit: Path | None = None, *, gone: bool = False
) -> OnHandList:
    """List the parts on hand of a shelf, or of one of its families.

    Parameters
    ----------
    address
        The address of the ledger.
    family
        Only this family; empty for all.
    unit
        A unit's file, whose sizes are listed even where none is on hand.
    gone
        Whether to list sizes that are used up as well.

    Raises
    ------
    InputError
        Where there is no such family.
    """
    with open_shelf(address) as shelf:
        entry, link = shelf.end()
        balances = sorted(shelf.balances(), key=in_order)
        name = shelf.name
    sizes: dict[tuple[str, str], list[Balance]] = {}
    for known in _sizes_of(unit):
        sizes[known] = []
    for balance in balances:
        part = balance.part
        if gone or balance.on_hand:
            lots = sizes.setdefault((part.family, part.size), [])
            lots += [balance] if balance.on_hand else []
    families = {known for known, _ in sizes}
    if family and family not in families:
        raise InputError(Problem(near(family, sorted(families), "families on hand"), name))
    chosen = {key: lots for key, lots in sorted(sizes.items()) if family in ("", key[0])}
    return OnHandList(name, entry, link, tuple((*key, tuple(lots)) for key, lots in chosen.items()))


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
