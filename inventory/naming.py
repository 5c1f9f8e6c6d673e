"""The part a person means: its names in the unit's file, and its lot on the shelf.

A lot has a family, a size, a thickness, a condition, a bin and a label, and nobody types all of
them. Each value that is given rules lots out. One lot must be left, otherwise the question goes
back with the lots that are possible.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from inventory.movements import Part
from specs.checks.shelf import mistaken
from specs.errors import InputError, Problem
from specs.findings import near
from specs.parts.lookup import NamedPart as Thick
from specs.parts.lookup import PartError, find_size
from specs.values.lengths import LengthError, show
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from inventory.movements import Balance, Condition
    from specs.models.families import Family
    from specs.models.unit import Unit
    from specs.values.lengths import Length, LengthUnit

MOST_OFFERED = 9


@dataclass(frozen=True, slots=True)
class PartialName:
    """The part a person asks for, as far as it is stated; None stands for a value not stated."""

    family: str = ""
    size: str = ""
    lot_id: str = ""
    """In place of family and size, from a label."""
    thickness: Length | None = None
    used: bool = False
    bin: str | None = None
    label: str | None = None

    def is_lot(self, part: Part) -> bool:
        """Tell whether a lot agrees with every value that was stated."""
        if self.lot_id:
            return part.lot_id == self.lot_id
        return (
            (part.family, part.size) == (self.family, self.size)
            and self.thickness in (None, part.thickness)
            and (part.condition == "used" or not self.used)
            and self.bin in (None, part.bin)
            and self.label in (None, part.label)
        )

    @property
    def new_lot(self) -> Part:
        """The lot with just the stated values; as sold, new and in no bin where none is stated."""
        condition: Condition = "used" if self.used else "new"
        return Part(
            self.family, self.size, self.thickness, condition, self.bin or "", self.label or ""
        )

    def __str__(self) -> str:
        return self.lot_id or f"{self.family} {self.size}"


def called(unit: Unit, length: LengthUnit | None, part: Part) -> Part:
    """Rename a part as the unit's file calls it, and check what it measures.

    Parameters
    ----------
    unit
        The unit, whose families have the names.
    length
        The unit of length for a size that is written as a bare number; None where none is known.
    part
        The part as somebody wrote it; its size may be the size's mark or its thickness.

    Returns
    -------
    Part
        The part with its family's and size's own names; it has a thickness where it is not as sold.

    Raises
    ------
    PartError
        Where the unit has no such family or size, or the thickness cannot be that of the size.
    """
    families = {name: family for name, family in unit.families.items() if family.sizes}
    if part.family not in families:
        raise PartError(near(part.family, [*families], "families drawn from the shelf"))
    family = families[part.family]
    found = find_size(part.family, family, part.size, length)
    as_sold = found.thickness == family.sizes[found.size].nominal
    thickness = part.thickness or (None if as_sold else found.thickness)
    if thickness:
        check_measured(family, replace(found, thickness=thickness), length or "mm")
    return replace(part, size=found.size, thickness=thickness)


def check_not_worn(unit: Unit, length: LengthUnit, part: Part) -> None:
    """Raise PartError for a used part that is thinner than the wear limit of its size."""
    family = unit.families.get(part.family)
    limit = family.thinnest_used(part.size) if family else None
    if part.condition == "used" and part.thickness and limit and part.thickness < limit:
        raise PartError(
            f"{part.family} {part.size}: {show(part.thickness, length)} is under its wear limit "
            f"{show(limit, length)}; a worn part is none for the shelf"
        )


def check_measured(family: Family, part: Thick, unit: LengthUnit) -> None:
    """Raise PartError where a part's thickness is impossible, or rather that of another size."""
    slip = mistaken(family, part.size, part.thickness, unit)
    if slip:
        raise PartError(f"{part.family} {slip}")
    try:
        check_proportion(part.thickness, family.kind, show(part.thickness, unit), unit)
    except LengthError as error:
        raise PartError(f"{part.family}: {error}") from None


def the_lot(shelf: str, wanted: PartialName, balances: Iterable[Balance]) -> Balance:
    """Find the one lot that a person means.

    Raises InputError with those it could be, or nearly is.
    """
    balances = list(balances)
    found = [balance for balance in balances if wanted.is_lot(balance.part)]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError(Problem(f"{wanted} could be {_offer(found)}; {WHICH}", shelf))
    raise InputError(Problem(_none(wanted, balances), shelf))


WHICH = "say which with --bin, --label, --measured or --used, or name the lot by its code"


def _none(wanted: PartialName, balances: Sequence[Balance]) -> str:
    if wanted.lot_id:
        return f'found no lot "{wanted.lot_id}" to take from; `shelf list` shows their codes'
    alike = [balance for balance in balances if balance.part.family == wanted.family]
    same = [balance for balance in alike if balance.part.size == wanted.size]
    if same:
        return f"no {wanted} is as said; there is {_offer(same)}"
    if alike:
        sizes = sorted({balance.part.size for balance in alike})
        return f"no {wanted} to take: {near(wanted.size, sizes, 'sizes on hand')}"
    families = sorted({balance.part.family for balance in balances})
    return f"no {wanted} to take: {near(wanted.family, families, 'families on hand')}"


def _offer(balances: Sequence[Balance]) -> str:
    more = f" and {len(balances) - MOST_OFFERED} more" * (len(balances) > MOST_OFFERED)
    offered = [f"{one.part} ({one.lot_id})" for one in balances[:MOST_OFFERED]]
    return " or ".join(offered) + more
