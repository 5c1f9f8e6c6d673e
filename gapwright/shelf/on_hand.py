"""The stock of a job: the parts on hand in a shelf file or a ledger, and the sizes to be bought."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import inventory

if TYPE_CHECKING:
    from collections.abc import Sequence

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

    def stock(self, case: Case, gaps: tuple[str, ...]) -> Stock:
        """Return the stock of one of the jobs for some gaps. Raises InputError as `stock_of`."""
        link, balances = self._read(case.ledger)
        return _stock(case, inventory.on_hand(case, gaps, balances), link, balances)

    def common_stock(self, jobs: Sequence[tuple[Case, tuple[str, ...]]]) -> list[Stock]:
        """Return the stock of each of several jobs of one shelf, all drawing on the same lots.

        Parameters
        ----------
        jobs
            Each job's files as read, with the names of the gaps that are built now.

        Raises
        ------
        InputError
            As `stock_of`.
        """
        link, balances = self._read(jobs[0][0].ledger)
        lots = inventory.on_hand_together(jobs, balances)
        return [
            _stock(case, mine, link, balances) for (case, _), mine in zip(jobs, lots, strict=True)
        ]

    def _read(self, ledger: str) -> tuple[Link | None, tuple[Balance, ...] | None]:
        """Read a ledger once; nothing for a shelf file, which is read with its job."""
        if not ledger:
            return None, None
        if ledger not in self._seen:
            with inventory.open_shelf(ledger) as shelf:
                _, link = shelf.end()
                self._seen[ledger] = link, shelf.balances()
        return self._seen[ledger]


def _stock(
    case: Case, on_hand: tuple[Lot, ...], link: Link | None, balances: tuple[Balance, ...] | None
) -> Stock:
    set_aside = inventory.unknown_sizes(case, balances or ())
    return Stock(on_hand, inventory.catalogue(case), set_aside, link)
