"""The main job against standards and a textbook: DIN 471, 472 and 988, Shigley."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING, Any

import pytest

from gapwright.fit.service import fit_case
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from tests.published.compared import NM, Answered, answer, disagreements
from tests.published.printed import PUBLISHED, checks, decimal

if TYPE_CHECKING:
    from solver.problem.solution import Answer

RINGS = yaml_door.read(PUBLISHED / "standards" / "retaining_rings.yaml").data
SHAFTS = RINGS["shafts"]["rows"]
BORES = RINGS["bores"]["rows"]
GROOVE = yaml_door.read(PUBLISHED / "standards" / "groove.yaml").data
SCREW = yaml_door.read(PUBLISHED / "standards" / "shigley_1_3.yaml").data

(SHIMS,) = checks("standards")


def ask(data: dict[str, Any]) -> Answer:
    return fit_case(case_of(yaml_door.Source("standard", data, {}))).answer


def in_groove(takes: str, shelf: dict[str, Any]) -> Answer:
    """Ask for any ring of the shelf in a groove; the family is made in the shelf's sizes."""
    play = {
        **GROOVE["unit"]["end plays"]["shaft"],
        "stack": [{"part": "ring", "groove": takes}],
    }
    ring = {**GROOVE["unit"]["families"]["ring"], "sizes": {size: size for size in shelf}}
    unit = {"families": {"ring": ring}, "end plays": {"shaft": play}}
    return ask({**GROOVE, "unit": unit, "shelf": {"ring": shelf}})


def test_a_groove_is_a_tenth_wider_than_its_ring_and_more_from_two_millimetres() -> None:
    """Derived from DIN 471: m - s is 0.10 up to s = 1.75 and 0.15 from s = 2.00."""
    for _, s, m in SHAFTS:
        assert Fraction(m) - Fraction(s) == Fraction("0.10" if Fraction(s) < 2 else "0.15")


@pytest.mark.parametrize("row", SHAFTS, ids=lambda row: f"shaft {row[0]}")
def test_a_groove_takes_its_own_ring_of_the_series_and_no_other(row: list[str]) -> None:
    """DIN 471: of all its thicknesses only s lies between s and m."""
    _, s, m = row
    chosen = in_groove(f"{s} to {m} mm", {other: "1" for _, other, _ in SHAFTS})
    assert isinstance(chosen, Fit)
    assert [chosen.instance.choices[place[0]].size for place in chosen.build[0].parts] == [s]
    without = {other: "0" if other == s else "1" for _, other, _ in SHAFTS}
    assert isinstance(in_groove(f"{s} to {m} mm", without), NoFit)


@pytest.mark.parametrize("row", BORES, ids=lambda row: f"bore {row[0]}")
def test_a_ring_as_measured_is_taken_within_its_tolerance_and_its_groove(row: list[str]) -> None:
    """DIN 472: s with its lower deviation to the groove width m, in steps of 0.01."""
    _, s, deviation, m = row
    low, high = Fraction(s) + Fraction(deviation), Fraction(m)
    met = set()
    for hundredth in range(-12, 16):
        thickness = Fraction(s) + Fraction(hundredth, 100)
        lot = {"count": "1", "thickness": f"{decimal(thickness)} mm"}
        fits = isinstance(in_groove(f"{decimal(low)} to {m} mm", {s: lot}), Fit)
        assert fits == (low <= thickness <= high)
        met.add(fits)
    assert met == {True, False}


def test_a_groove_that_no_ring_of_its_family_fits_is_an_error_of_the_unit() -> None:
    """DIN 471: no ring of the table lies between 1.30, the groove of shaft 20, and 1.70."""
    with pytest.raises(InputError, match="no size of this ring fits its groove"):
        in_groove("1.35 to 1.70 mm", {"1.2": "1"})


def test_shims_are_laid_together_to_every_sum_they_reach() -> None:
    """DIN 988, series from memory, up to three together."""
    assert list(disagreements(SHIMS)) == []


def test_a_shim_rule_moved_by_one_step_is_noticed() -> None:
    assert any(disagreements(SHIMS, shift=SHIMS.step))


def shimmed(gap: str) -> Answered:
    """Our answer to one of the readings of the sweep."""
    (given,) = (one for one in SHIMS.readings() if one["gap"] == gap)
    ours = answer(SHIMS, given)
    assert ours
    return ours


