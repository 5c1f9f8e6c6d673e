"""The service of `kit pack`: it draws kits from a shelf's ledger in one request, or nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import uuid4

from gapwright.shelf.notes import remember
from gapwright.shelf.service import Posted, other_request
from inventory import open_shelf
from inventory.kits import KitDemand, drawn, is_drawn
from inventory.movements import Request
from inventory.refusals import (
    ChangedShelfError,
    OtherRequestError,
    ShortKitError,
    ShortShelfError,
)
from specs.errors import InputError, Problem
from specs.files.shelf_address import is_ledger
from specs.findings import near
from specs.parts.kit_contents import all_held, check_options, kit_of

if TYPE_CHECKING:
    from gapwright.shelf.service import Author
    from inventory import Shelf
    from inventory.movements import Entry
    from specs.models.case import Case
    from specs.parts.kit_contents import Sizes
    from specs.values.lengths import LengthUnit

MOST_TRIES = 5


@dataclass(frozen=True, slots=True)
class Packing:
    """A request to pack kits: how many, with which options, and the name they are issued under."""

    case: Case
    count: int = 1
    options: tuple[str, ...] = ()
    by_hand: tuple[str, ...] = ()
    """Parts that the shelf does not keep, and somebody puts in."""
    job: str = ""
    """The kit's own name unless stated."""

    @property
    def name(self) -> str:
        """The name under which the parts leave the shelf."""
        return self.job or kit_of(self.case).name


@dataclass(frozen=True, slots=True)
class Packed:
    """The ledger's entries for packed kits, and the parts still to be put in by hand."""

    packing: Packing
    posted: Posted
    by_hand: Sizes

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.packing.case.length


def pack_kits(packing: Packing, address: str, author: Author) -> Packed:
    """Draw kits from a ledger, all of them or none; a request with the same key is posted once.

    Parameters
    ----------
    packing
        The kits to pack.
    address
        The address of the ledger.
    author
        Who asks, why, and the key of the request.

    Returns
    -------
    Packed
        The entries that were posted, and the parts to put in by hand.

    Raises
    ------
    ShortKitError
        With every part that the shelf is short of.
    OtherRequestError
        Where the key was posted before with other movements.
    InputError
        For an option or a part the kit does not have, or an address that is no ledger.
    """
    check_options(packing.case, packing.options)
    if not is_ledger(address):
        sentence = "is no ledger: gapwright shelf init shop.db, and name it with --shelf shop.db"
        raise InputError(Problem(sentence, address))
    from_shelf, by_hand = _wanted(packing)
    drawing = KitDemand(packing.case.unit, from_shelf, packing.name)
    with open_shelf(address) as shelf:
        posted = _posted(shelf, drawing, author, packing)
        remember(shelf, packing.case.unit, packing.case.origins["unit"], author.who)
        return Packed(packing, posted, by_hand)


def _wanted(packing: Packing) -> tuple[Sizes, Sizes]:
    """Return the parts asked of the shelf, and those that somebody puts in by hand."""
    one = all_held(packing.case, packing.options)
    names = list(dict.fromkeys(name for name, _ in one))
    unknown = [name for name in packing.by_hand if name not in names]
    if unknown:
        raise InputError(*(Problem(f"--by-hand: {near(n, names, 'in the kit')}") for n in unknown))
    wanted = Counter({size: number * packing.count for size, number in one.items()})
    by_hand = Counter({size: n for size, n in wanted.items() if size[0] in packing.by_hand})
    if by_hand == wanted:
        raise InputError(Problem("all of the kit is put in by hand; nothing is left to draw"))
    return wanted - by_hand, by_hand


def _posted(shelf: Shelf, drawing: KitDemand, author: Author, packing: Packing) -> Posted:
    key = author.key or uuid4().hex
    why = author.why or f"packed {packing.count} x {kit_of(packing.case).name}"
    for _ in range(MOST_TRIES):
        before = shelf.history(key=key)
        if before:
            return _again(shelf, drawing, key, before)
        try:
            movements = drawn(drawing, shelf.balances(), shelf.name)
            receipt = shelf.post(Request(key, author.who, why, movements))
        except (ShortShelfError, OtherRequestError):
            continue  # somebody took of these lots meanwhile, or posted this very request
        except ShortKitError:
            if shelf.history(key=key):
                continue  # what is short went out under this very key
            raise
        entries = shelf.history(key=key, after=receipt.first - 1)
        return Posted(shelf.name, entries, receipt.again)
    raise ChangedShelfError(shelf.name, "moves all the time; nothing was drawn, try again")


def _again(shelf: Shelf, drawing: KitDemand, key: str, before: tuple[Entry, ...]) -> Posted:
    """Return the entries posted under a key before.

    OtherRequestError where they are not these kits.
    """
    if not is_drawn(drawing, (entry.movement for entry in before)):
        raise other_request(shelf, key)
    return Posted(shelf.name, before, again=True)
