"""The stock of a job: the parts on hand in a shelf file or a ledger, and the sizes to be bought."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import inventory
from gapwright.record.book import read_book
from gapwright.record.issued import beside_listed

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Sequence

    from gapwright.record.book import Book
    from inventory.chain import Link
    from inventory.movements import Balance, Part
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
    issued: int = 0
    """How many parts the ledger has as issued to the job and not returned."""

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

    def __init__(self, *, of_many: bool = False) -> None:
        """Begin with nothing read; `of_many` where the jobs are of several names."""
        self._of_many = of_many
        self._books: dict[str, Book] = {}

    def book(self, case: Case) -> Book | None:
        """Return what a job's ledger holds of it; None for a shelf file."""
        if not case.ledger:
            return None
        if case.ledger not in self._books:
            self._books[case.ledger] = read_book(
                case.ledger, "" if self._of_many else case.job.name
            )
        return self._books[case.ledger]

    def stock(self, case: Case, gaps: tuple[str, ...]) -> Stock:
        """Return the stock of one of the jobs for some gaps. Raises InputError as `stock_of`."""
        book = self.book(case)
        if book is None:
            return _stock(case, inventory.on_hand(case, gaps), None)
        issued = _at_hand(case, gaps, book)
        return _stock(case, inventory.on_hand(case, gaps, book.balances, issued), book)

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
        book = self.book(jobs[0][0])
        if book is None:
            lots = inventory.on_hand_together(jobs)
        else:
            issued = [_at_hand(case, gaps, book) for case, gaps in jobs]
            lots = inventory.on_hand_together(jobs, book.balances, issued)
        return [_stock(case, mine, book) for (case, _), mine in zip(jobs, lots, strict=True)]


def _at_hand(case: Case, gaps: tuple[str, ...], book: Book) -> Counter[Part]:
    """Count the parts issued to a job that it does not list as in the unit."""
    name = case.job.name
    issued = book.issued(name)
    promised = book.promised(name) if issued else None
    if promised and promised.unit != case.unit.name:
        promised = None
    return beside_listed(case, gaps, issued, promised)


def _stock(case: Case, on_hand: tuple[Lot, ...], book: Book | None) -> Stock:
    for_sale = inventory.catalogue(case)
    if book is None:
        return Stock(on_hand, for_sale)
    issued = book.issued(case.job.name).total()
    return Stock(on_hand, for_sale, inventory.unknown_sizes(case, book.balances), book.link, issued)
