"""Whether a length is in proportion to the thing it measures: no steel is 66 inches thick.

A length out of proportion was most likely written in another unit; the refusal names that unit.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Final

from specs.values.lengths import (
    NANOMETRES,
    ONE_LENGTH,
    Length,
    LengthError,
    number,
    parse_length,
    show,
    tidy,
)

if TYPE_CHECKING:
    from specs.values.lengths import LengthUnit

_PLATE, _STACKED = ("0.2 mm", "80 mm"), ("0.3 mm", "15 mm")
_BOUNDS: Final[dict[str, tuple[str, str]]] = {
    **dict.fromkeys(("steel", "friction", "ring", "cushion"), _STACKED),
    **dict.fromkeys(("pressure plate", "apply plate", "spacer", "washer"), _PLATE),
    "shim": ("0.02 mm", "15 mm"),
    "part": ("0.02 mm", "80 mm"),
    **dict.fromkeys(("reading", "window"), ("-600 mm", "600 mm")),
    "diameter": ("5 mm", "2000 mm"),
    "tells": ("0.0001 mm", "1 mm"),
    "tolerance": ("0 mm", "2 mm"),
    "pitch": ("0.3 mm", "6 mm"),
}
_NOUNS: Final[dict[str, str]] = {
    "reading": "reading of a transmission",
    "window": "limit of a window",
    "tells": "step a gauge can tell",
    "diameter": "diameter of a steel",
    "tolerance": "tolerance of a thickness",
    "pitch": "pitch of a screw",
}


def check_proportion(length: Length, kind: str, text: str, unit: LengthUnit | None) -> None:
    """Refuse a length that is out of proportion, and suggest the unit that was meant.

    Parameters
    ----------
    length
        The length as read.
    kind
        A key of `_BOUNDS`: a kind of part, `part` for any, or a noun such as reading or window.
    text
        The length as written.
    unit
        The unit of bare numbers in the file; None where it declares none.

    Raises
    ------
    LengthError
        Where the length lies outside the bounds of its kind.
    """
    low, high = _bounds(kind)
    if low <= length <= high:
        return
    article = "an" if kind[0] in "aeiou" else "a"
    noun = _NOUNS.get(kind, f"thickness for {article} {kind}")
    found, digits = _as_found(length, tidy(text), unit)
    meant = " or ".join(_readings(digits, low, high))
    between = f"one lies between {show(low, unit or 'mm')} and {show(high, unit or 'mm')}"
    raise LengthError(f"{found} is no {noun}: {f'did you mean {meant}?' if meant else between}")


@cache
def _bounds(kind: str) -> tuple[Length, Length]:
    """Return the least and the greatest length of a kind."""
    low, high = _BOUNDS[kind]
    return parse_length(low), parse_length(high)


def _as_found(length: Length, text: str, unit: LengthUnit | None) -> tuple[str, str]:
    """Return the length as written with its unit, and its digits; print the end of a range anew."""
    found = ONE_LENGTH.fullmatch(text)
    if not found or "/" in found[1]:
        return show(length, unit or "mm"), number(length, unit or "mm")
    digits = re.sub(r"^([+-]?)\.", r"\g<1>0.", found[1].replace(",", "."))
    return (text if found[2] else f"{text} {unit}"), digits


def _readings(digits: str, low: Length, high: Length) -> list[str]:
    """Name every unit in which the same digits would be in proportion."""
    scales: tuple[LengthUnit, ...] = ("in", "thou", "mm")
    lengths = {scale: Length(Fraction(digits) * NANOMETRES[scale]) for scale in scales}
    return [
        f"{digits} {scale}" + (f" ({show(length, 'in')})" if scale == "thou" else "")
        for scale, length in lengths.items()
        if low <= length <= high
    ]
