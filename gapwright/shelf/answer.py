"""The JSON of the `shelf` commands, each key declared once."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Literal

from gapwright.output.answers import Answer, key
from inventory.movements import KINDS, Kind
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.shelf.listing import SizeOnHand
    from inventory.chain import Link
    from inventory.movements import Balance


def _families(sizes: Iterable[SizeOnHand], low: int) -> Iterator[OnHandFamilyAnswer]:
    for family, group in groupby(sizes, key=lambda size: size.family):
        here = [OnHandSizeAnswer(size, below=low) for size in group]
        yield OnHandFamilyAnswer(family=family, sizes=here)


def _lots(lots: Iterable[Balance]) -> list[LotOnHandAnswer]:
    return [LotOnHandAnswer(one.part, balance=one) for one in lots]


class LotAnswer(Answer):
    """A lot of a shelf's ledger: its code and what makes it."""

    code: str = key(lambda part: part.lot_id)
    """The short code on the lot's label, made from the lot itself."""
    family: str
    """The family, as the shelf names it."""
    size: str
    """The size, as the shelf names it."""
    thickness: Length | None
    """The thickness as measured; null for parts taken as sold."""
    condition: Literal["new", "used"]
    """Whether its parts are new or were in a unit."""
    bin: str | None
    """The bin it lies in."""
    lot: str | None = key(lambda part: part.label)
    """The shop's own label for it."""


class HolderAnswer(Answer):
    """Parts of a lot that are kept for a job."""

    job: str
    """The job."""
    number: int
    """How many."""


class LotOnHandAnswer(LotAnswer):
    """A lot of a shelf's ledger, and how it stands."""

    on_hand: int = key(lambda balance: balance.on_hand)
    """How many are on hand."""
    free: int = key(lambda balance: balance.free)
    """How many of them are kept for nobody."""
    reserved: list[HolderAnswer] = key(
        lambda balance: [HolderAnswer(job=job, number=number) for job, number in balance.holders]
    )
    """How many are kept for which job."""


class OnHandSizeAnswer(Answer):
    """What is on hand of one size; none, where it has a history or a reorder point alone."""

    size: str
    """The size."""
    on_hand: int
    """How many are on hand."""
    free: int
    """How many of them are kept for nobody."""
    low: bool = key(lambda size, below: size.free < below)
    """Whether fewer are free than was asked with `--low`."""
    reorder_below: int | None
    """Its reorder point: it is short where fewer are free; null where it has none."""
    short: bool
    """Whether fewer are free than its reorder point says."""
    lots: list[LotOnHandAnswer] = key(lambda size: _lots(size.lots))
    """Its lots with parts on hand."""


class OnHandFamilyAnswer(Answer):
    """What is on hand of one family."""

    family: str
    """The family."""
    sizes: list[OnHandSizeAnswer]
    """Its sizes."""


class LinkAnswer(Answer):
    """How far a ledger went, to be held against it later with `shelf verify --link`."""

    number: int
    """The number of its last request."""
    hash: str
    """The hash of that request and of all before."""


def _link(link: Link | None) -> LinkAnswer | None:
    return LinkAnswer(link) if link else None


class OnHandAnswer(Answer, shape="gapwright shelf 2"):
    """What is on hand."""

    shelf: str
    """The shelf."""
    entry: int
    """The last entry of its ledger, to be named with `--seen`."""
    last_link: LinkAnswer | None = key(lambda listed: _link(listed.link))
    """The last link of its ledger; null where nothing was posted."""
    families: list[OnHandFamilyAnswer] = key(lambda listed, low: [*_families(listed.sizes, low)])
    """The families that ever had a lot, or have a reorder point, by name."""


