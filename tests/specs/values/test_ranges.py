"""Ranges and windows as people write them, and the words in which others are refused."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from specs.values.lengths import Length, LengthError, LengthUnit, parse_length, show
from specs.values.ranges import parse_range

UNITS: tuple[LengthUnit, ...] = ("in", "mm", "thou")
PIECES = [*"0123456789.,+-/()[]\"' ", "to", "at most ", "..", "\u00b1", "mm", "in", "thou", "1.7"]

units = st.sampled_from(UNITS)
lengths = st.integers(-600_000_000, 600_000_000).map(Length)
scribble = st.text() | st.lists(st.sampled_from(PIECES), max_size=14).map("".join)


def mm(text: str, unit: LengthUnit | None = None) -> tuple[str | None, str | None]:
    low, high = parse_range(text, unit)
    return show(low, "mm") if low else None, show(high, "mm") if high else None


@pytest.mark.parametrize(
    "text",
    [
        *("1.7 to 2.1 mm", "1.7 TO 2.1 mm", "1.7to2.1mm", "1.7 mm to 2.1 mm", "1,7 to 2,1 mm"),
        *("1.7 - 2.1 mm", "1.7-2.1 mm", "1.7 -2.1 mm", "1.7\u20132.1 mm", "1.7 \u2014 2.1 mm"),
        *("1.7..2.1 mm", "1.7 .. 2.1 mm", "1.9 \u00b1 0.2 mm", "1.9 +/- 0.2 mm", "1.9+-.2 mm"),
        *("1.7 to 2.1 mm (0.067 to 0.083 in)", "1.7 - 2.1 mm / .067 - .083 in"),
        *("1.7 mm (0.067 in) to 2.1 mm (0.083 in)", "1.9 \u00b1 0.2 mm (0.075 \u00b1 0.008 in)"),
        *("1700 to 2100 um", "1.7 mm to 2100 um", "1.7\u00a0mm\u2009to\u00a02.1\u00a0mm"),
    ],
)
def test_every_way_to_write_1_7_to_2_1_mm(text: str) -> None:
    assert mm(text) == mm(text, "in") == ("1.70 mm", "2.10 mm")


@pytest.mark.parametrize("text", [".060 to .080", ".060-.080", ".070 \u00b1 .010", "0.060..0.080"])
def test_bare_ends_take_the_declared_unit(text: str) -> None:
    assert parse_range(text, "in") == (parse_length("0.060 in"), parse_length("0.080 in"))


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("-0.10 to -0.05 mm", ("-0.10 mm", "-0.05 mm")),
        ("\u22120.10 \u2013 \u22120.05 mm", ("-0.10 mm", "-0.05 mm")),
        ("-0.10--0.05 mm", ("-0.10 mm", "-0.05 mm")),
        ("-0.05 to +0.05 mm", ("-0.05 mm", "0.05 mm")),
        ("0 \u00b1 0.05 mm", ("-0.05 mm", "0.05 mm")),
    ],
)
def test_a_preload_is_a_range_below_zero(text: str, ends: tuple[str, str]) -> None:
    assert mm(text) == ends


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("at most 0.030 in", (None, "0.762 mm")),
        ("At Most 0.76 mm (0.030 in)", (None, "0.76 mm")),
        ("at least .010", ("0.254 mm", None)),
        ("at most -0.05 mm", (None, "-0.05 mm")),
    ],
)
def test_one_end_may_be_open(text: str, ends: tuple[str | None, str | None]) -> None:
    assert mm(text, "in") == ends


def test_ends_may_have_units_of_their_own_and_fractions() -> None:
    assert mm("1.7 mm to 0.100 in") == ("1.70 mm", "2.54 mm")
    assert mm('1/16 to 7/64"') == ("1.588 mm", "2.778 mm")


def test_a_window_may_have_no_width() -> None:
    assert mm("0.1 to 0.1", "mm") == mm("0.1 \u00b1 0 mm") == ("0.10 mm", "0.10 mm")


@given(lengths, lengths, st.sampled_from([" to ", " - ", "..", "-", " \u2013 "]))
def test_a_written_range_reads_back(one: Length, other: Length, between: str) -> None:
    low, high = sorted((one, other))
    text = between.join(show(end, "mm", decimals=6) for end in (low, high))
    assert parse_range(text) == (low, high)
    assert parse_range(text.replace(" mm", ""), "mm") == (low, high)


@given(scribble, st.none() | units)
def test_random_text_raises_nothing_but_a_length_error(text: str, unit: LengthUnit | None) -> None:
    with suppress(LengthError):
        low, high = parse_range(text, unit)
        assert low is not None or high is not None
        assert low is None or high is None or low <= high
        return
    with pytest.raises(LengthError) as caught:
        parse_range(text, unit)
    assert str(caught.value).isprintable()


SHAPES = "write one like 0.060 to 0.080 in, 1.7 \u00b1 0.1 mm, at least 0.010 in or at most 0.25 mm"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", f"'' is no range: {SHAPES}"),
        ("1.7 to", f"'1.7 to' is no range: {SHAPES}"),
        ("1...2 mm", f"'1...2 mm' is no range: {SHAPES}"),
        ("1 to 2 to 3 mm", f"'1 to 2 to 3 mm' is no range: {SHAPES}"),
        ("nan to inf mm", f"'nan to inf mm' is no range: {SHAPES}"),
        (
            "0.1 mm",
            "'0.1 mm' is one length, not a range: for a window without width write 0.1 to 0.1 mm",
        ),
        (
            '7/64"',
            "'7/64\"' is one length, not a range: for a window without width write 7/64 to 7/64\"",
        ),
        (
            "2.1 to 1.7 mm",
            "'2.1 to 1.7 mm' is upside down, 2.1 mm is more than 1.7 mm: write 1.7 mm to 2.1 mm",
        ),
        (
            "1.7 mm to 2.1",
            "'1.7 mm to 2.1' has a unit after the first number only: write it after the second",
        ),
        (
            "1.7 \u00b1 -0.1 mm",
            "'1.7 \u00b1 -0.1 mm' has a tolerance below zero: write it without its sign",
        ),
        ("1,7 to 2,1", "'2,1' has a decimal comma, taken in millimetres only: write 2.1"),
        (
            "1.7 to 2.1 mm (0.067 to 0.83 in)",
            (
                "'1.7 to 2.1 mm (0.067 to 0.83 in)' gives two lengths, 2.1 mm is 0.0827 in, "
                "not 0.83 in: neither is taken, write the right one"
            ),
        ),
        (
            "1.9 \u00b1 0.2 mm (0.75 \u00b1 0.08 in)",
            (
                "'1.9 \u00b1 0.2 mm (0.75 \u00b1 0.08 in)' gives two lengths, 1.70 mm is "
                "0.0669 in, not 0.670 in: neither is taken, write the right one"
            ),
        ),
    ],
)
def test_a_refusal_says_what_was_found_and_what_to_write(text: str, sentence: str) -> None:
    with pytest.raises(LengthError) as caught:
        parse_range(text, "in")
    assert str(caught.value) == sentence


@pytest.mark.parametrize("text", ["1.7 to 2.1", "at most 0.25", "1.7 \u00b1 0.1"])
def test_a_range_without_any_unit_is_refused(text: str) -> None:
    with pytest.raises(LengthError, match="has no unit"):
        parse_range(text)
