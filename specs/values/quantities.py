"""Quantities other than lengths: energy, inertia, speed, mass, density and heat capacity.

A quantity is an exact fraction in the units of the SI: joule, kilogram metre squared, radian per
second, kilogram, kilogram per cubic metre, joule per kilogram and kelvin. The factors are those of
the International System and of NIST SP 811 (pound 0.453 592 37 kg and inch 0.0254 m exact, gravity
9.806 65 m/s2, the Btu of the International Table 1055.055 852 62 J). A turn is two pi, with pi
taken to thirty decimals.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, Final

from pydantic import PlainValidator, WithJsonSchema

from specs.values.fields import refuse

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

PI: Final = Fraction("3.141592653589793238462643383280")
POUND, INCH, GRAVITY = Fraction("0.45359237"), Fraction("0.0254"), Fraction("9.80665")
FOOT: Final = 12 * INCH
FORCE: Final = POUND * GRAVITY  # of a pound, in newton
BTU: Final = Fraction("1055.05585262")
_NUMBER = re.compile(r"([+-]?(?:[0-9]{1,9}(?:\.[0-9]{1,9})?|\.[0-9]{1,9})) ?(\S.*)")
_SAME: Final = str.maketrans({"²": "2", "³": "3", "·": " ", "*": " ", "^": "", "°": "", "-": " "})


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its name, its units and its bounds."""

    name: str
    units: Mapping[str, Fraction]
    """Each unit by its spelling, with the size of one in the SI."""
    least: str
    """The least size that is taken, as a person would write it."""
    most: str
    """The greatest size that is taken."""
    example: str
    """A text that a refusal shows."""
    signed: bool = False
    """Whether zero and negative quantities are allowed."""

    def parse(self, value: Any) -> Fraction:
        """Validate a quantity of this kind.

        Parameters
        ----------
        value
            The text as written, such as `12 kJ`.

        Returns
        -------
        Fraction
            The exact quantity, in the units of the SI.

        Raises
        ------
        PydanticCustomError
            Where it is no such quantity or out of bounds; the sentence says what to write instead.
        """
        taken = self._read(value) if isinstance(value, str) else None
        if taken is None:
            units = ", ".join(self.units)
            raise refuse(value, f"write {self.name} such as {self.example}; units: {units}")
        if self.signed and not taken:
            return taken
        if taken < 0 and not self.signed:
            raise refuse(value, f"{self.name} is more than zero")
        least, most = self._read(self.least), self._read(self.most)
        if least is None or most is None or not least <= abs(taken) <= most:
            raise refuse(value, f"{self.name} here lies between {self.least} and {self.most}")
        return taken

    def _read(self, text: str) -> Fraction | None:
        found = _NUMBER.fullmatch(" ".join(text.split()))
        spelt = {_spelt(unit): size for unit, size in self.units.items()}
        if found is None or _spelt(found[2]) not in spelt:
            return None
        return Fraction(found[1]) * spelt[_spelt(found[2])]


def _spelt(unit: str) -> str:
    """Spell a unit for comparison: no blanks, raised figures level, letters small."""
    return "".join(unit.lower().translate(_SAME).split())


ENERGY = Kind(
    "an energy",
    {"J": Fraction(1), "kJ": Fraction(1000), "Btu": BTU, "ft lbf": FOOT * FORCE,
     "in lbf": INCH * FORCE},
    "1 J", "100000 kJ", "12 kJ",
)  # fmt: skip
INERTIA = Kind(
    "an inertia",
    {"kg m2": Fraction(1), "lb ft2": POUND * FOOT**2, "lb in2": POUND * INCH**2,
     "lbf ft s2": FORCE * FOOT, "lbf in s2": FORCE * INCH},
    "0.000001 kg m2", "100000 kg m2", "0.15 kg m2",
)  # fmt: skip
SPEED = Kind(
    "a speed",
    {"rpm": 2 * PI / 60, "rad/s": Fraction(1)},
    "0.1 rpm", "100000 rpm", "1500 rpm", signed=True,
)  # fmt: skip
MASS = Kind(
    "a mass",
    {"g": Fraction(1, 1000), "kg": Fraction(1), "oz": POUND / 16, "lb": POUND},
    "0.1 g", "100 kg", "210 g",
)  # fmt: skip
DENSITY = Kind(
    "a density",
    {"g/cm3": Fraction(1000), "kg/m3": Fraction(1), "lb/in3": POUND / INCH**3},
    "0.5 g/cm3", "25 g/cm3", "7.85 g/cm3",
)  # fmt: skip
HEAT_CAPACITY = Kind(
    "a heat capacity",
    {"J/kg K": Fraction(1), "kJ/kg K": Fraction(1000),
     "Btu/lb F": BTU / POUND * Fraction(9, 5)},
    "50 J/kg K", "5000 J/kg K", "460 J/kg K",
)  # fmt: skip


def _taken(kind: Kind) -> Callable[[Any], Fraction]:
    return lambda value: value if isinstance(value, Fraction) else kind.parse(value)


def _several(kind: Kind) -> Callable[[Any], tuple[Fraction, ...]]:
    def take(value: Any) -> tuple[Fraction, ...]:
        listed = [value] if isinstance(value, str) else value
        if not isinstance(listed, list) or len(listed) not in (1, 2):
            raise refuse(value, f"write {kind.name}, or one for each of the two sides")
        return tuple(kind.parse(one) for one in listed)

    return take


_WORDS = {"type": "string"}
_ONE_OR_TWO = {"anyOf": [_WORDS, {"type": "array", "items": _WORDS, "maxItems": 2}]}
Energy = Annotated[Fraction, PlainValidator(_taken(ENERGY)), WithJsonSchema(_WORDS)]
Mass = Annotated[Fraction, PlainValidator(_taken(MASS)), WithJsonSchema(_WORDS)]
Density = Annotated[Fraction, PlainValidator(_taken(DENSITY)), WithJsonSchema(_WORDS)]
HeatCapacity = Annotated[Fraction, PlainValidator(_taken(HEAT_CAPACITY)), WithJsonSchema(_WORDS)]
Inertias = Annotated[
    tuple[Fraction, ...], PlainValidator(_several(INERTIA)), WithJsonSchema(_ONE_OR_TWO)
]
Speeds = Annotated[
    tuple[Fraction, ...], PlainValidator(_several(SPEED)), WithJsonSchema(_ONE_OR_TWO)
]
