"""What to take off the shelf for kits: which lots, or all that the shelf is short of.

A kit holds new parts. Its sizes are called as the unit's file calls them, whatever a lot's label
says; a part without sizes may lie on the shelf as whatever size somebody gave it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.movements import Movement
from inventory.refusals import ShortKitError, ShortPart
from specs.models.kit import ONE_THICKNESS
from specs.parts.lookup import PartError, find_size

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from inventory.movements import Balance, Part
    from specs.models.unit import Unit
    from specs.parts.kit_contents import Sizes


@dataclass(frozen=True, slots=True)
class KitDemand:
    """What some kits take together, by family and size, and under which name it leaves."""

    unit: Unit
    wanted: Sizes
    name: str

    def size_of(self, part: Part) -> tuple[str, str] | None:
        """Which of the kits' sizes a lot is; None for what they do not take."""
        family = self.unit.families.get(part.family)
        size = ONE_THICKNESS
        if family is not None and family.sizes:
            try:
                size = find_size(part.family, family, part.size, None).size
            except PartError:
                return None
        return (part.family, size) if (part.family, size) in self.wanted else None


def drawn(drawing: KitDemand, balances: Iterable[Balance], shelf: str) -> tuple[Movement, ...]:
    """What leaves the shelf, bin by bin; ShortKitError with all that it is short of, or nothing."""
    lots: defaultdict[tuple[str, str], list[Balance]] = defaultdict(list)
    for balance in balances:
        size = drawing.size_of(balance.part)
        if size:
            lots[size].append(balance)
    movements: list[Movement] = []
    short: list[ShortPart] = []
    for size, count in drawing.wanted.items():
        new = sorted((lot for lot in lots[size] if lot.part.condition == "new"), key=_bin)
        free, on_hand = sum(lot.free for lot in new), sum(lot.on_hand for lot in lots[size])
        if free < count:
            short.append(ShortPart(*size, count, free, on_hand, kept=bool(lots[size])))
        movements += _taken(new, count, drawing.name)
    if short:
        raise ShortKitError(shelf, tuple(short))
    return tuple(movements)


def _bin(lot: Balance) -> tuple[str, str, str, str]:
    return lot.part.bin, lot.part.label, lot.part.size, lot.lot_id


def _taken(lots: Iterable[Balance], count: int, name: str) -> Iterator[Movement]:
    for lot in lots:
        number = min(count, lot.free)
        if number:
            yield Movement("issue", lot.part, number, name)
            count -= number


def is_drawn(drawing: KitDemand, movements: Iterable[Movement]) -> bool:
    """Whether some movements are what these kits take, from whichever lots."""
    taken: Counter[tuple[str, str] | None] = Counter()
    for movement in movements:
        if movement.kind != "issue" or movement.job != drawing.name:
            return False
        taken[drawing.size_of(movement.part)] += movement.number
    return taken == drawing.wanted
