"""Quantities are taken exactly as they are written, in any of their units, or refused."""

from __future__ import annotations

from fractions import Fraction
from math import isclose, pi

import pytest
from pydantic_core import PydanticCustomError
from scipy import constants

from specs.values.quantities import (
    DENSITY,
    ENERGY,
    HEAT_CAPACITY,
    INERTIA,
    MASS,
    SPEED,
    Kind,
)

KINDS = (ENERGY, INERTIA, SPEED, MASS, DENSITY, HEAT_CAPACITY)


@pytest.mark.parametrize(
    ("kind", "text", "si"),
    [
        (ENERGY, "12.5 kJ", 12_500), (ENERGY, "12.5kj", 12_500), (ENERGY, ".5 kJ", 500),
        (ENERGY, "1 Btu", constants.Btu), (ENERGY, "7 ft·lbf", 7 * constants.foot * constants.lbf),
        (ENERGY, "9 in-lbf", 9 * constants.inch * constants.lbf),
        (INERTIA, "0.2 kg m²", 0.2), (INERTIA, "0.2 kg*m^2", 0.2),
        (INERTIA, "3 lb ft2", 3 * constants.lb * constants.foot**2),
        (INERTIA, "3 lb in2", 3 * constants.lb * constants.inch**2),
        (INERTIA, "3 lbf ft s2", 3 * constants.lbf * constants.foot),
        (INERTIA, "3 lbf in s2", 3 * constants.lbf * constants.inch),
        (SPEED, "1500 rpm", 50 * pi), (SPEED, "-60 rpm", -2 * pi), (SPEED, "0 rad/s", 0),
        (MASS, "210 g", 0.21), (MASS, "1 oz", constants.oz), (MASS, "1 lb", constants.lb),
        (DENSITY, "7.85 g/cm³", 7850),
        (DENSITY, ".284 lb/in3", .284 * constants.lb / constants.inch**3),
        (HEAT_CAPACITY, "0.46 kJ/kg K", 460), (HEAT_CAPACITY, "460 J/kg·K", 460),
        (HEAT_CAPACITY, ".11 Btu/lb °F", .11 * constants.Btu / constants.lb * 9 / 5),
    ],
)  # fmt: skip
def test_a_quantity_is_what_the_reference_library_says(kind: Kind, text: str, si: float) -> None:
    assert isclose(float(kind.parse(text)), si, rel_tol=1e-12)


def test_decimals_are_exact() -> None:
    assert ENERGY.parse("0.1 kJ") * 3 == ENERGY.parse("0.3 kJ") == Fraction(300)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_its_own_limits_and_example_can_be_written(kind: Kind) -> None:
    least, example, most = map(kind.parse, (kind.least, kind.example, kind.most))
    assert 0 < least < example < most


@pytest.mark.parametrize("text", ["", "12", "kJ", "1,200 J", "1e3 J", "12 kW", "nan J", "1/2 J"])
def test_what_is_no_energy_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(PydanticCustomError, match="write an energy such as 12 kJ; units: J, kJ"):
        ENERGY.parse(text)


@pytest.mark.parametrize(
    ("kind", "text", "told"),
    [
        (ENERGY, "-1 J", "an energy is more than zero"),
        (MASS, "0 g", "a mass here lies between 0.1 g and 100 kg"),
        (SPEED, "200000 rpm", "a speed here lies between 0.1 rpm and 100000 rpm"),
        (DENSITY, "7850 g/cm3", "a density here lies between 0.5 g/cm3 and 25 g/cm3"),
    ],
)
def test_what_is_out_of_all_proportion_is_refused(kind: Kind, text: str, told: str) -> None:
    with pytest.raises(PydanticCustomError, match=told):
        kind.parse(text)
