"""The service of `shelf reorder`: it keeps below how many free parts a size of a shelf is short."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import uuid4

from gapwright.shelf.names import AS_NEW, Names
from gapwright.shelf.notes import remember, reorder_note, reorder_points
from inventory import open_shelf
from inventory.movements import MOST_AT_ONCE, Request
from inventory.naming import the_lot
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from gapwright.shelf.notes import UnitFile
    from gapwright.shelf.service import Author
    from inventory.naming import PartialName


@dataclass(frozen=True, slots=True)
class ReorderPoint:
    """A size of a shelf, and below how many free parts it is short; 0 where it never is."""

    shelf: str
    family: str
    size: str
    number: int
    before: int
    """The number until now."""
    free: int
    """How many are on hand and reserved for nobody."""

    @property
    def short(self) -> bool:
        """Whether fewer are free."""
        return self.free < self.number


def set_reorder_point(
    address: str,
    wanted: PartialName,
    number: int,
    author: Author,
    *,
    new: bool = False,
    unit: UnitFile | None = None,
) -> ReorderPoint:
    """Keep below how many free parts a size is short.

    Parameters
    ----------
    address
        The address of the ledger.
    wanted
        The family and size, or the code of a lot of that size.
    number
        The size is short where fewer are free; 0 takes its reorder point away.
    author
        Who asks and why.
    new
        Whether a name that is nearly a known one is new all the same.
    unit
        The unit whose names were kept to; the shelf remembers them.

    Raises
    ------
    InputError
        For a number no shelf can have, or a code that no lot has.
    DoubtfulNameError
        Where a name is nearly one that the shelf knows.
    OtherRequestError
        Where the key was posted before for another size or number.
    """
    with open_shelf(address) as shelf:
        if number > MOST_AT_ONCE:
            sentence = f"found {number}; write a whole number from 0 to {MOST_AT_ONCE}"
            raise InputError(Problem(sentence, shelf.name))
        balances = shelf.balances()
        if wanted.lot_id:
            part = the_lot(shelf.name, wanted, balances).part
            named = part.family, part.size
        else:
            names = Names(shelf, balances)
            named = names.called(wanted.family, wanted.size, doubt=not new, advice=AS_NEW)
        before = reorder_points(shelf).get(named, 0)
        if number != before:
            note, key = reorder_note(*named, number), author.key or uuid4().hex
            shelf.post(Request(key, author.who, author.why or "reorder", (), (note,)))
        if unit:
            remember(shelf, *unit, author.who)
        size = (one for one in balances if (one.part.family, one.part.size) == named)
        return ReorderPoint(shelf.name, *named, number, before, sum(one.free for one in size))
