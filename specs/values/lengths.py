"""Lengths: from the text a person writes to exact nanometres, and back.

    1 in = 25 400 000 nm    1 thou = 25 400 nm    1 mm = 1 000 000 nm    1 um = 1 000 nm

0.0001 in and 0.001 mm are both whole nanometres, so every decimal that a shop writes is a whole
number of them; averages and halves are exact fractions. Nothing here passes through a float.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Final, Literal

from specs.errors import shortened, visible

LengthUnit = Literal["in", "mm", "thou"]
"""The units that a file may declare for its bare lengths."""
Scale = Literal["in", "mm", "thou", "um"]  # a file is never declared in um, yet a length may be


class LengthError(ValueError):
    """A length that cannot be read; the text says what was found and what to write instead."""


@dataclass(frozen=True, slots=True, order=True, init=False)
class Length:
    """An exact, signed length.

    Lengths add, subtract and compare. They multiply with and divide by an int or a Fraction; making
    one of a binary float raises TypeError.
    """

    nm: Fraction
    """The length in nanometres."""

    def __init__(self, nm: int | Fraction) -> None:
        if not isinstance(nm, int | Fraction):
            raise TypeError(f"a length is exact: int or Fraction, not {type(nm).__name__}")
        object.__setattr__(self, "nm", nm if type(nm) is Fraction else Fraction(nm))

    def __add__(self, other: Length) -> Length:
        return Length(self.nm + other.nm)

    def __sub__(self, other: Length) -> Length:
        return Length(self.nm - other.nm)

    def __neg__(self) -> Length:
        return Length(-self.nm)

    def __abs__(self) -> Length:
        return Length(abs(self.nm))

    def __mul__(self, factor: int | Fraction) -> Length:
        return Length(self.nm * factor)

    __rmul__ = __mul__

    def __truediv__(self, divisor: int | Fraction) -> Length:
        return Length(self.nm / Fraction(divisor))

    def __bool__(self) -> bool:
        return bool(self.nm)


ZERO: Final = Length(0)

NANOMETRES: Final[dict[Scale, int]] = {
    "in": 25_400_000,
    "mm": 1_000_000,
    "thou": 25_400,
    "um": 1_000,
}
"""How many nanometres one of each unit is."""
_SPELLINGS: Final[dict[Scale, str]] = {
    "in": "in inch inches \" '' \u2033 \u201d",  # the last two: double prime, curly quote
    "mm": "mm millimetre millimetres millimeter millimeters",
    "thou": "thou thousandth thousandths",
    "um": "um \u00b5m \u03bcm micron microns",  # micro sign and Greek mu look the same
}
_SCALES: Final = {word: scale for scale, words in _SPELLINGS.items() for word in words.split()}
_DASHES: Final = dict.fromkeys([*range(0x2010, 0x2016), 0x2212], "-")
# A kilometre: an absurd length is left to `specs.values.plausibility`, which knows what was meant.
_MOST: Final = Length(1_000_000_000_000)
_MOST_CHARACTERS, _MOST_DIGITS = 200, 12

NUMBER: Final = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
FRACTION: Final = r"[+-]?(?:[0-9]+ )?[0-9]+/[0-9]+"
UNIT: Final = r"[^\W\d_]+\.?|\"|''|\u2033|\u201d"
BRACKETS: Final = r"[(\[]([^()\[\]]+)[)\]]"

ONE_LENGTH = re.compile(rf"({FRACTION}|{NUMBER}) ?({UNIT})?")
# A slash separates two lengths only after a unit: after a digit it is a fraction of an inch.
_TWO = re.compile(rf"([^()\[\]]+?) ?{BRACKETS}|(.*(?:{UNIT})) ?/ ?(.+)")


@dataclass(frozen=True, slots=True)
class Figure:
    """One length as written, for comparing two figures of the same length and for messages."""

    length: Length
    text: str
    """The text as written, with its unit added where it had none."""
    scale: Scale
    stated: bool
    """Whether the text itself had the unit."""
    half: Length
    """Half the last digit written, the most that rounding may hide; zero for a fraction."""


def parse_length(text: str, unit: LengthUnit | None = None) -> Length:
    """Read a signed length as a person writes it.

    Parameters
    ----------
    text
        A length such as `0.071 in`, `1/16 in` or `-71 thou`, or the same length in two units:
        `1.10 mm (0.043 in)`, `1.10 mm / .043 in`.
    unit
        The unit of a bare number; None to refuse one.

    Returns
    -------
    Length
        The exact length; of two units, the first.

    Raises
    ------
    LengthError
        Where it is no length, has no unit, is longer than a kilometre or finer than a nanometre, or
        where its two units disagree.
    """
    return read_figure(tidy(text), unit).length


def tidy(text: str) -> str:
    """Turn every space and dash of a text into a plain one, for the parsers of lengths and ranges.

    Raises LengthError for a text longer than any length.
    """
    if len(text) > _MOST_CHARACTERS:
        raise refusal(text, "is no length: it is longer than any")
    return " ".join(text.split()).translate(_DASHES)


def refusal(text: str, advice: str) -> LengthError:
    """Build the error that quotes `text` as written and goes on with `advice`."""
    return LengthError(f"'{visible(shortened(text))}' {advice}")


def read_figure(text: str, unit: Scale | None) -> Figure:
    """Read one length, or the same length in two units, and keep how it was written.

    Parameters
    ----------
    text
        The text, as `tidy` returns it.
    unit
        The unit of a bare number; None to refuse one.

    Returns
    -------
    Figure
        The length; of two units, the first.

    Raises
    ------
    LengthError
        As `parse_length` does.
    """
    first, second = split_two(text)
    if second is None:
        return _read_one(first, unit)
    taken, beside = _read_one(first, unit), _read_one(second, unit)
    check_agreement(text, taken, beside)
    return taken


def split_two(text: str) -> tuple[str, str | None]:
    """Split `1.10 mm (0.043 in)` or `1.10 mm / .043 in` in two; a single length comes with None."""
    found = _TWO.fullmatch(text)
    if not found:
        return text, None
    return found[1] or found[3], found[2] or found[4]


def check_agreement(text: str, taken: Figure, beside: Figure) -> None:
    """Check that two figures of one length agree within their rounding.

    Parameters
    ----------
    text
        The text that holds both, for the message.
    taken, beside
        The figure that counts, and the one written beside it.

    Raises
    ------
    LengthError
        Where they differ by more than half the last digit of each together.
    """
    if abs(taken.length - beside.length) > taken.half + beside.half:
        converted = show_beside_limits(taken.length, beside.length, None, beside.scale)
        found = f"{taken.text} is {converted}, not {beside.text}"
        raise refusal(text, f"gives two lengths, {found}: neither is taken, write the right one")


def _read_one(text: str, unit: Scale | None) -> Figure:
    found = ONE_LENGTH.fullmatch(text)
    if not found:
        raise refusal(text, "is no length: write one like 0.071 in, 1.80 mm or 71 thou")
    digits, word = found[1], found[2]
    scale = _scale(text, word) if word else unit
    if scale is None:
        point = digits.replace(",", ".")
        raise refusal(text, f"has no unit: write {point} in, {point} mm or {point} thou")
    read = _fraction if "/" in digits else _decimal
    length, half = read(text, digits, scale)
    if abs(length) > _MOST:
        raise refusal(text, "is longer than a kilometre: write what was measured")
    return Figure(length, text if word else f"{text} {scale}", scale, bool(word), half)


def _scale(text: str, word: str) -> Scale:
    name = word.lower().removesuffix(".")
    if name in {"mil", "mils"}:
        raise refusal(text, "can be read as thousandths or as millimetres: write thou or mm")
    if name not in _SCALES:
        raise refusal(text, f"has the unknown unit '{word}': write in, mm, thou or um")
    return _SCALES[name]


def _decimal(text: str, digits: str, scale: Scale) -> tuple[Length, Length]:
    point = _with_point(text, digits, scale)
    places = len(point.partition(".")[2])
    length = Length(Fraction(point) * NANOMETRES[scale])
    if sum(c.isdigit() for c in point) > _MOST_DIGITS:
        raise refusal(text, f"has too many digits: write at most {_MOST_DIGITS}")
    if length.nm.denominator != 1:
        most = "5 decimals of an inch, 2 of a thou, 6 of a millimetre or 3 of a micron"
        raise refusal(text, f"is finer than a nanometre: write at most {most}")
    return length, Length(Fraction(NANOMETRES[scale], 2 * 10**places))


def _with_point(text: str, digits: str, scale: Scale) -> str:
    point = digits.replace(",", ".")
    if point == digits:
        return point
    if scale in {"in", "thou"}:
        raise refusal(text, f"has a decimal comma, taken in millimetres only: write {point}")
    if scale == "um" and re.search(r"[0-9],[0-9]{3}$", digits):
        whole = digits.replace(",", "")
        raise refusal(text, f"can be read two ways: write {whole} um or {point} um")
    return point


def _fraction(text: str, digits: str, scale: Scale) -> tuple[Length, Length]:
    if scale != "in":
        raise refusal(text, f"is a fraction, taken in inches only: write {digits} in")
    whole, _, part = digits.lstrip("+-").rpartition(" ")
    above, below = part.split("/")
    if len(digits) > _MOST_DIGITS or int(below) not in {2, 4, 8, 16, 32, 64, 128}:
        raise refusal(text, "is no fraction of an inch: below the line stands 2, 4, 8 ... or 128")
    inches = int(whole or 0) + Fraction(int(above), int(below))
    return Length((-inches if digits.startswith("-") else inches) * NANOMETRES["in"]), ZERO


_EXACT = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)(?:/([1-9][0-9]*))? (in|mm|thou)")


def exact(length: Length, unit: LengthUnit) -> str:
    """Write a length so that `parse_exact` gives the very same: 0.068 in, 0.205/3 in.

    A part of a nanometre, as an average may have, is written as a length over a whole number. What
    has no end in the decimals of `unit` is in mm.
    """
    top, below = length.nm.numerator, length.nm.denominator
    places = _WHOLE_PLACES[unit]
    scaled = Fraction(top * 10**places, NANOMETRES[unit])
    if scaled.denominator != 1:
        return exact(length, "mm")
    digits = _digits(int(scaled), places).rstrip("0").removesuffix(".")
    return f"{digits}/{below} {unit}" if below > 1 else f"{digits} {unit}"


def parse_exact(text: str) -> Length:
    """Read a length as `exact` writes it; raise LengthError for another text."""
    found = _EXACT.fullmatch(text) if len(text) <= _MOST_CHARACTERS else None
    if found is None:
        raise refusal(text, "is no exact length: write one like 0.068 in or 0.205/3 in")
    scale: LengthUnit = found[3]  # type: ignore[assignment]
    return Length(Fraction(found[1]) * NANOMETRES[scale] / int(found[2] or 1))


# A last decimal of zero is left off once, so that 0.0680 in prints as 0.068 in.
_PLACES: Final[dict[Scale, int]] = {"in": 4, "mm": 3, "thou": 1, "um": 1}
_MOST_PLACES = 9
_WHOLE_PLACES: Final[dict[Scale, int]] = {"in": 6, "mm": 6, "thou": 3, "um": 3}
"""How many decimals a whole number of nanometres has at most, where they have an end at all."""


def show(length: Length, unit: Scale, *, decimals: int | None = None) -> str:
    """Print a length with its unit, rounded half to even: 0.068 in, 1.727 mm, 68 thou.

    Parameters
    ----------
    length, unit
        The length, and the unit to print it in.
    decimals
        How many decimals; the usual number of the unit unless given, less a last zero.
    """
    return f"{number(length, unit, decimals)} {unit}"


def show_enough(length: Length, unit: Scale) -> str:
    """Print a length that something needs, with its unit: rounded up, so that it is enough."""
    places = _PLACES[unit]
    return f"{_digits(ceil(_scaled(length, unit, places)), places).removesuffix('0')} {unit}"


def number(length: Length, unit: Scale, decimals: int | None = None) -> str:
    """Print a length in `unit` without the unit's name; `decimals` as `show` takes it."""
    places = _PLACES[unit] if decimals is None else decimals
    text = _digits(round(_scaled(length, unit, places)), places)
    return text.removesuffix("0").removesuffix(".") if decimals is None else text


