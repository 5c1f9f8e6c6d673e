"""The part that somebody typed: words and options turned into a part and a number."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gapwright.shelf.names import DoubtfulNameError
from inventory.movements import Part
from inventory.naming import PartialName, called, check_not_worn
from specs.errors import InputError, Problem
from specs.findings import misspelt
from specs.parts.lookup import PartError
from specs.values.lengths import LengthError, parse_length
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Callable

    from gapwright.shelf.notes import UnitFile
    from inventory.movements import Condition
    from specs.values.lengths import Length, LengthUnit

CODE = re.compile("[0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}")
FORM = 'write a family, a size and a number: "drum ring" .0700 2; or the code of a lot and a number'


@dataclass(frozen=True, slots=True)
class Typed:
    """The words of a command, and the options that say which lot."""

    words: tuple[str, ...]
    measured: str | None = None
    used: bool = False
    bin: str | None = None
    label: str | None = None
    lengths: LengthUnit | None = None
    unit: UnitFile | None = None
    """The unit whose names for families and sizes are to be kept to, as its file was read."""


def part_asked(typed: Typed, number: int | None) -> tuple[PartialName, int]:
    """Read the part and the number that somebody typed.

    Parameters
    ----------
    typed
        The words and options.
    number
        The number where none was typed; None where one must be, as for incoming parts.

    Returns
    -------
    tuple
        The part as far as it is stated, and the number of parts.

    Raises
    ------
    InputError
        For words that are no part or no number, or a part that the unit does not have.
    """
    words = [" ".join(word.split()) for word in typed.words]
    code = words[0].upper() if words and CODE.fullmatch(words[0].upper()) else ""
    named = 1 if code else 2
    if not all(words) or not named + (number is None) <= len(words) <= named + 1:
        raise InputError(Problem(FORM))
    incoming = number is None
    if len(words) > named:
        number = _number(words[named])
    if code:
        return PartialName(lot_id=code), number or 0
    part = Part(words[0], words[1], _measured(typed))
    if typed.unit:
        condition: Condition = "used" if typed.used else "new"
        part = namer(typed.unit, incoming=incoming)(replace(part, condition=condition))
    return _asked(typed, part), number or 0


def namer(file: UnitFile, *, incoming: bool = False) -> Callable[[Part], Part]:
    """Return a function that renames a part as a unit's file calls it.

    The function raises InputError where the unit has no such part, DoubtfulNameError where it has
    one of nearly this name. With `incoming` it also refuses a worn part.
    """
    unit, origin = file
    families = {name: one for name, one in unit.families.items() if one.sizes}

    def named(part: Part) -> Part:
        try:
            found = called(unit, origin.length, part)
            if incoming:
                check_not_worn(unit, origin.length or "mm", found)
        except PartError as error:
            family = families.get(part.family)
            if family is None and (near := misspelt(part.family, [*families])):
                raise DoubtfulNameError(unit.name, "family", part.family, near) from None
            if family and (near := misspelt(part.size, [*family.sizes])):
                raise DoubtfulNameError(unit.name, "size", part.size, near) from None
            raise InputError(Problem(str(error), unit.name)) from None
        return found

    return named


def _asked(typed: Typed, part: Part) -> PartialName:
    wanted = PartialName(part.family, part.size, "", part.thickness, typed.used)
    bin_, label = (
        None if author is None else author.strip() for author in (typed.bin, typed.label)
    )
    return replace(wanted, bin=bin_, label=label)


def _number(text: str) -> int:
    if not re.fullmatch("[0-9]{1,9}", text):
        raise InputError(Problem(f'found "{text}" for the number; {FORM}'))
    return int(text)


def _measured(typed: Typed) -> Length | None:
    if typed.measured is None:
        return None
    try:
        length = parse_length(typed.measured, typed.lengths)
        check_proportion(length, "part", typed.measured, typed.lengths)
    except LengthError as error:
        wanted = ", or add --lengths in, mm or thou" * ("has no unit" in str(error))
        raise InputError(Problem(f"{error}{wanted}", field="--measured")) from None
    return length
