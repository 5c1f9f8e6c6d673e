"""Counts of lots as files list them, and lengths written so that they read back the same."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.movements import Movement, slips_of
from specs.errors import InputError, Problem
from specs.values.lengths import LengthError, number, parse_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.movements import Part
    from specs.values.lengths import Length, LengthUnit

PLACES: dict[LengthUnit, int] = {"in": 5, "mm": 6, "thou": 2}  # the most that lengths are read with


@dataclass(frozen=True, slots=True)
class Counted:
    """The count of one lot in a file, and how many of it are reserved for which job."""

    part: Part
    number: int
    reserved: dict[str, int]
    """By job; "" for nobody named."""
    line: int

    def problems(self) -> Iterator[str]:
        """Yield a sentence for each value that no ledger accepts."""
        yield from slips_of(Movement("count", self.part, self.number))
        if sum(self.reserved.values()) > self.number:
            yield f"{sum(self.reserved.values())} reserved of {self.number}; no more than there are"


def exact(length: Length, unit: LengthUnit) -> str:
    """Write a length so that it reads back the same: in `unit`, or else in mm.

    Raises InputError for a length that is finer than a nanometre.
    """
    for scale in (unit, "mm"):
        whole, _, part = number(length, scale, PLACES[scale]).partition(".")
        text = f"{whole}.{part.rstrip('0') or '0'} {scale}"
        with suppress(LengthError):
            if parse_length(text) == length:
                return text
    sentence = f"a thickness of {length.nm} nm is finer than a file can say; measure it again"
    raise InputError(Problem(sentence))