def show_beside_limits(gap: Length, lo: Length | None, hi: Length | None, unit: Scale) -> str:
    """Print a gap with as many decimals as it needs to stay on its own side of its limits.

    Parameters
    ----------
    gap
        The gap.
    lo, hi
        The limits; None where that side is open. A gap exactly on a limit is printed as that is.
    unit
        The unit to print it in.

    Returns
    -------
    str
        The gap with its unit, with up to nine decimals; beyond these it is rounded away from the
        limit.
    """
    limits = [limit for limit in (lo, hi) if limit is not None and limit != gap]
    for places in range(_PLACES[unit], _MOST_PLACES + 1):
        if _keeps_sides(gap, places, unit, limits):
            return show(gap, unit, decimals=None if places == _PLACES[unit] else places)
    exact = _scaled(gap, unit, _MOST_PLACES)
    away = floor(exact) if round(exact) > exact else ceil(exact)
    return f"{_digits(away, _MOST_PLACES)} {unit}"


def _keeps_sides(gap: Length, places: int, unit: Scale, limits: list[Length]) -> bool:
    printed = Length(Fraction(round(_scaled(gap, unit, places)) * NANOMETRES[unit], 10**places))
    return all(printed != limit and (printed < limit) == (gap < limit) for limit in limits)


def _scaled(length: Length, unit: Scale, places: int) -> Fraction:
    return Fraction(length.nm * 10**places) / NANOMETRES[unit]


def _digits(scaled: int, places: int) -> str:
    whole, part = divmod(abs(scaled), 10**places)
    sign = "-" if scaled < 0 else ""
    return f"{sign}{whole}.{part:0{places}d}" if places else f"{sign}{whole}"