@pytest.mark.parametrize("gap", ["1.800", "2.500", "3.050"])
def test_a_sum_of_three_shims_is_a_fit(gap: str) -> None:
    """Derived from the series of DIN 988: 1.0 + 0.5 + 0.3, 1.0 + 1.0 + 0.5, 3 times 1.0 + 0.05."""
    assert shimmed(gap).fits


@pytest.mark.parametrize("gap", ["1.900", "2.400", "3.075"])
def test_a_hole_between_the_sums_is_told_as_no_fit(gap: str) -> None:
    """Derived from the series of DIN 988."""
    assert not shimmed(gap).fits


def screw(gap: str, job: dict[str, Any], window: str | None = None) -> Answer:
    """Ask for one gap of the shouldered screw."""
    play = dict(SCREW["unit"]["end plays"][gap])
    if window:
        play["window"] = window
    unit = {**SCREW["unit"], "end plays": {gap: play}}
    return ask({**SCREW, "unit": unit, "job": {"readings": {"zero": "0"}, "gaps": {}, **job}})


def left(answer: Answer) -> Fraction:
    """The gap in inches."""
    assert isinstance(answer, Fit)
    return Fraction(answer.gaps[0]) * answer.instance.step / NM["in"]


# Shigley, 9th edition, Example 1-3: a 1.750 with 0.003 either side, and so on.
LIMITS = {
    "a": ("1.747", "1.753"), "b": ("0.749", "0.751"), "c": ("0.115", "0.125"),
    "d": ("0.874", "0.876"),
}  # fmt: skip


def corners() -> list[dict[str, str]]:
    return [dict(zip(LIMITS, values, strict=True)) for values in product(*LIMITS.values())]


def test_the_mean_gap_of_the_screw_is_five_thousandths() -> None:
    """Shigley, Example 1-3: w = 1.750 - 0.750 - 0.120 - 0.875 = 0.005."""
    assert left(screw("parts", {"gaps": {"parts": {}}})) == Fraction("0.005")


@pytest.mark.parametrize("how", ["parts", "readings"])
def test_the_worst_gaps_of_the_screw_are_as_the_book_says(how: str) -> None:
    """Shigley, Example 1-3: w between -0.005 and 0.015, each met at one corner alone."""
    found = []
    for corner in corners():
        job: dict[str, Any] = {"parts": corner, "gaps": {how: {}}}
        if how == "readings":
            job = {"gaps": {how: {"readings": corner}}}
        gap = left(screw(how, job))
        a, b, c, d = (Fraction(corner[name]) for name in "abcd")
        assert gap == a - b - c - d
        found.append(gap)
    assert min(found) == Fraction("-0.005")
    assert max(found) == Fraction("0.015")
    assert [found.count(end) for end in (min(found), max(found))] == [1, 1]


@pytest.mark.parametrize(("window", "lost"), [("-0.0049 to 0.015", 1), ("-0.005 to 0.0149", 1)])
def test_a_window_a_tenth_narrower_loses_one_corner(window: str, lost: int) -> None:
    """Derived from Shigley, Example 1-3."""
    answers_ = [screw("parts", {"parts": c, "gaps": {"parts": {}}}, window) for c in corners()]
    assert sum(isinstance(answer, NoFit) for answer in answers_) == lost


@pytest.mark.parametrize(("gap", "part"), [("choice", ".867"), ("choice of a", "1.758")])
def test_the_part_that_leaves_three_thousandths_at_the_worst_is_chosen(gap: str, part: str) -> None:
    """Shigley, Example 1-3: w at least 0.003 asks for a mean of 0.013, so for d = 0.867.

    That a = 1.758 does the same is derived.
    """
    answer = screw(gap, {"gaps": {gap: {}}})
    assert left(answer) == Fraction("0.013")
    assert isinstance(answer, Fit)
    assert [answer.instance.choices[choice].size for (choice,) in answer.build[0].parts] == [part]


def test_the_worst_gap_with_that_part_is_three_thousandths() -> None:
    """Shigley, Example 1-3, with d = 0.867 and 0.001 either side."""
    gaps = []
    for corner in corners():
        d = Fraction(corner["d"]) - Fraction("0.875") + Fraction("0.867")
        moved = {**corner, "d": decimal(d)}
        gaps.append(left(screw("parts", {"parts": moved, "gaps": {"parts": {}}}, "-1 to 1")))
    assert min(gaps) == Fraction("0.003")
