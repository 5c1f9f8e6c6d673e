"""Lengths as the bench writes them: what is taken, what is refused and in which words."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from specs.values.lengths import (
    ZERO,
    Length,
    LengthError,
    LengthUnit,
    number,
    parse_length,
    show,
)

UNITS: tuple[LengthUnit, ...] = ("in", "mm", "thou")
PIECES = [
    *"0123456789.,+-/()[]\"'e_ \t",
    "in",
    "mm",
    "thou",
    "mil",
    "\u00a0",
    "\u2212",
    "1.7",
    "to",
]

units = st.sampled_from(UNITS)
whole_nm = st.integers(-600_000_000, 600_000_000).map(Length)
any_length = st.fractions(-(10**9), 10**9, max_denominator=48).map(Length)
scribble = st.text() | st.lists(st.sampled_from(PIECES), max_size=12).map("".join)


def refused(text: str, unit: LengthUnit | None = None) -> str:
    with pytest.raises(LengthError) as caught:
        parse_length(text, unit)
    return str(caught.value)


# A length is a number with arithmetic of its own.


def test_a_length_adds_scales_and_compares_exactly() -> None:
    third = Length(1) / 3
    assert third * 3 == Length(1) == 3 * third == third + third + third
    assert (Length(5) - Length(7), -Length(2), abs(Length(-2))) == (
        Length(-2),
        Length(-2),
        Length(2),
    )
    assert sum([Length(1), Length(2)], ZERO) == Length(3)
    assert Length(4) * Fraction(1, 2) == Length(6) / 3
    assert (bool(ZERO), bool(Length(-1)), Length(1) < Length(2)) == (False, True, True)
    assert isinstance(Length(1).nm, Fraction)
    assert len({Length(2), Length(Fraction(2))}) == 1


def test_a_float_never_becomes_a_length() -> None:
    with pytest.raises(TypeError, match="exact"):
        Length(0.5)  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="exact"):
        Length(1) * 0.5  # type: ignore[operator]


# What is taken.


@pytest.mark.parametrize(
    "text",
    [
        *("0.071 in", ".071 in", '.071"', ".071\u2033", ".071\u201d", ".071''", "0.071 In."),
        *("0.071 inch", "0.071 INCHES", "71 thou", "71 THOU", "71 thousandths", "71.0 thou"),
        *("1.8034 mm", "1,8034 mm", "1.8034MM", "1.8034 millimetres", "1.8034 Millimeter"),
        *("1803.4 um", "1803,4 \u00b5m", "1803.4 \u03bcm", "1803.4 microns"),
        *("0.071\u00a0in", "0.071\u2009in", "  0.071  in ", "+0.071 in", "000.071000 in"),
    ],
)
def test_every_way_to_write_71_thou(text: str) -> None:
    assert parse_length(text) == Length(1_803_400)
    assert parse_length(text, "mm") == Length(1_803_400)


@pytest.mark.parametrize(
    ("unit", "nm"), [("in", 47 * 25_400_000), ("thou", 47 * 25_400), ("mm", 47_000_000)]
)
def test_a_bare_number_takes_the_declared_unit(unit: LengthUnit, nm: int) -> None:
    assert parse_length("47", unit) == Length(nm)


@pytest.mark.parametrize("minus", ["-", "\u2212", "\u2013"])
def test_a_length_may_be_negative(minus: str) -> None:
    assert parse_length(f"{minus}0,10 mm") == Length(-100_000)
    assert parse_length(f"{minus}1 1/2 in") == Length(-38_100_000)


@pytest.mark.parametrize(
    ("text", "inches"),
    [("1/16 in", Fraction(1, 16)), ('7/64"', Fraction(7, 64)), ("1 1/128 in", Fraction(129, 128))],
)
def test_fractions_of_an_inch_are_exact(text: str, inches: Fraction) -> None:
    assert parse_length(text) == Length(inches * 25_400_000)
    assert parse_length(text.rstrip(' in"'), "in") == Length(inches * 25_400_000)


def test_a_bare_decimal_comma_is_taken_in_a_millimetre_file() -> None:
    assert parse_length("1,68", "mm") == parse_length(",168 mm") * 10 == Length(1_680_000)


@pytest.mark.parametrize(
    "text",
    [
        *("1.10 mm (0.043 in)", "1,10 mm (.043 in)", "1.10 mm [0.043 in]", "1.10 mm(43 thou)"),
        *("1.10 mm / .043 in", '1.10 mm/.043"', "1.10 mm / 1.10 mm"),
    ],
)
def test_two_units_that_agree_give_the_first(text: str) -> None:
    assert parse_length(text) == Length(1_100_000)


def test_two_units_with_a_fraction_and_a_bare_first() -> None:
    assert (
        parse_length("1/16 in (1.588 mm)")
        == parse_length("1/16 in / 1.588 mm")
        == Length(1_587_500)
    )
    assert parse_length("1.588 mm / 1/16 in") == Length(1_588_000)
    assert parse_length(".043 (1.10 mm)", "in") == Length(43 * 25_400)


@given(whole_nm, units)
def test_what_is_shown_with_enough_decimals_reads_back(length: Length, unit: LengthUnit) -> None:
    rounded = parse_length(show(length, unit, decimals={"in": 5, "thou": 2, "mm": 6}[unit]))
    assert abs(rounded - length) * 2 <= Length({"in": 254, "thou": 254, "mm": 0}[unit])
    assert parse_length(show(length, "mm", decimals=6)) == length


@given(st.integers(-60_000, 60_000), st.sampled_from(["in", "thou"]))
def test_every_ten_thousandth_reads_back(ticks: int, unit: LengthUnit) -> None:
    length = Length(2_540 * ticks)
    assert parse_length(show(length, unit)) == parse_length(number(length, unit), unit) == length


@given(any_length, units)
def test_a_dual_print_of_one_length_always_agrees(length: Length, unit: LengthUnit) -> None:
    metric, other = show(length, "mm"), show(length, unit)
    assert parse_length(f"{metric} ({other})") == parse_length(metric)
    assert parse_length(f"{other} / {metric}") == parse_length(other)


# What is refused.


@given(scribble, st.none() | units)
def test_random_text_raises_nothing_but_a_length_error(text: str, unit: LengthUnit | None) -> None:
    with suppress(LengthError):
        assert (parse_length(text, unit) * 128).nm.denominator == 1
        return
    assert refused(text, unit).isprintable()


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", "mm", "nan mm", "inf in", "1e3 mm", "1E-3 in", "0x1 mm", "1_000 mm", "1 000 mm"),
        *("1,234,567 mm", "1.234,5 mm", "1'000 mm", "1.2.3 mm", "5. mm", "--1 mm", "- 1 mm"),
        *("\uff11 mm", "\u0663 mm", "\u00bd in", "1 mm 2 mm", "1.10 mm (0.043 in", "1-1/16 in"),
        *("()", "1.7 to 2.1 mm", "2**3 mm", "1 mm\u200b", "\ud800", "\x00", "1/2/4 in"),
    ],
)
def test_what_is_no_length(text: str) -> None:
    assert "is no length: write one like 0.071 in, 1.80 mm or 71 thou" in refused(text, "mm")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("0.071", "'0.071' has no unit: write 0.071 in, 0.071 mm or 0.071 thou"),
        ("1,68", "'1,68' has no unit: write 1.68 in, 1.68 mm or 1.68 thou"),
        ("0,071 in", "'0,071 in' has a decimal comma, taken in millimetres only: write 0.071"),
        ("71,5 thou", "'71,5 thou' has a decimal comma, taken in millimetres only: write 71.5"),
        ("1,250 um", "'1,250 um' can be read two ways: write 1250 um or 1.250 um"),
        ("71 mil", "'71 mil' can be read as thousandths or as millimetres: write thou or mm"),
        ("71 Mils", "'71 Mils' can be read as thousandths or as millimetres: write thou or mm"),
        ("6.6 cm", "'6.6 cm' has the unknown unit 'cm': write in, mm, thou or um"),
        ("1/2 mm", "'1/2 mm' is a fraction, taken in inches only: write 1/2 in"),
        ("1/3 in", "'1/3 in' is no fraction of an inch: below the line stands 2, 4, 8 ... or 128"),
        ("1/0 in", "'1/0 in' is no fraction of an inch: below the line stands 2, 4, 8 ... or 128"),
        ("0.0000000000001 mm", "'0.0000000000001 mm' has too many digits: write at most 12"),
        ("9999999 mm", "'9999999 mm' is longer than a kilometre: write what was measured"),
        (
            "0.000001 in",
            (
                "'0.000001 in' is finer than a nanometre: write at most 5 decimals of an inch, "
                "2 of a thou, 6 of a millimetre or 3 of a micron"
            ),
        ),
        (
            "1.10 mm (0.43 in)",
            (
                "'1.10 mm (0.43 in)' gives two lengths, 1.10 mm is 0.0433 in, not 0.43 in: "
                "neither is taken, write the right one"
            ),
        ),
        (
            ".071 in / 18.0 mm",
            (
                "'.071 in / 18.0 mm' gives two lengths, .071 in is 1.803 mm, not 18.0 mm: "
                "neither is taken, write the right one"
            ),
        ),
        (
            "1.680000 mm (0.06610 in)",
            (
                "'1.680000 mm (0.06610 in)' gives two lengths, 1.680000 mm is 0.06614 in, "
                "not 0.06610 in: neither is taken, write the right one"
            ),
        ),
    ],
)
def test_a_refusal_says_what_was_found_and_what_to_write(text: str, sentence: str) -> None:
    assert refused(text) == sentence


def test_a_bare_decimal_comma_is_refused_in_an_inch_file() -> None:
    assert refused("1,68", "in").endswith("taken in millimetres only: write 1.68")


def test_a_fraction_needs_a_file_in_inches() -> None:
    assert refused("1/16", "mm").endswith("taken in inches only: write 1/16 in")


def test_a_whole_page_is_quoted_short() -> None:
    assert refused("5 mm " * 1000) == f"'{'5 mm ' * 12}...' is no length: it is longer than any"


@pytest.mark.parametrize("beside", ["0.0434 in", "0.0432 in"])
def test_two_prints_may_differ_by_half_a_last_digit_of_each(beside: str) -> None:
    assert parse_length(f"1.10 mm ({beside})") == Length(1_100_000)
    assert "gives two lengths" in refused(f"1.1000 mm ({beside})")
