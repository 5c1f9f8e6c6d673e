"""The lots that kits take from the shelf, or everything the shelf is short of.

A kit holds new parts only. It names sizes as the unit's file does, whatever a lot's label says. A
part without sizes may lie on the shelf under any size.
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
    """The parts some kits take together, by family and size, and the name they are issued under."""

    unit: Unit
    wanted: Sizes
    name: str

    def size_of(self, part: Part) -> tuple[str, str] | None:
        """Return the family and size a lot is to the kits; None where they do not take it."""
        family = self.unit.families.get(part.family)
        size = ONE_THICKNESS
        if family is not None and family.sizes:
            try:
                size = find_size(part.family, family, part.size, None).size
            except PartError:
                return None
        return (part.family, size) if (part.family, size) in self.wanted else None


def drawn(drawing: KitDemand, balances: Iterable[Balance], shelf: str) -> tuple[Movement, ...]:
    """Choose the lots that leave the shelf for some kits, in the order of bins.

    Parameters
    ----------
    drawing
        The parts that the kits take.
    balances
        The shelf's lots.
    shelf
        The shelf's name for messages.

    Returns
    -------
    tuple of Movement
        An issue for each lot that is drawn from.

    Raises
    ------
    ShortKitError
        With every part of which too few new ones are free.
    """
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
    """Tell whether some movements issue just these kits' parts, from whichever lots."""
    taken: Counter[tuple[str, str] | None] = Counter()
    for movement in movements:
        if movement.kind != "issue" or movement.job != drawing.name:
            return False
        taken[drawing.size_of(movement.part)] += movement.number
    return taken == drawing.wanted
