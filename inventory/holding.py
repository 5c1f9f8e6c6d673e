"""The rules by which a movement changes its lot, or is refused.

    free = on hand - reserved       0 <= reserved <= on hand, after every movement

The same rules work when the ledger is written and when it is verified. That a return takes back no
more than went out is asked only when it is written: older ledgers hold returns that took back more.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, assert_never

from inventory.refusals import Out, Shortage
from inventory.sql import EntryRow

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.movements import Movement, Request
    from inventory.sql import RequestRow

    OutKey = tuple[str, str, str]

BRINGS = ("receive", "return")


@dataclass(slots=True)
class Holding:
    """The state of one lot while movements are applied: on hand, reserved, held for each job."""

    on_hand: int = 0
    reserved: int = 0
    held: dict[str, int] = field(default_factory=dict)

    def shortage(self, movement: Movement) -> Shortage | None:
        """Return how many parts a movement is short of, or None where the lot allows it."""
        if movement.kind in BRINGS:
            return None
        if movement.kind == "count":
            left, enough = self.reserved, movement.number >= self.reserved
        elif movement.kind == "release" or movement.reserved:
            left = self.held.get(movement.job, 0)
            enough = movement.number <= left
        else:
            left = self.on_hand - self.reserved
            enough = movement.number <= left
        if enough:
            return None
        holders = tuple(sorted((job, number) for job, number in self.held.items() if number))
        return Shortage(movement, left, self.on_hand, holders)

    def move(self, movement: Movement) -> tuple[int, int]:
        """Apply a movement to the lot.

        Returns
        -------
        tuple of int
            The change of the parts on hand, and the change of the parts reserved.
        """
        change, holds = self._effect(movement)
        self.on_hand += change
        if holds:
            self.reserved += holds
            self.held[movement.job] = self.held.get(movement.job, 0) + holds
        return change, holds

    def _effect(self, movement: Movement) -> tuple[int, int]:
        number = movement.number
        match movement.kind:
            case "receive" | "return":
                return number, 0
            case "count":
                return number - self.on_hand, 0
            case "reserve":
                return 0, number
            case "release":
                return 0, -number
            case "issue" if movement.reserved:
                return -number, -number
            case "issue" | "scrap":
                return -number, 0
            case _:
                assert_never(movement.kind)


def out_key(movement: Movement) -> OutKey:
    """Return what a return is counted against: its job and its family and size, over all lots."""
    return movement.job, movement.part.family, movement.part.size


def unexplained(movement: Movement, out: Mapping[OutKey, Out]) -> Shortage | None:
    """Return how far a return takes back more than is out, or None."""
    if movement.kind != "return":
        return None
    there = out[out_key(movement)]
    return (
        Shortage(movement, there.number, 0, (), there) if movement.number > there.number else None
    )


def _go(movement: Movement, out: dict[OutKey, Out]) -> None:
    """Count an issue or a return among what is out to its job, and to all."""
    if movement.kind not in ("issue", "return"):
        return
    job, family, size = out_key(movement)
    for key in {(job, family, size), ("", family, size)} & out.keys():
        there, number = out[key], movement.number
        if movement.kind == "issue":
            out[key] = replace(there, issued=there.issued + number)
        else:
            out[key] = replace(there, back=there.back + number)


def worked_through(
    request: Request,
    lots: Sequence[str],
    holdings: dict[str, Holding],
    out: dict[OutKey, Out],
    before: RequestRow,
) -> tuple[list[EntryRow], tuple[Shortage, ...]]:
    """Apply the movements of a request in their order, and write their entries.

    Parameters
    ----------
    request
        The request.
    lots
        The id of the lot of each movement, in the same order.
    holdings
        The state of each lot by its id. The function changes it to the state afterwards.
    out
        What is out, by the job and the size of each return of the request; changed likewise.
    before
        The row of the request before; entries are numbered on from it.

    Returns
    -------
    tuple
        The entries of the movements that their lots allow, and the shortages of the others. The
        caller posts the entries only where there are no shortages.
    """
    rows: list[EntryRow] = []
    shortages: list[Shortage] = []
    for lot, movement in zip(lots, request.movements, strict=True):
        holding = holdings.setdefault(lot, Holding())
        short = holding.shortage(movement) or unexplained(movement, out)
        if short:
            shortages.append(short)
            continue
        _go(movement, out)
        change, holds = holding.move(movement)
        number = before.last + len(rows) + 1
        held = holding.held.get(movement.job, 0)
        rows.append(EntryRow(
            number, before.seq + 1, movement.kind, lot, movement.job, movement.number,
            change, holds, holding.on_hand, holding.reserved, held,
        ))  # fmt: skip
    return rows, tuple(shortages)
