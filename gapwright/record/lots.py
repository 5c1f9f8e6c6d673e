"""The lots of a shelf as records name them: by the unit's sizes, in file and ledger alike."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from specs.models.record import Taken
from specs.parts.lookup import PartError, find_size
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from inventory.movements import Balance
    from specs.models.case import Case
    from specs.values.lengths import Length

LotKey = tuple[str, str, "Length | None", str, str, str]


@dataclass(frozen=True, slots=True)
class KeptLot:
    """A lot of a shelf."""

    part: Taken
    """One of its parts."""
    free: int
    """How many anybody may take."""
    holders: Mapping[str, int] = field(default_factory=dict)
    """How many are reserved, by job."""
    at: tuple[str, str, int] = ("", "", 0)
    """Where it stands in a shelf file: its family, its size as written, its place in the list."""

    def left_for(self, job: str) -> int:
        """Return how many parts a job may take."""
        return self.free + self.holders.get(job, 0)


def lot_key(part: Taken) -> LotKey:
    """Return what tells a lot from others; its count and its code are not part of it."""
    return (
        part.family, part.size, part.thickness, part.condition, part.bin or "", part.lot or "",
    )  # fmt: skip


def in_bin_order(parts: Iterable[Taken]) -> tuple[Taken, ...]:
    """Return parts in the order in which they are fetched: bin by bin."""

    def place(part: Taken) -> tuple[str | Length, ...]:
        return (
            part.bin or "", part.family, part.size, part.thickness or ZERO, part.condition,
            part.lot or "", part.code or "",
        )  # fmt: skip

    return tuple(sorted(parts, key=place))


def by_key(lots: Iterable[KeptLot]) -> dict[LotKey, KeptLot]:
    """Return lots by what tells them apart; of those that nothing does, the first has all parts."""
    found: dict[LotKey, KeptLot] = {}
    for lot in lots:
        first = found.setdefault(lot_key(lot.part), lot)
        if first is not lot:
            holders = dict(Counter(first.holders) + Counter(lot.holders))
            found[lot_key(lot.part)] = replace(first, free=first.free + lot.free, holders=holders)
    return found


def kept_lots(case: Case, balances: Iterable[Balance] | None = None) -> tuple[KeptLot, ...]:
    """Return the lots of a case's shelf, in its order.

    Parameters
    ----------
    case
        The files as read; of its job nothing is looked at.
    balances
        The lots of its ledger; None where the shelf is a file.
    """
    return tuple(_of_file(case) if balances is None else _of_ledger(case, balances))


def _of_file(case: Case) -> Iterator[KeptLot]:
    for family, sizes in case.shelf.items():
        for text, lots in sizes.items():
            size, measured = _size(case, family, text)
            for nth, lot in enumerate(lots):
                part = Taken.model_construct(
                    family=family, size=size, bin=lot.bin, count=1,
                    thickness=lot.thickness or measured, condition=lot.condition, lot=lot.lot,
                )  # fmt: skip
                yield KeptLot(part, lot.count - lot.spoken_for, lot.reserved, (family, text, nth))


def _of_ledger(case: Case, balances: Iterable[Balance]) -> Iterator[KeptLot]:
    for balance in balances:
        lot = balance.part
        size, measured = _size(case, lot.family, lot.size)
        part = Taken.model_construct(
            family=lot.family, size=size, bin=lot.bin or None, count=1,
            thickness=lot.thickness or measured, condition=lot.condition,
            lot=lot.label or None, code=balance.lot_id,
        )  # fmt: skip
        yield KeptLot(part, balance.free, dict(balance.holders))


def _size(case: Case, family: str, text: str) -> tuple[str, Length | None]:
    """Return a size as the unit calls it, and its thickness where the text is another one."""
    known = case.unit.families.get(family)
    if known is None or not known.sizes:
        return text, None
    try:
        found = find_size(family, known, text, None if case.ledger else case.shelf_length)
    except PartError:
        return text, None
    as_sold = found.thickness == known.sizes[found.size].nominal
    return found.size, None if as_sold else found.thickness
