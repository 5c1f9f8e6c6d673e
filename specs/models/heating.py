"""What one engagement brings to a pack, and how heavy its steels are.

Two sides with the inertias I1 and I2, turning at w1 and w2, turn together after it, and what is
lost of their energy is left in the pack; where one side is held fast its inertia is without end:

    E = I1 * I2 / (I1 + I2) * (w1 - w2)^2 / 2        E = I * w^2 / 2

(Shigley's Mechanical Engineering Design, chapter 16, energy considerations.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from specs.findings import Finding, Path, near, weigh
from specs.values.fields import LengthText, Text, Written
from specs.values.lengths import Length
from specs.values.quantities import PI, Density, Energy, HeatCapacity, Inertias, Mass, Speeds

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from specs.models.families import Family

METRE = 10**9  # nanometres


class Heating(Written):
    """What one engagement brings to a pack, and how heavy its steels are."""

    energy: Energy | None = Field(
        None,
        description="The energy one engagement leaves in the pack, in J, kJ, Btu, ft lbf or "
        "in lbf.",
        examples=["12 kJ"],
    )
    inertias: Inertias | None = Field(
        None,
        description="In place of that: the inertias of the two sides, or of the one that turns "
        "where the other is held fast; in kg m2, lb ft2, lb in2, lbf ft s2 or lbf in s2.",
        examples=["[0.12 kg m2, 1.9 kg m2]"],
    )
    speeds: Speeds | None = Field(
        None,
        description="How fast those sides turn before it, in rpm or rad/s; below zero for the "
        "other way round.",
        examples=["[2400 rpm, 1500 rpm]"],
    )
    outer: LengthText | None = Field(
        None,
        description="The outer diameter of the steels' rubbing face.",
        examples=["140 mm"],
    )
    inner: LengthText | None = Field(
        None,
        description="Its inner diameter; without it the steels are full discs.",
        examples=["112 mm"],
    )
    density: Density = Field(
        "7.85 g/cm3",
        validate_default=True,
        description="What the steels' material weighs, in g/cm3, kg/m3 or lb/in3.",
        examples=["7.85 g/cm3"],
    )
    weighed: dict[Text, Mass] = Field(
        {},
        description="In place of diameters and density: one steel as it was weighed, "
        "`family/size`, in g, kg, oz or lb.",
        examples=["{drum steel/thick: 210 g}"],
    )
    heat_capacity: HeatCapacity = Field(
        "460 J/kg K",
        validate_default=True,
        description="The heat that warms so much of the material by one degree, in J/kg K, "
        "kJ/kg K or Btu/lb F.",
        examples=["460 J/kg K"],
    )

    @property
    def joules(self) -> Fraction:
        """The energy of one engagement; ValueError where none is stated, which is refused."""
        if self.energy is not None:
            return self.energy
        if self.inertias is None or self.speeds is None:
            raise ValueError("a pack's heat without an energy")
        apart = self.speeds[0] - (self.speeds[1] if self.speeds[1:] else 0)
        first, *other = self.inertias
        felt = first * other[0] / (first + other[0]) if other else first
        return felt * apart**2 / 2

    def mass_per_length(self, families: dict[str, Family]) -> Fraction:
        """The kilograms of a metre of the steels' thickness."""
        if self.weighed:
            ((part, mass),) = self.weighed.items()
            return mass * METRE / _weighable(families)[part].nm
        if self.outer is None:
            raise ValueError("a pack's heat without how large its steels are")
        hole = self.inner.nm if self.inner else 0
        return PI / 4 * (self.outer.nm**2 - hole**2) / METRE**2 * self.density


def _weighable(families: dict[str, Family]) -> dict[str, Length]:
    """The thickness of every part, by the name it may be weighed under."""
    named = {
        f"{name}/{size}": made.nominal
        for name, family in families.items()
        for size, made in family.sizes.items()
    }
    return named | {name: one.fixed for name, one in families.items() if one.fixed is not None}


def heating_findings(
    path: Path, heating: Heating, families: dict[str, Family], steels: set[str]
) -> Iterator[Finding]:
    """Yield all that is wrong with what is said of a pack's heat."""
    if not steels:
        yield Finding(path, "this pack has no steel to heat; leave `heat` out")
        return
    yield from _energy(path, heating)
    if (heating.outer is None) == (not heating.weighed):
        yield Finding(
            path,
            "say how large the steels are: their `outer` and `inner` diameter, or one as "
            "`weighed`, not both",
        )
    elif heating.weighed and heating.inner is not None:
        yield Finding((*path, "inner"), "diameters and a weighed steel say the same; keep one")
    for key, length in (("outer", heating.outer), ("inner", heating.inner)):
        if length is not None:
            yield weigh((*path, key), length, "diameter")
    if heating.outer and heating.inner and heating.inner >= heating.outer:
        yield Finding((*path, "inner"), "the inner diameter is smaller than the outer one")
    yield from _weighed((*path, "weighed"), heating, families, steels)


def _energy(path: Path, heating: Heating) -> Iterator[Finding]:
    worked_out = heating.inertias is not None or heating.speeds is not None
    if (heating.energy is not None) == worked_out:
        sentence = "say what one engagement brings: its `energy`, or `inertias` and `speeds`"
        yield Finding(path, f"{sentence}, not both" if worked_out else sentence)
    elif worked_out and (heating.inertias is None or heating.speeds is None):
        yield Finding(path, "`inertias` and `speeds` belong together; write both")
    elif heating.inertias and heating.speeds and len(heating.inertias) != len(heating.speeds):
        yield Finding(
            (*path, "speeds"),
            "write as many speeds as inertias: one where the other side is held fast, else two",
        )
    elif not heating.joules:
        yield Finding((*path, "speeds"), "both sides turn alike, and nothing is heated")


def _weighed(
    path: Path, heating: Heating, families: dict[str, Family], steels: set[str]
) -> Iterator[Finding]:
    if len(heating.weighed) > 1:
        yield Finding(path, "one weighed steel will do; keep one")
    known = [*_weighable({name: families[name] for name in sorted(steels)})]
    for part in heating.weighed:
        if part not in known:
            yield Finding((*path, part), near(part, known, "the steels of this pack"))
