"""The stock of a job: the parts on hand in a shelf file or a ledger, and the sizes to be bought."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import inventory

if TYPE_CHECKING:
    from inventory.chain import Link
    from inventory.movements import Balance
    from specs.models.case import Case
    from specs.models.lot import Lot


@dataclass(frozen=True, slots=True)
class Stock:
    """The stock of a job: the lots it may take, and the sizes that could be bought."""

    on_hand: tuple[Lot, ...]
    for_sale: tuple[Lot, ...]
    """Every size the unit is made in, none of it on hand."""
    set_aside: tuple[Balance, ...] = ()
    """Lots of a ledger that are called a size their family does not have in this unit."""
    link: Link | None = None
    """The last link of a ledger when it was looked at."""

    @property
    def all(self) -> tuple[Lot, ...]:
        """All lots that a solve chooses from."""
        return (*self.on_hand, *self.for_sale)


def stock_of(case: Case, gaps: tuple[str, ...]) -> Stock:
    """Read the shelf of a job once, and return its stock for some gaps.

    Raises InputError where the shelf cannot be read or contradicts the unit.
    """
    return Shelves().stock(case, gaps)


class Shelves:
    """The shelves of jobs that are solved together, each as it stood when it was first read."""

    def __init__(self) -> None:
        self._seen: dict[str, tuple[Link | None, tuple[Balance, ...]]] = {}

    def stock(self, case: Case, gaps: tuple[str, ...], *, apart: bool = True) -> Stock:
        """Return the stock of one of the jobs for some gaps. Raises InputError as `stock_of`.

        Parts of the shelf that lie in the trial build are lots of their own, unless not `apart`.
        """
        for_sale = inventory.catalogue(case)
        if not case.ledger:
            return Stock(inventory.on_hand(case, gaps, apart=apart), for_sale)
        if case.ledger not in self._seen:
            with inventory.open_shelf(case.ledger) as shelf:
                _, link = shelf.end()
                self._seen[case.ledger] = link, shelf.balances()
        link, balances = self._seen[case.ledger]
        on_hand = inventory.on_hand(case, gaps, balances, apart=apart)
        return Stock(on_hand, for_sale, inventory.unknown_sizes(case, balances), link)