class EntryAnswer(Answer):
    """One movement as the ledger has it."""

    entry: int = key(lambda entry: entry.number)
    """Its number in the order of the ledger, from 1."""
    time: str = key(lambda entry: entry.time.isoformat())
    """When it was posted, in UTC."""
    request: str = key(lambda entry: entry.key)
    """The key of the request it is of."""
    who: str
    """Who did it."""
    why: str
    """Why, in a few words."""
    kind: Kind = key(lambda entry: entry.movement.kind)
    """What was done."""
    part: LotAnswer = key(lambda entry: LotAnswer(entry.movement.part))
    """The lot."""
    number: int = key(lambda entry: entry.movement.number)
    """How many parts."""
    job: str | None = key(lambda entry: entry.movement.job)
    """For which job."""
    of_reserved: bool = key(lambda entry: entry.movement.reserved)
    """Whether they had been kept for it."""
    change: int
    """How many more are on hand; of a count what the books were short of."""
    on_hand: int
    """How many of the lot were on hand afterwards."""
    reserved: int
    """How many of these were kept for jobs."""
    link: str
    """The hash of its request and of all requests before."""


class ShelfHistoryAnswer(Answer, shape="gapwright shelf history 1"):
    """What moved."""

    shelf: str
    """The shelf."""
    last_link: LinkAnswer | None = key(lambda history: _link(history.link))
    """The last link of its ledger; null where nothing was posted."""
    entries: list[EntryAnswer] = key(lambda history: [*map(EntryAnswer, history.entries)])
    """The movements in the order of the ledger."""


class PostedAnswer(Answer, shape="gapwright shelf posted 1"):
    """What the ledger has of a request."""

    shelf: str
    """The shelf."""
    again: bool
    """Whether the request had come before; then nothing was posted twice."""
    new_lot: bool = key(lambda posted: posted.new)
    """Whether its lot was not there before."""
    entries: list[EntryAnswer] = key(lambda posted: [*map(EntryAnswer, posted.entries)])
    """Its movements."""


class ReorderAnswer(Answer, shape="gapwright shelf reorder 1"):
    """The reorder point of a size."""

    shelf: str
    """The shelf."""
    family: str
    """The family."""
    size: str
    """The size."""
    reorder_below: int | None = key(lambda point: point.number or None)
    """It is short where fewer are free; null where it has no reorder point any more."""
    free: int
    """How many are on hand and kept for nobody."""
    short: bool
    """Whether fewer are free than that."""


class ChangedLotAnswer(Answer):
    """What a file changes of one lot."""

    part: LotAnswer = key(lambda change: LotAnswer(change.part))
    """The lot."""
    before: int
    """How many were on hand."""
    after: int
    """How many are then."""


class ImportedAnswer(Answer, shape="gapwright shelf import 1"):
    """What a file of counts changes."""

    shelf: str
    """The shelf."""
    file: str
    """The file."""
    mode: Literal["count", "add"]
    """Whether it is a recount or a delivery."""
    dry_run: bool = key(lambda imported: imported.dry)
    """Whether nothing was posted."""
    posted_before: str | None = key(
        lambda imported: imported.again.isoformat() if imported.again else None
    )
    """When the very same file had been posted before, in UTC."""
    lots: list[ChangedLotAnswer] = key(lambda imported: [*map(ChangedLotAnswer, imported.changes)])
    """The lots of the file, in its order; also those that stay."""
    not_in_the_file: list[LotOnHandAnswer] = key(lambda imported: _lots(imported.untold))
    """Lots on the shelf that the file does not list: they stay as they are."""
    reserved: int
    """How many reservations came along, to a shelf that was empty."""
    reservations_left_out: int = key(lambda imported: imported.left_out)
    """How many the shelf, not being empty, did not take."""


class VerifiedAnswer(Answer, shape="gapwright shelf verify 1"):
    """That the ledger follows from its beginning, and what it holds."""

    shelf: str
    """The shelf."""
    requests: int
    """How many requests."""
    entries: int
    """How many movements."""
    lots: int
    """How many lots there ever were."""
    notes: int
    """How many notes it keeps beside its movements."""
    link: str | None
    """The hash of all requests, worth writing down; null for an empty ledger."""


COMMANDS: dict[Kind, str] = {kind: kind for kind in KINDS} | {"receive": "add"}
"""The command that posts a movement of each kind."""
ANSWERS = {
    "shelf list": (OnHandAnswer,),
    "shelf history": (ShelfHistoryAnswer,),
    **{f"shelf {command}": (PostedAnswer,) for command in COMMANDS.values()},
    "shelf import": (ImportedAnswer,),
    "shelf reorder": (ReorderAnswer,),
    "shelf verify": (VerifiedAnswer,),
}
