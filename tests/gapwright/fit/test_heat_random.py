"""How far steels warm, against a sum over contacts in floats with the units of scipy.constants."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass
from math import isclose, pi
from typing import Any

from scipy import constants

from gapwright.fit.heat import Heat, heat_of
from gapwright.fit.service import fit_case
from specs.files.read import case_of
from specs.formats import yaml as yaml_door

FACES = {"disc": "LL", "back": "SS", "s1": "SS", "s2": "SS", "s3": "SS", "up": "SL", "down": "LS"}
THICK = {  # mm; plates lined on one side are steels too
    "s1": 1.5,
    "s2": 2.0,
    "s3": 2.75,
    "up": 1.8,
    "down": 1.8,
}  # mm; lined plates are steels too
JOULES = {
    "J": 1.0, "kJ": 1e3, "Btu": constants.Btu, "ft lbf": constants.foot * constants.lbf,
    "in lbf": constants.inch * constants.lbf,
}  # fmt: skip
INERTIA = {
    "kg m2": 1.0, "lb ft2": constants.lb * constants.foot**2,
    "lb in2": constants.lb * constants.inch**2, "lbf ft s2": constants.lbf * constants.foot,
    "lbf in s2": constants.lbf * constants.inch,
}  # fmt: skip
SPEED = {"rpm": 2 * pi / constants.minute, "rad/s": 1.0}
DENSITY = {"g/cm3": 1e3, "kg/m3": 1.0, "lb/in3": constants.lb / constants.inch**3}
CAPACITY = {
    "J/kg K": 1.0, "kJ/kg K": 1e3,
    "Btu/lb F": constants.Btu / constants.lb / constants.degree_Fahrenheit,
}  # fmt: skip


@dataclass
class Said:
    """What a unit file says of a pack's heat, and what it means."""

    heat: dict[str, Any]
    joules: float
    per_mm: float
    """Joules per kelvin and millimetre of steel."""


def stacks(rng: random.Random) -> list[str]:
    """A stack in which no two lined faces meet."""
    while True:
        stack = [
            "back",
            *rng.choices(list(FACES), [4, *[1] * 6], k=rng.randint(3, 8)),
            "back",
            "s2",
        ]
        contacts = {*_contacts(stack)}
        if "LL" not in contacts and contacts & {"LS", "SL"}:
            return stack


def _contacts(stack: list[str]) -> list[str]:
    """The two faces at each place where parts meet."""
    faces = "".join(FACES[part] for part in stack)[1:-1]
    return [faces[nth : nth + 2] for nth in range(0, len(faces), 2)]


def _si(rng: random.Random, units: dict[str, float], low: float, high: float) -> tuple[str, float]:
    """A quantity within SI limits, in a unit drawn at random."""
    unit = rng.choice([*units])
    figure = f"{rng.uniform(low, high) / units[unit]:.6f}"
    return f"{figure} {unit}", float(figure) * units[unit]


def said(rng: random.Random) -> Said:
    heat: dict[str, Any] = {}
    if rng.random() < 0.4:
        heat["energy"], joules = _si(rng, JOULES, 500, 50_000)
    else:
        sides = rng.choice((1, 2))
        given = [(_si(rng, INERTIA, 0.05, 3), _si(rng, SPEED, 20, 300)) for _ in range(sides)]
        heat["inertias"] = [inertia for (inertia, _), _ in given]
        heat["speeds"] = [speed for _, (speed, _) in given]
        felt = 1 / sum(1 / inertia for (_, inertia), _ in given)
        apart = given[0][1][1] - (given[1][1][1] if sides == 2 else 0)
        joules = felt * apart**2 / 2
    heat["heat capacity"], capacity = _si(rng, CAPACITY, 400, 600)
    if rng.random() < 0.5:
        heat["density"], density = _si(rng, DENSITY, 7000, 8000)
        outer, inner = rng.randint(120, 180), rng.randint(60, 110)
        heat |= {"outer": f"{outer} mm", "inner": f"{inner} mm"}
        per_mm = pi * (outer**2 - inner**2) / 4 * 1e-9 * density * capacity
    else:
        heat["weighed"] = {"s2": "210 g"}
        per_mm = 0.210 / THICK["s2"] * capacity
    return Said(heat, joules, per_mm)


def test_steels_warm_as_a_sum_over_contacts_says() -> None:
    rng = random.Random(16)  # noqa: S311 - stacks, not secrets
    roads: Counter[str] = Counter()
    for _ in range(60):
        stack, told = stacks(rng), said(rng)
        contacts = _contacts(stack)
        each = told.joules / sum(pair in ("LS", "SL") for pair in contacts)
        taken = [0.0] * len(stack)
        for nth, pair in enumerate(contacts):
            taken[nth] += each * (pair == "SL")
            taken[nth + 1] += each * (pair == "LS")
        wanted = [
            energy / (told.per_mm * THICK[part])
            for energy, part in zip(taken, stack, strict=True)
            if part in THICK
        ]
        backwards = rng.random() < 0.5
        heat = asked(stack, told.heat, backwards=backwards)
        found = [float(steel.rise or 0) for steel in heat.steels]
        found = found[::-1] if backwards else found
        assert all(isclose(a, b, rel_tol=1e-9) for a, b in zip(found, wanted, strict=True))
        hottest = {nth for nth, rise in enumerate(wanted) if isclose(rise, max(wanted))}
        half = [nth for nth in range(len(wanted)) if 2 * (len(wanted) - 1 - nth) < len(wanted)]
        assert heat.at_heat_end == bool(hottest & {*half})
        # Of thick ones alone the faces and the thickness each family is made in decide.
        assert heat.thick_at_heat_end == heat.at_heat_end
        roads.update([f"{sum(steel.heated)} faces" for steel in heat.steels])
        roads[f"at heat end {heat.at_heat_end}"] += 1
    assert min(roads[road] for road in ("0 faces", "1 faces", "2 faces")) > 10, roads
    assert min(roads[f"at heat end {said_so}"] for said_so in (True, False)) > 10, roads


def asked(stack: list[str], heat: dict[str, Any], *, backwards: bool) -> Heat:
    """The same pack as a unit file has it; the heat end is the last in the stack."""
    lined = {"up": "ring", "down": "piston"}
    families: dict[str, Any] = {
        name: {"kind": "steel", "fixed": f"{thick} mm"} for name, thick in THICK.items()
    }
    families |= {"disc": {"kind": "friction", "fixed": "2 mm"}}
    families |= {"back": {"kind": "pressure plate", "fixed": "4 mm"}}
    for name in lined:
        families[name]["lined"] = "one side"
    layout = {
        "rank": "0",
        "smooth faces may meet": "yes",
        "stack": [
            {"part": part} | ({"lining faces": lined[part]} if part in lined else {})
            for part in stack
        ],
    }
    pack = {
        "window": "-600 to 600 mm", "heat": heat, "layouts": {"one": layout}, "space": "room",
        "readings": {"room": "the room"}, "first in": "ring" if backwards else "piston",
    }  # fmt: skip
    data = {
        "length": "mm", "unit": {"families": families, "packs": {"low": pack}}, "shelf": {},
        "job": {"gaps": {"low": {"readings": {"room": "30 mm"}}}},
    }  # fmt: skip
    report = fit_case(case_of(yaml_door.Source("random", data, {})))
    found = heat_of(report.case, report.gaps[0])
    assert found is not None
    return found
