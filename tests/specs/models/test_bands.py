"""Torques, turns and the travel of a band: exact, and against figures from outside."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from scipy import constants

from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.models.bands import Band, band_findings
from specs.values.lengths import Length
from specs.values.torque import Torque, TorqueText, Turns, TurnsText, show_torque

TORQUE: TypeAdapter[Torque] = TypeAdapter(TorqueText)
TURNS: TypeAdapter[Turns] = TypeAdapter(TurnsText)
# scipy.constants: pound, inch, foot and g, as the 2018 CODATA set and NIST SP 811 define them
NEWTON_METRES = {
    "N m": 1.0,
    "in lb": constants.lbf * constants.inch,
    "ft lb": constants.lbf * constants.foot,
    "kgf m": constants.kgf,
    "kgf cm": constants.kgf / 100,
}
UNIT = """\
length: mm
unit:
  families: {washer: {kind: washer, sizes: [1.0, 1.2]}}
  end plays: {play: {window: 0.1 to 0.3, stack: [washer]}}
  bands:
    low band: {tighten: 8 N m, back off: 2, pitch: 1.25, lever: 3/2}
"""


def refused(kind: TypeAdapter[Torque] | TypeAdapter[Turns], text: str) -> str:
    with pytest.raises(ValidationError) as error:
        kind.validate_python(text)
    return str(error.value.errors()[0]["ctx"]["sentence"])


@given(st.integers(1, 50), st.sampled_from(sorted(NEWTON_METRES)))
def test_a_torque_is_what_the_constants_make_of_it(digits: int, unit: str) -> None:
    most = int(75 / NEWTON_METRES[unit])
    number = 1 + digits % most
    found = TORQUE.validate_python(f"{number} {unit}")
    assert float(found.newton_metres) == pytest.approx(number * NEWTON_METRES[unit], rel=1e-12)
    assert show_torque(found).startswith(f"{number} {unit} (")


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("5 N m", "5 N m (44 in lb)"),
        ("72 in-lb", "72 in lb (8.1 N m)"),
        ("72 in. lbs.", "72 in lb (8.1 N m)"),
        ("29 Nm", "29 N m (21.4 ft lb)"),
        ("20 ft lb", "20 ft lb (27.1 N m)"),
        ("8\u00b7N", None),
        ("1,2 kgf-m", "1.2 kgf m (11.8 N m)"),
        ("5 Nm (3.7 ft lb)", "5 N m (44 in lb)"),
        ("8.1 N m / 72 in lb", "8.1 N m (72 in lb)"),
    ],
)
def test_torques_are_taken_as_manuals_print_them(written: str, shown: str | None) -> None:
    if shown is None:
        assert "write a torque such as" in refused(TORQUE, written)
    else:
        assert show_torque(TORQUE.validate_python(written)) == shown


def test_inch_pounds_read_as_foot_pounds_are_refused() -> None:
    """A mix-up rebuilders tell of: common practice, no source."""
    says = refused(TORQUE, "72 ft lb")
    assert says == (
        'found "72 ft lb"; no torque for a band\'s screw; did you mean 72 in lb (8.1 N m)?'
    )


def test_two_torques_that_do_not_agree_are_both_refused() -> None:
    assert "10 N m is 88.5 in lb" not in refused(TORQUE, "10 N m (60 in lb)")
    assert "10 N m is 89 in lb: neither is taken" in refused(TORQUE, "10 N m (60 in lb)")


@pytest.mark.parametrize("written", ["0 N m", "600 N m", "900 in lb", "90 N m / 797 in lb"])
def test_a_torque_no_band_is_set_to_is_refused(written: str) -> None:
    says = refused(TORQUE, written)
    assert "no torque for a band's screw" in says
    assert ("did you mean 600 in lb (67.8 N m)" in says) == (written == "600 N m")


@pytest.mark.parametrize(
    ("written", "least", "most"),
    [
        ("2", "2", "2"), ("2 1/2", "5/2", "5/2"), ("2 to 2 1/4", "2", "9/4"),
        ("1.5 - 3", "3/2", "3"), ("3/4", "3/4", "3/4"),
    ],
)  # fmt: skip
def test_turns_are_taken_as_manuals_print_them(written: str, least: str, most: str) -> None:
    found = TURNS.validate_python(written)
    assert (found.least, found.most) == (Fraction(least), Fraction(most))


@pytest.mark.parametrize("written", ["0", "12", "3 to 2", "two", "", "2 turns"])
def test_other_turns_are_refused(written: str) -> None:
    assert "turns" in refused(TURNS, written)


@given(
    st.integers(1, 20), st.integers(0, 20), st.integers(300, 6000),
    st.fractions(Fraction(1, 4), 4, max_denominator=8),
)  # fmt: skip
def test_the_travel_is_turns_by_pitch_by_lever(
    quarters: int, more: int, microns: int, lever: Fraction
) -> None:
    most = min(quarters + more, 40)
    data = {
        "tighten": "8 N m", "back off": f"{quarters / 4} to {most / 4}",
        "pitch": f"{microns / 1000:.3f} mm", "lever": str(lever),
    }  # fmt: skip
    band = Band.model_validate(data)
    screw, end = band.screw_travel, band.end_travel
    assert screw is not None
    assert end is not None
    assert screw.low == Length(Fraction(quarters, 4) * microns * 1000)
    assert screw.high == Length(Fraction(most, 4) * microns * 1000)
    assert end.low == Length(Fraction(quarters, 4) * microns * 1000 * lever)
    assert end.high == Length(Fraction(most, 4) * microns * 1000 * lever)
    assert not [*band_findings((), band)][1:]  # the pitch is weighed, and nothing else is wrong


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("pitch: 1.25", "pitch: 1.25, travel: 3.5 to 4.0", ""),
        ("pitch: 1.25", "pitch: 1.25, travel: 1.0 to 1.7", "the turns give 3.75 to 3.75 mm"),
        ("pitch: 1.25, lever: 3/2", "travel: 1.0 to 1.7", "travel: goes with a `pitch`"),
        ("pitch: 1.25, lever: 3/2", "lever: 2", "lever: goes with a `pitch`"),
        ("pitch: 1.25", "pitch: 1.25 in", "1.25 in is no pitch of a screw: did you mean 1.25 mm"),
        ("lever: 3/2", "lever: 0", "a lever is more than nothing"),
        ("lever: 3/2", "times: 2", "goes with `bed in`; write both"),
        ("lever: 3/2", "bed in: 10 N m, times: 0", "write how often it is bedded in, 1 or more"),
        ("tighten: 8 N m", "tighten: 96 ft lb", "bands.low band.tighten: found"),
        ("back off: 2,", "", "low band.back off: this key is missing"),
    ],
)
def test_what_is_wrong_with_a_band_is_one_sentence(old: str, new: str, says: str) -> None:
    assert old in UNIT
    text = UNIT.replace(old, new)
    if not says:
        case_of(parse(text, "unit.yaml"), needs=("unit",))
        return
    with pytest.raises(InputError) as error:
        case_of(parse(text, "unit.yaml"), needs=("unit",))
    (problem,) = error.value.problems
    assert says in str(problem)
    assert problem.line == 6
