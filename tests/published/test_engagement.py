"""What an engagement brings and what it warms, against a textbook's figures."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from gapwright.fit.heat import Heat, heat_of
from gapwright.fit.service import fit_case
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.values.quantities import BTU, POUND
from tests.published.printed import PUBLISHED

FIGURES = yaml_door.read(PUBLISHED / "standards" / "heat.yaml").data


def heated(heat: dict[str, Any], thickness: str) -> Heat:
    """A disc between two pads, as a pack of our own."""
    unit = {
        "families": {
            "pad": {"kind": "friction", "fixed": "0.5 in"},
            "disc": {"kind": "steel", "fixed": thickness},
        },
        "packs": {"brake": {
            "window": "0.01 to 0.03 in", "heat": heat, "stack": ["pad", "disc", "pad"],
            "space": "room", "readings": {"room": "between the pistons"},
        }},
    }  # fmt: skip
    job = {"gaps": {"brake": {"readings": {"room": "1.27 in"}}}}
    source = yaml_door.Source(
        "standard", {"unit": unit, "shelf": {}, "job": job, "length": "in"}, {}
    )
    report = fit_case(case_of(source))
    found = heat_of(report.case, report.gaps[0])
    assert found is not None
    return found


def printed(value: Fraction, text: str) -> bool:
    return round(value, len(text.partition(".")[2])) == Fraction(text)


def test_two_inertias_lose_what_the_exercise_comes_to() -> None:
    found = heated(FIGURES["two inertias"]["heat"], "0.25 in").engagement
    assert found is not None
    assert printed(found.joules, FIGURES["two inertias"]["joules"])


def test_the_disc_of_the_caliper_brake_warms_as_the_book_says() -> None:
    """Shigley, Example 16-5."""
    brake = FIGURES["caliper brake"]
    found = heated(brake["heat"], brake["thickness"])
    assert found.engagement is not None
    assert printed(found.engagement.joules / BTU, brake["btu"])
    assert printed(found.engagement.kilograms / POUND, brake["pounds"])
    (disc,) = found.steels
    assert disc.faces == 2
    assert disc.rise is not None
    assert printed(disc.rise * Fraction(9, 5), brake["fahrenheit"])
