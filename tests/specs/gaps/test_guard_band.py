"""How far `safe` keeps a gap from its limits: figures worked out by hand, in nanometres."""

from __future__ import annotations

from fractions import Fraction

import pytest

from specs.errors import InputError
from specs.gaps.guard_band import guard_band
from specs.gaps.varied_reading import move_reading, move_space
from specs.models.aims import AIMS
from specs.uncertainty.propagation import one_sided
from specs.values.lengths import Length
from tests.specs.gaps.test_sources import case

READ = "    high: {readings: {depth: [9.50, 9.52], edge: 1.00}}\n"
STACK = "stack: [disc, {repeat: 2, of: [steel, disc]}, ring]"
RINGS = "ring: {kind: ring, sizes: {A: 1.45 to 1.55, B: 1.95 to 2.05}}"


def window(text: str) -> tuple[str, str]:
    """Exchange the window of the high pack."""
    return "    high:\n      window: 0.8 to 1.2", f"    high:\n      window: {text}"


@pytest.mark.parametrize(
    ("gap", "band"),
    [
        # One place of a feeler that tells 0.05 mm, spread 0.0254 mm; one ring in and one out.
        # 25400^2 + 50000^2/3 + 2 * 50000^2/3 = 56081.7^2, and 1.645 * 56082 = 92254.9.
        ("low", 92_255),
        # Two places and one; what the gauge is off in all of them cancels. 52813.3^2, 86879.03.
        ("high", 86_880),
        # A dial of u 0.01 mm, a washer within 0.05 mm: 42031.7^2. Half of the dial: 41129.8^2.
        ("front", 69_143),
        ("rear", 67_659),
    ],
)
def test_it_is_as_worked_out_by_hand(gap: str, band: int) -> None:
    assert guard_band(case(), gap, "stack") == Length(band)


def test_it_is_no_more_than_a_quarter_of_the_window() -> None:
    narrow = case(window("0.8 to 1.0301"))
    assert guard_band(narrow, "high", "stack") == Length(Fraction(230_100, 4))
    nothing = case(window("{gap: 1.0 to 1.0, scale: 0.4}"))
    assert guard_band(nothing, "high", "stack") == Length(0)


def test_of_a_window_with_one_limit_its_scale_is_the_width() -> None:
    open_ = case(window("{gap: at least 0.8, aim: 1.0, scale: 0.2}"))
    assert guard_band(open_, "high", "stack") == Length(50_000)


def test_parts_tried_measured_or_on_the_shelf_do_not_change_it() -> None:
    for change in (
        ("trial: [thick, thick, A]", "trial: [thin, thin, B 2.01]"),
        ("trial: [thick, thick, A]", "trial: none"),
        ("shelf: {}", "shelf: {ring: {A: [{count: 1, thickness: 1.47}]}, steel: {thin: 1}}"),
        ("  readings: {gasket: 0.40}\n", "  readings: {gasket: 0.40}\n  parts: {disc: 1.99}\n"),
    ):
        assert guard_band(case(change), "low", "stack") == Length(92_255), change


def test_only_sizes_that_the_unit_allows_at_a_place_count() -> None:
    ring = STACK, STACK.replace("ring", "{part: ring, only: [A]}")
    wide = RINGS, RINGS.replace("1.95 to 2.05", "1.85 to 2.15")
    assert guard_band(case(ring, wide), "low", "stack") == Length(92_255)
    assert guard_band(case(wide), "low", "stack") == Length(100_000)  # a quarter of the window


def test_what_is_not_read_yet_counts_as_the_unit_asks_for_it() -> None:
    asked = "{what: depth, gauge: depth gauge}", "{what: depth, gauge: depth gauge, places: 2}"
    assert guard_band(case(asked, (READ, "")), "high", "stack") == Length(86_880)
    # One place is one spot, which does not spread: 2 * 40000^2/3 + 2 * 50000^2/3 = 52281.3^2.
    assert guard_band(case((READ, "")), "high", "stack") == Length(86_004)


def test_it_is_the_same_where_a_space_or_a_reading_is_varied() -> None:
    for varied in (move_space(case(), "high"), move_reading(case(), "depth")):
        assert guard_band(varied.case, "high", "stack") == Length(86_880)
        assert guard_band(varied.at(Length(9_000_000)), "high", "stack") == Length(86_880)


def test_a_reading_whose_places_differ_more_asks_for_more() -> None:
    apart = case(("depth: [9.50, 9.52]", "depth: [9.46, 9.54]"))
    # (56568.5^2 + 40000^2/3)/2 + 40000^2/3 + 2 * 50000^2/3 = 63770.4^2
    assert guard_band(apart, "high", "stack") == Length(100_000)
    stated = case(("depth: [9.50, 9.52]", "depth: {at: [9.50, 9.52], u: 0.001}"))
    # 1000^2 + 40000^2/3 + 10000^2/3 (of the edge alone) + 2 * 50000^2/3 = 47268.7^2
    assert guard_band(stated, "high", "stack") == Length(77_758)


def test_a_gap_without_anything_to_choose_has_none() -> None:
    plate = "    disc: {", "    plate: {kind: pressure plate, fixed: 2.0}\n    disc: {"
    fixed = case(plate, ("stack: [disc, steel, disc, ring]", "stack: [plate, disc, plate]"))
    assert guard_band(fixed, "high", "stack") is None


@pytest.mark.parametrize(
    ("percent", "factor"),
    [("50", 0), ("90", 1_282), ("95", 1_645), ("97.5", 1_960), ("99", 2_327), ("99.9", 3_091)],
)
def test_the_factor_is_rounded_up_in_the_third_decimal(percent: str, factor: int) -> None:
    """Quantiles of the normal: 1.2816, 1.6449, 1.9600, 2.3263, 3.0902."""
    assert one_sided(Fraction(percent)) == Fraction(factor, 1_000)


def test_a_job_states_how_certain_before_its_unit() -> None:
    unit = "length: mm\nunit:\n", "length: mm\nunit:\n  certainty: 99 %\n"
    job = "job:\n", "job:\n  certainty: 90\n"
    assert guard_band(case(unit), "front", "stack") == Length(97_809)  # 2.327 * 42032
    assert guard_band(case(unit, job), "front", "stack") == Length(53_886)  # 1.282 * 42032
    none = case(("job:\n", "job:\n  certainty: none\n"))
    assert none.aims == tuple(aim for aim in AIMS if aim != "safe")
    assert case().aims == AIMS


@pytest.mark.parametrize("word", ["49", "100", "95.123", "sure", "[95]", "1e2"])
def test_what_is_no_certainty_is_refused_with_what_to_write(word: str) -> None:
    with pytest.raises(InputError, match=r"write a percentage from 50 to 99\.99, such as 95 %"):
        case(("job:\n", f"job:\n  certainty: {word}\n"))
