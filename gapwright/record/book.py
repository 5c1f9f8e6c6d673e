"""The book: all that a ledger holds of its jobs, read once.

Of each job it has the promise, how it was closed, what is reserved for it, and what went out to it
and did not come back.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from inventory import open_shelf
from specs.files.notes import CLOSED, PROMISE, closed_in, promised_in

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.chain import Link
    from inventory.movements import Balance, Part, PostedNote
    from specs.models.record import Closed, Promised


@dataclass(slots=True)
class Account:
    """What a ledger holds of one job; lots by their codes."""

    held: Counter[str] = field(default_factory=Counter)
    """What is reserved for it."""
    out: Counter[str] = field(default_factory=Counter)
    """What was issued to it and has not come back."""
    by_hand: Counter[str] = field(default_factory=Counter)
    """As `out`, without what was posted when it was closed."""
    promise: PostedNote | None = None
    closings: list[PostedNote] = field(default_factory=list)
    """How it was closed, and each correction; the last one stands."""
    promised: Promised | None = None
    """What the promise says, once it was read."""


@dataclass(frozen=True, slots=True)
class Book:
    """What a ledger holds of its jobs, as it was read."""

    shelf: str
    """The ledger's name, for messages."""
    revision: int
    """The number of the ledger's last entry before it was read."""
    balances: tuple[Balance, ...]
    """Every lot there ever was."""
    accounts: Mapping[str, Account]
    """By the job's name."""

    link: Link | None = None
    """The last link of the ledger then."""

    def account(self, job: str) -> Account:
        """Return what the ledger holds of a job."""
        return self.accounts.get(job) or Account()

    def promised(self, job: str) -> Promised | None:
        """Return the promise that stands; raise InputError where it was changed by hand."""
        account = self.account(job)
        if account.promise and account.promised is None:
            account.promised = promised_in(account.promise.note.text, self.shelf)
        return account.promised

    def issued(self, job: str) -> Counter[Part]:
        """Count by lot the parts that were issued to a job and have not come back.

        What came back into another lot, to another bin or as used, is one of its size.
        """
        parts = {balance.lot_id: balance.part for balance in self.balances}
        out = Counter({parts[lot]: number for lot, number in self.account(job).out.items()})
        for other, back in (-out).items():
            for part in [*out]:
                if (part.family, part.size) == (other.family, other.size) and out[part] > 0:
                    some = min(out[part], back)
                    out[part] -= some
                    back -= some  # noqa: PLW2901 - what is left of it
        return +out

    def closed(self, job: str) -> Closed | None:
        """Return how a job was closed; raise InputError where that cannot be read."""
        notes = self.account(job).closings
        return closed_in(notes[-1].note.text, self.shelf) if notes else None


def read_book(address: str, job: str = "") -> Book:
    """Read what a ledger holds of its jobs.

    Parameters
    ----------
    address
        The address of the ledger.
    job
        Only what it holds of this job; its lots are all there.

    Raises
    ------
    ShelfError
        Where there is no ledger, or none that can be read.
    """
    with open_shelf(address) as shelf:
        revision, link = shelf.end()
        balances = shelf.balances()
        moved = [
            (sign, entry)
            for kind, sign in (("issue", 1), ("return", -1))
            for entry in shelf.history(job=job, kind=kind)
        ]
        promises = shelf.notes(PROMISE, job)
        closings = shelf.notes(CLOSED, job, every=True)
        name = shelf.name
    accounts: dict[str, Account] = {}
    for balance in balances:
        for holder, number in balance.holders:
            if holder == job or not job:
                accounts.setdefault(holder, Account()).held[balance.lot_id] = number
    for note in promises:
        accounts.setdefault(note.note.about, Account()).promise = note
    for note in closings:
        accounts.setdefault(note.note.about, Account()).closings.append(note)
    closing = {note.key for note in closings}
    for sign, entry in moved:
        account, lot = (
            accounts.setdefault(entry.movement.job, Account()),
            entry.movement.part.lot_id,
        )
        account.out[lot] += sign * entry.movement.number
        if entry.key not in closing:
            account.by_hand[lot] += sign * entry.movement.number
    return Book(name, revision, balances, accounts, link)
