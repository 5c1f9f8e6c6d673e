"""Lengths as they are printed, beside their limits too, and those out of all proportion."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from specs.values.lengths import (
    Length,
    LengthError,
    LengthUnit,
    Scale,
    number,
    parse_length,
    show,
    show_beside_limits,
)
from specs.values.plausibility import check_proportion

NM: dict[Scale, int] = {"in": 25_400_000, "mm": 1_000_000, "thou": 25_400, "um": 1_000}

any_length = st.fractions(-(10**9), 10**9, max_denominator=48).map(Length)
units: st.SearchStrategy[Scale] = st.sampled_from([*NM])


# In proportion.


@pytest.mark.parametrize(
    ("text", "kind", "unit", "sentence"),
    [
        (
            "71 in",
            "steel",
            None,
            "71 in is no thickness for a steel: did you mean 71 thou (0.071 in)?",
        ),
        (
            "71",
            "steel",
            "in",
            "71 in is no thickness for a steel: did you mean 71 thou (0.071 in)?",
        ),
        ("1.80", "ring", "in", "1.80 in is no thickness for a ring: did you mean 1.80 mm?"),
        (".071", "steel", "mm", ".071 mm is no thickness for a steel: did you mean 0.071 in?"),
        ("0,071 mm", "steel", "mm", "0,071 mm is no thickness for a steel: did you mean 0.071 in?"),
        (
            ".47",
            "apply plate",
            "thou",
            ".47 thou is no thickness for an apply plate: did you mean 0.47 in or 0.47 mm?",
        ),
        (
            "80",
            "reading",
            "in",
            "80 in is no reading of a transmission: did you mean 80 thou (0.080 in) or 80 mm?",
        ),
        (
            "1 in",
            "tells",
            None,
            "1 in is no step a gauge can tell: did you mean 1 thou (0.001 in) or 1 mm?",
        ),
        (
            "-1 mm",
            "shim",
            None,
            "-1 mm is no thickness for a shim: one lies between 0.02 mm and 15.00 mm",
        ),
        (
            "0",
            "washer",
            "in",
            "0 in is no thickness for a washer: one lies between 0.0079 in and 3.1496 in",
        ),
        (
            "9999 in",
            "tolerance",
            None,
            "9999 in is no tolerance of a thickness: one lies between 0.00 mm and 2.00 mm",
        ),
        ("1 1/16", "ring", "in", "1.0625 in is no thickness for a ring: did you mean 1.0625 mm?"),
    ],
)
def test_a_value_out_of_proportion_is_told_what_it_meant(
    text: str, kind: str, unit: LengthUnit | None, sentence: str
) -> None:
    with pytest.raises(LengthError) as caught:
        check_proportion(parse_length(text, unit), kind, text, unit)
    assert str(caught.value) == sentence


def test_an_end_of_a_range_is_named_by_its_own_value() -> None:
    with pytest.raises(LengthError, match=r"^60\.000 in is no limit of a window"):
        check_proportion(parse_length("60 in"), "window", "60 to 80", "in")


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [
        ("steel", "0.3 mm", "15 mm"),
        ("spacer", "0.2 mm", "80 mm"),
        ("shim", "0.02 mm", "15 mm"),
        ("reading", "-600 mm", "600 mm"),
        ("window", "-600 mm", "600 mm"),
        ("tells", "0.0001 mm", "1 mm"),
        ("tolerance", "0 mm", "2 mm"),
    ],
)
def test_both_bounds_of_a_proportion_are_taken(kind: str, low: str, high: str) -> None:
    for text, step in ((low, Length(-1)), (high, Length(1))):
        check_proportion(parse_length(text), kind, text, None)
        with pytest.raises(LengthError):
            check_proportion(parse_length(text) + step, kind, text, None)


# What is printed.


@pytest.mark.parametrize(
    ("text", "unit", "shown"),
    [
        ("0.068 in", "in", "0.068 in"),
        ("0.0685 in", "in", "0.0685 in"),
        ("0.07 in", "in", "0.070 in"),
        ("0.068 in", "mm", "1.727 mm"),
        ("1.7 mm", "mm", "1.70 mm"),
        ("0.068 in", "thou", "68 thou"),
        ("68.5 thou", "thou", "68.5 thou"),
        ("100 thou", "thou", "100 thou"),
        ("-0.5 mm", "mm", "-0.50 mm"),
        ("0.0001 mm", "mm", "0.00 mm"),
        ("-0.0001 mm", "mm", "0.00 mm"),
        ("1.6764 mm", "um", "1676.4 um"),
        ("0.0005 mm", "mm", "0.00 mm"),
        ("0.0015 mm", "mm", "0.002 mm"),
        ("-0.0015 mm", "mm", "-0.002 mm"),
    ],
)
def test_a_length_is_printed_for_the_bench(text: str, unit: Scale, shown: str) -> None:
    assert show(parse_length(text), unit) == shown
    assert number(parse_length(text), unit) == shown.partition(" ")[0]


def test_the_decimals_asked_for_are_kept() -> None:
    assert show(Length(1_700_000), "mm", decimals=5) == "1.70000 mm"
    assert show(Length(2_500_000), "mm", decimals=0) == "2 mm"
    assert number(Length(3_500_000), "mm", 0) == "4"


@given(any_length, units, st.integers(0, 8))
def test_rounding_is_to_the_nearest_and_never_passes_a_float(
    length: Length, unit: Scale, places: int
) -> None:
    printed = Fraction(number(length, unit, places)) * NM[unit]
    assert abs(printed - length.nm) <= Fraction(NM[unit], 2 * 10**places)


@pytest.mark.parametrize(
    ("gap", "lo", "hi", "unit", "shown"),
    [
        ("0.068 in", "0.060 in", "0.080 in", "in", "0.068 in"),
        ("0.05999 in", "0.060 in", "0.080 in", "in", "0.05999 in"),
        ("0.060 in", "0.060 in", "0.080 in", "in", "0.060 in"),
        ("0.08001 in", None, "0.080 in", "in", "0.08001 in"),
        ("0.05996 in", None, None, "in", "0.060 in"),
        ("1.7 mm", "1.7 mm", "2.1 mm", "in", "0.0669 in"),
        ("2.099999 mm", "1.7 mm", "2.1 mm", "mm", "2.099999 mm"),
        ("59.99 thou", "60 thou", None, "thou", "59.99 thou"),
    ],
)
def test_rounding_never_moves_a_gap_across_its_limit(
    gap: str, lo: str | None, hi: str | None, unit: LengthUnit, shown: str
) -> None:
    low, high = (parse_length(limit) if limit else None for limit in (lo, hi))
    assert show_beside_limits(parse_length(gap), low, high, unit) == shown


def test_a_gap_closer_than_nine_decimals_is_rounded_to_its_own_side() -> None:
    limit, hair = parse_length("0.060 in"), Length(Fraction(1, 10**6))
    assert show_beside_limits(limit - hair, limit, None, "in") == "0.059999999 in"
    assert show_beside_limits(limit + hair, None, limit, "in") == "0.060000001 in"


@given(any_length, any_length, st.fractions(-2, 2, max_denominator=7), units)
def test_a_printed_gap_stands_to_its_limits_as_the_gap_does(
    lo: Length, width: Length, hair: Fraction, unit: Scale
) -> None:
    hi = lo + abs(width) + Length(1000)
    for limit in (lo, hi):
        gap = limit + Length(hair)
        printed = Length(
            Fraction(show_beside_limits(gap, lo, hi, unit).partition(" ")[0]) * NM[unit]
        )
        assert gap == limit or (printed < limit, printed > limit) == (gap < limit, gap > limit)
