"""A planted mistake is named among those that would explain an impossible space."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gapwright.fit.service import fit_case
from solver import NoFit
from specs import Length
from specs.files.read import case_of
from specs.formats.yaml import parse

DRUM = """
length: mm
unit:
  families:
    friction: {kind: friction, fixed: 2.00}
    thin friction: {kind: friction, fixed: 1.60}
    steel: {kind: steel, sizes: {thick: 2.20, thin: 1.80}}
    ring: {kind: ring, sizes: {A: 1.50, B: 1.60, C: 1.70}}
  packs:
    tried:
      window: 0.80 to 1.20
      stack: [steel, friction, steel, friction, {part: ring, groove: 1.4 to 2.6}]
    deep:
      window: 0.80 to 1.20
      space: depth - straightedge
      readings: {depth: {what: how deep}, straightedge: {what: how thick}}
      stack: [steel, friction, steel, friction, ring]
shelf: {steel: {thick: 4, thin: 4}, ring: {A: 2, B: 2, C: 2}}
job:
  gaps: GAPS
"""
TRUE_GAP = Fraction(1)  # with two thick steels and ring B
TRUE_DEPTH = Fraction("11.02")  # 2.20 + 2.00 + 2.20 + 2.00 + 1.60 + 1.00 + 0.02
EDGE = Fraction("6.35")


def doubts(gaps: str) -> dict[str, dict[str, Length]]:
    """For each doubtful gap, the mistakes that would explain it with the reading meant."""
    report = fit_case(case_of(parse(DRUM.replace("GAPS", gaps), "job.yaml")))
    assert isinstance(report.answer, NoFit)
    return {
        name: {mistake.words: mistake.meant for mistake in mistakes}
        for name, mistakes in report.doubtful.items()
    }


def mm(value: Fraction) -> Length:
    return Length(value * 1_000_000)


def tried(gap: Fraction, trial: str = "[thick, thick, B]") -> dict[str, Length]:
    return doubts(f"{{tried: {{trial: {trial}, gap: {float(gap):.5f}}}}}")["tried"]


def deep(depth: Fraction, edge: Fraction = EDGE) -> dict[str, Length]:
    readings = f"{{depth: {float(depth):.5f}, straightedge: {float(edge):.5f}}}"
    return doubts(f"{{deep: {{readings: {readings}}}}}")["deep"]


def test_the_true_readings_fit() -> None:
    gaps = (
        "{tried: {trial: [thick, thick, B], gap: 1.0}, "
        "deep: {readings: {depth: 16.37, straightedge: 6.35}}}"
    )
    report = fit_case(case_of(parse(DRUM.replace("GAPS", gaps), "job.yaml")))
    assert not isinstance(report.answer, NoFit)


def test_inches_written_as_millimetres_are_named() -> None:
    inches = Fraction("16.37") / Fraction("25.4")
    meant = deep(inches)["`depth` read in inches"]
    assert abs(meant - mm(Fraction("16.37"))) < Length(1_000)


def test_a_straightedge_subtracted_twice_is_named() -> None:
    found = deep(Fraction("16.37") - EDGE)
    assert found["`straightedge` subtracted twice: it was taken off before"] == mm(
        Fraction("16.37")
    )


@pytest.mark.parametrize(("part", "thickness"), [("friction", "2.0"), ("steel thick", "2.2")])
def test_a_plate_that_was_not_in_the_trial_build_is_named(part: str, thickness: str) -> None:
    found = tried(TRUE_GAP + Fraction(thickness))
    assert found[f"one {part} fewer in the trial build than listed"] == mm(TRUE_GAP)


def test_a_ring_left_out_of_the_trial_build_is_named() -> None:
    found = tried(TRUE_GAP + Fraction("1.6"))
    assert found["one ring B fewer in the trial build than listed"] == mm(TRUE_GAP)


def test_a_ring_on_the_inner_face_of_its_groove_is_named() -> None:
    true = TRUE_GAP + Fraction("0.1")
    found = tried(true - 1, "[thin, thin, B]")
    assert found["the ring B on the inner face of its groove"] == mm(true)


def test_another_size_than_the_one_listed_is_named() -> None:
    found = tried(Fraction("0.35"), "[thin, thin, B]")
    assert found["steel thick in the trial build, not thin"] == mm(Fraction("0.75"))


def test_plates_of_a_look_alike_family_are_named() -> None:
    found = deep(Fraction("15.60"))
    assert "thin friction parts in the place of friction" in found


def test_a_space_that_only_lacks_stock_is_not_doubted() -> None:
    text = DRUM.replace("thin: 4", "thin: 0").replace("GAPS", "{tried: {trial: none, gap: 5.9}}")
    report = fit_case(case_of(parse(text, "job.yaml")))
    assert isinstance(report.answer, NoFit)
    assert report.doubtful == {}
