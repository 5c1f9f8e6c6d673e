"""What is on hand by family and size, and what moved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
    """What is on hand, as of the last entry and link there were."""

    shelf: str
    entry: int
    link: Link | None
    """None where nothing was posted yet."""
    sizes: Sizes
    """Each family and size with its lots."""


@dataclass(frozen=True, slots=True)
class HistoryList:
    """What moved, as of the last link there was."""

    shelf: str
    link: Link | None
    entries: tuple[Entry, ...]


def listed(
    address: str, family: str = "", unit: Path | None = None, *, gone: bool = False
) -> OnHandList:
    """List what is on hand of a shelf, or of one of its families.

    `gone` lists sizes that are used up as well, and a unit those it is made in.
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
    asked = {key: lots for key, lots in sorted(sizes.items()) if family in ("", key[0])}
    return OnHandList(name, entry, link, tuple((*key, tuple(lots)) for key, lots in asked.items()))


def told(address: str, family: str = "", size: str = "", job: str = "") -> HistoryList:
    """Tell what moved: all, of a family or a size, of a lot by its code, of a job."""
    with open_shelf(address) as shelf:
        _, link = shelf.end()
        code = family.upper() if CODE.fullmatch(family.upper()) else ""
        entries = shelf.history(lot=code, job=job)
        parts = ((entry, entry.movement.part) for entry in entries)
        asked = [
            entry for entry, part in parts
            if code or (family in ("", part.family) and size in ("", part.size))
        ]  # fmt: skip
        return HistoryList(shelf.name, link, tuple(asked))


def _sizes_of(unit: Path | None) -> list[tuple[str, str]]:
    if unit is None:
        return []
    families = read_unit(unit)[0].families
    return [(name, size) for name, family in families.items() for size in family.sizes]
