"""Torques and turns of a screw as a manual prints them, exact.

    1 lbf = 0.45359237 kg x 9.80665 m/s2, exactly (the pound of 1959, the weight of CGPM 1901)
    1 lbf in = 0.0254 m x 1 lbf    1 lbf ft = 12 lbf in    1 kgf m = 9.80665 N m

Torques of a band's screw are small: 72 in lb read as ft lb is twelve times too much. A torque out
of proportion is refused, with the torque that was probably meant.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any

from pydantic import PlainValidator, WithJsonSchema

from specs.values.fields import refuse
from specs.values.quantities import FOOT, FORCE, GRAVITY, INCH

_SCALES: dict[str, Fraction] = {
    "N m": Fraction(1),
    "in lb": FORCE * INCH,
    "ft lb": FORCE * FOOT,
    "kgf m": GRAVITY,
    "kgf cm": GRAVITY / 100,
}
_SPELLINGS = {
    "n m": "N m", "nm": "N m",
    **dict.fromkeys(("in lb", "in lbs", "in lbf", "lb in", "lbf in"), "in lb"),
    **dict.fromkeys(("ft lb", "ft lbs", "ft lbf", "lb ft", "lbf ft"), "ft lb"),
    **dict.fromkeys(("kgf m", "kg m", "kgm"), "kgf m"),
    **dict.fromkeys(("kgf cm", "kg cm", "kgcm"), "kgf cm"),
}  # fmt: skip
_ONE = re.compile(r"([0-9]{1,4}(?:[.,][0-9]{1,3})?) ?([a-zA-Z][a-zA-Z .\u00b7-]*)")
_TWO = re.compile(r"([^()\[\]/]+?) ?(?:[(\[]([^()\[\]]+)[)\]]|/ ?([^/]+))")
_MOST = Fraction(75)
"""Newton metres: no band's screw and no lock nut of one is tightened further; from memory."""
_MOST_INCHES = 20
"""Newton metres: up to here inch pounds are printed beside them, above foot pounds."""
_HINT = "write a torque such as 5 N m, 72 in lb or 5 N m (44 in lb)"
_TURNS = r"[0-9]{1,2}(?:\.[0-9]{1,3})?|(?:[0-9]{1,2} )?[1-9]/[2-8]"
_BACK_OFF = re.compile(rf"({_TURNS})(?: ?(?:to|-|\u2013) ?({_TURNS}))?")


@dataclass(frozen=True, slots=True)
class Torque:
    """An exact torque, and the unit it was written in."""

    newton_metres: Fraction
    unit: str

    def within(self, unit: str) -> Fraction:
        """Convert the torque to another unit, a key of `_SCALES`."""
        return self.newton_metres / _SCALES[unit]


@dataclass(frozen=True, slots=True)
class Turns:
    """By how many turns a screw is backed off, at least and at most, and how that is written."""

    least: Fraction
    most: Fraction
    text: str


def show_torque(torque: Torque) -> str:
    """Print a torque in the unit it was written in, with a second unit beside it."""
    beside = "N m"
    if torque.unit == "N m":
        beside = "in lb" if torque.newton_metres <= _MOST_INCHES else "ft lb"
    return f"{_figure(torque, torque.unit)} ({_figure(torque, beside)})"


def _figure(torque: Torque, unit: str) -> str:
    tenths = round(torque.within(unit) * 10)
    whole, tenth = divmod(tenths, 10)
    if unit in ("in lb", "kgf cm") and tenth:
        return f"{round(torque.within(unit))} {unit}"
    return f"{whole}.{tenth} {unit}" if tenth else f"{whole} {unit}"


def _torque(value: Any) -> Torque:
    if not isinstance(value, str):
        raise refuse(value, _HINT)
    text = " ".join(value.split())
    both = _TWO.fullmatch(text)
    found, half = _one(value, both[1] if both else text)
    if both:
        beside, other = _one(value, both[2] or both[3])
        if abs(found.newton_metres - beside.newton_metres) > half + other:
            converted = f"{both[1]} is {_figure(found, beside.unit)}"
            raise refuse(value, f"{converted}: neither is taken, write the right one")
    if not 0 < found.newton_metres <= _MOST:
        raise refuse(value, f"no torque for a band's screw; {_meant(found)}")
    return found


def _meant(found: Torque) -> str:
    """Suggest the torque in inch pounds that a torque out of proportion probably is."""
    inches = Torque(found.within(found.unit) * _SCALES["in lb"], "in lb")
    if found.unit != "in lb" and 0 < inches.newton_metres <= _MOST:
        return f"did you mean {show_torque(inches)}?"
    return f"it lies between 0 and {_MOST} N m"


def _one(value: str, text: str) -> tuple[Torque, Fraction]:
    """Read one figure with its unit, and half its last digit in newton metres."""
    found = _ONE.fullmatch(text.strip())
    word = " ".join(re.sub(r"[.\u00b7-]", " ", found[2]).lower().split()) if found else ""
    if not found or word not in _SPELLINGS:
        raise refuse(value, _HINT)
    unit, digits = _SPELLINGS[word], found[1].replace(",", ".")
    half = Fraction(1, 2 * 10 ** len(digits.partition(".")[2]))
    return Torque(Fraction(digits) * _SCALES[unit], unit), half * _SCALES[unit]


def _turns(value: Any) -> Turns:
    text = " ".join(value.split()) if isinstance(value, str) else ""
    found = _BACK_OFF.fullmatch(text)
    if not found:
        raise refuse(value, "write turns such as 2, 2 1/4 or 2 to 2.25")
    least = _mixed(found[1])
    most = _mixed(found[2]) if found[2] else least
    if not 0 < least <= most <= 10:  # noqa: PLR2004 - no screw has more, from memory
        raise refuse(value, "write up to 10 turns, the fewer first: 2 to 2.25")
    return Turns(least, most, text)


def _mixed(text: str) -> Fraction:
    """Read a number with or without a fraction: 2 1/4."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


TorqueText = Annotated[Torque, PlainValidator(_torque), WithJsonSchema({"type": "string"})]
TurnsText = Annotated[Turns, PlainValidator(_turns), WithJsonSchema({"type": ["string", "number"]})]
