"""What is said of packs that manuals print as out of their window, or that have no part to choose.

Sources: DeLorean, DMC-12 workshop manual p. 194, B2 disc pack (its shims' sizes are ours); Suzuki,
Swift 2000, 7B-103, direct clutch: 0.50 to 1.04 mm under air, no selective part, out of which plates
are replaced.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from gapwright.check.service import check_case
from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from solver.problem.solution import Fit, NoFit
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from tests.published.printed import PUBLISHED

DELOREAN = yaml_door.read(PUBLISHED / "manuals" / "delorean_b2.yaml").data
READ = {"reading": "65.10", "straightedge": "6.38", "A": "57.03"}
MM = 1_000_000  # nanometres
SWIFT = """
length: mm
unit:
  name: Swift 4AT
  families: {plates: {kind: spacer, fixed: 20.00}}  # the height of the pack is ours
  packs:
    direct clutch: {window: 0.50 to 1.04, space: room, readings: {room: under air}, stack: [plates]}
shelf: {}
job:
  gaps: {direct clutch: {readings: {room: READING}}}
"""


def delorean(as_built: dict[str, Any]) -> dict[str, Any]:
    gap = {"readings": READ, "as built": as_built}
    return {**DELOREAN, "job": {"gaps": {"B2 disc pack": gap}}}


def test_a_pack_out_of_its_window_without_shims_gets_the_shim_the_manual_asks_for() -> None:
    case = case_of(yaml_door.Source("B2", delorean({"at": "1.69", "parts": [[]]}), {}))
    check = check_case(case)
    (gap,) = check.gaps
    assert gap.promised.nm == gap.found.nm == Fraction(169, 100) * MM  # as printed
    assert gap.explained
    assert not gap.inside
    assert check.change is not None
    assert isinstance(check.change.answer, Fit)
    (built,) = check.change.gaps
    added = sum(line.thickness.nm for line in built.steps)
    assert Fraction(19, 100) * MM <= added <= Fraction(59, 100) * MM  # derived from the window
    assert len(built.steps) == 1  # not more than two, and one is the least change


@pytest.mark.parametrize("hundredths", range(20_30, 21_30, 2))
def test_a_pack_without_a_selective_part_is_only_checked(hundredths: int) -> None:
    room = f"{hundredths // 100}.{hundredths % 100:02}"
    report = fit_case(case_of(yaml_door.parse(SWIFT.replace("READING", room), "swift.yaml")))
    inside = 50 <= hundredths - 20_00 <= 104
    assert isinstance(report.answer, Fit if inside else NoFit)
    if not inside:
        near = {20_48, 21_06}  # by no more than the 0.02 mm a gauge tells, ours
        assert [way.out.kind for way in report.ways] == ["read again"] * (hundredths in near)
        assert report.reason is not None
        (condition,) = report.reason.conditions
        assert condition.kind == ("lowest" if hundredths < 20_50 else "highest")
        assert "misassembled, worn, or built with plates of another thickness" in render(report)
