"""The rules by which a movement changes its lot, or is refused.

    free = on hand - reserved       0 <= reserved <= on hand, after every movement

The same rules work when the ledger is written and when it is verified.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, assert_never

from inventory.refusals import Shortage
from inventory.sql import EntryRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.movements import Movement, Request
    from inventory.sql import RequestRow


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


def worked_through(
    request: Request, lots: Sequence[str], holdings: dict[str, Holding], before: RequestRow
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
        short = holding.shortage(movement)
        if short:
            shortages.append(short)
            continue
        change, holds = holding.move(movement)
        number = before.last + len(rows) + 1
        held = holding.held.get(movement.job, 0)
        rows.append(EntryRow(
            number, before.seq + 1, movement.kind, lot, movement.job, movement.number,
            change, holds, holding.on_hand, holding.reserved, held,
        ))  # fmt: skip
    return rows, tuple(shortages)
