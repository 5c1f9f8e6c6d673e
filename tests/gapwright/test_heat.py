"""What thin steels cost in heat."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from gapwright.desk import fit_case
from gapwright.fit.as_json import dump
from gapwright.fit.heat import heat_of
from gapwright.fit.words import tell
from specs import yaml_door
from specs.files import case_of

if TYPE_CHECKING:
    from gapwright.fit.report import Report

DRUM = """\
length: mm
unit:
  families:
    disc: {kind: friction, fixed: 2.0}
    steel: {kind: steel, sizes: {thick: 2.0, thin: 1.5}}
    back: {kind: steel, fixed: 3.0}
    ring: {kind: ring, sizes: [1.5]}
    washer: {kind: washer, sizes: [1.0]}
  packs: {low: {window: WINDOW, stack: [{repeat: 2, of: [steel, disc]}, back, disc, ring]}}
  end plays: {play: {window: 0.4 to 0.6, space: room, readings: {room: room}, stack: [washer]}}
shelf: {steel: {thick: 2, thin: 2}, ring: {1.5: 1}, washer: {1.0: 1}}
job:
  gaps:
    low: {trial: [thick, thick, 1.5], gap: GAP}
    play: {readings: {room: 1.5}}
"""


def fitted(gap: str, window: str = "0.4 to 0.6") -> Report:
    text = DRUM.replace("GAP", gap).replace("WINDOW", window)
    return fit_case(case_of(yaml_door.parse(text, "drum")))


@pytest.mark.parametrize(
    ("gap", "window", "share", "said"),
    [
        ("0.5", "0.4 to 0.6", Fraction(1), None),
        ("0.0", "0.4 to 0.6", Fraction(65, 70), ("93 %", "1.08")),
        ("0.0", "0.9 to 1.1", Fraction(60, 70), ("86 %", "1.17")),
    ],
)  # fmt: skip
def test_steels_are_compared_with_thick_ones_alone(
    gap: str, window: str, share: Fraction, said: tuple[str, str] | None
) -> None:
    report = fitted(gap, window)
    heat = heat_of(report.case, report.gaps[0])
    assert heat is not None
    assert heat.share == share
    assert heat.warms == 1 / share
    told = tell(report)
    if said is None:
        assert "heat: " not in told
    else:
        percent, warms = said
        line = (
            f"  heat: {percent} of the steel of thick ones alone; it warms {warms} times as much\n"
        )
        assert line in told


def test_what_has_no_steel_has_no_heat_to_compare() -> None:
    report = fitted("0.5")
    assert heat_of(report.case, report.gaps[1]) is None
    shape = json.loads(dump(report))
    assert shape["gaps"][1]["heat"] is None


def test_json_gives_the_share_exactly_and_what_it_comes_to() -> None:
    shape = json.loads(dump(fitted("0.0")))
    assert shape["gaps"][0]["heat"] == {"share of thick": "13/14", "warms": 1.0769}
