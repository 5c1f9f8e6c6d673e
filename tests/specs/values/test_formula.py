"""A space as manuals print it: every way to write a sum, and how others are refused."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from specs.values.formula import FormulaError, parse_formula
from specs.values.lengths import Length, LengthUnit, parse_length

Written = tuple[Fraction, str]


def terms(text: str, unit: LengthUnit | None = "mm") -> list[Written]:
    """Each term with its factor; a fixed length by its nanometres."""
    return [
        (term.factor, term.name or str(term.length.nm if term.length else None))
        for term in parse_formula(text, unit).terms
    ]


def read(*written: tuple[str, str]) -> list[Written]:
    return [(Fraction(factor), name) for factor, name in written]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("depth", read(("1", "depth"))),
        ("depth - edge", read(("1", "depth"), ("-1", "edge"))),
        ("depth \u2212 edge", read(("1", "depth"), ("-1", "edge"))),
        ("  depth  -\tedge ", read(("1", "depth"), ("-1", "edge"))),
        ("- edge + depth", read(("-1", "edge"), ("1", "depth"))),
        ("-edge + depth", read(("-1", "edge"), ("1", "depth"))),
        ("+ depth", read(("1", "depth"))),
        ("L + gasket - l", read(("1", "L"), ("1", "gasket"), ("-1", "l"))),
        ("K + l/2 - m", read(("1", "K"), ("1/2", "l"), ("-1", "m"))),
        ("l / 2", read(("1/2", "l"))),
        ("3/2 * stroke", read(("3/2", "stroke"))),
        ("stroke * 3/2", read(("3/2", "stroke"))),
        ("stroke \u00d7 2", read(("2", "stroke"))),
        ("2 \u00b7 stroke - 0.5*depth", read(("2", "stroke"), ("-1/2", "depth"))),
        ("2*stroke/3", read(("2/3", "stroke"))),
        (".25 * stroke", read(("1/4", "stroke"))),
        ("0 * stroke", read(("0", "stroke"))),
        ("trial stack + gap", read(("1", "trial stack"), ("1", "gap"))),
        ("drum-depth - straight-edge", read(("1", "drum-depth"), ("-1", "straight-edge"))),
        ("depth of 2nd land - edge", read(("1", "depth of 2nd land"), ("-1", "edge"))),
        ("26.9 mm + l/2 - m", read(("1", "26900000"), ("1/2", "l"), ("-1", "m"))),
        ("26,9 - m", read(("1", "26900000"), ("-1", "m"))),
        ("m - .5", read(("1", "m"), ("-1", "500000"))),
        ("m - 1/2 in", read(("1", "m"), ("-1", "12700000"))),
        ("26.9 mm / 2", read(("1/2", "26900000"))),
        ("1.10 mm (0.043 in) + m", read(("1", "1100000"), ("1", "m"))),
        ("-0.5 mm + m", read(("-1", "500000"), ("1", "m"))),
        ("\u00e9paisseur - m", read(("1", "\u00e9paisseur"), ("-1", "m"))),
    ],
)  # fmt: skip
def test_every_way_to_write_a_sum(text: str, found: list[Written]) -> None:
    assert terms(text) == found
    assert parse_formula(text, "mm").text == text


def test_a_bare_number_takes_the_unit_of_the_file() -> None:
    assert terms("1 - m", "in")[0][1] == str(parse_length("1 in").nm)
    assert terms("1 - m", "thou")[0][1] == str(parse_length("1 thou").nm)


def test_each_reading_is_asked_for_once_and_its_factors_add_up() -> None:
    formula = parse_formula("a/2 + b - a/3 + trial stack - b + 2 * trial stack + 5 mm")
    assert formula.readings == ("a", "b")
    assert [formula.factor(name) for name in "ab"] == [Fraction(1, 6), Fraction(0)]
    assert formula.trial_factor == 3
    assert parse_formula("a").trial_factor == 0
    assert parse_formula("trial stack").readings == ()
    assert formula.factor("no such reading") == 0


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "write a sum such as depth - straightedge"),
        ("  ", "write a sum such as depth - straightedge"),
        ("depth -", "put one term after each plus or minus: depth - straightedge"),
        ("depth - - edge", "put one term after each plus or minus: depth - straightedge"),
        ("depth -- edge +", "put one term after each plus or minus: depth - straightedge"),
        ("-", "put one term after each plus or minus: depth - straightedge"),
        ("2 *", '"2 *" is no term; write a reading, a length, or 1/2 * a reading'),
        ("depth - 3 x", "'3 x' has the unknown unit 'x': write in, mm, thou or um"),
        ("m - 3 mil", "'3 mil' can be read as thousandths or as millimetres: write thou or mm"),
        ("3 * 2 * depth", "'2 * depth' is no length: write one like 0.071 in, 1.80 mm or 71 thou"),
        ("9999999 * d", "'9999999 * d' is no length: write one like 0.071 in, 1.80 mm or 71 thou"),
        ("depth - .5", "'.5' has no unit: write .5 in, .5 mm or .5 thou"),
    ],
)  # fmt: skip
def test_a_refusal_says_what_to_write(text: str, sentence: str) -> None:
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)
    assert str(caught.value) == sentence


def test_a_divisor_of_nothing_is_part_of_the_name() -> None:
    assert terms("depth/0") == read(("1", "depth/0"))


PIECES = ["a", "trial stack", "gap", " ", " - ", " + ", "-", "/", "2", "*", "3/2", "1 mm", ".", "0"]
scribble = st.text() | st.lists(st.sampled_from(PIECES), max_size=9).map("".join)


@given(scribble, st.sampled_from(["in", "mm", "thou", None]))
def test_random_text_raises_nothing_but_a_formula_error(text: str, unit: LengthUnit | None) -> None:
    with suppress(FormulaError):
        formula = parse_formula(text, unit)
        assert formula.terms
        assert all((term.name is None) != (term.length is None) for term in formula.terms)


@given(st.lists(st.tuples(st.sampled_from("+-"), st.integers(1, 999)), min_size=1, max_size=6))
def test_a_sum_of_lengths_comes_to_what_it_says(signed: list[tuple[str, int]]) -> None:
    text = " ".join(f"{sign} {number}" for sign, number in signed)
    total = sum(
        (term.length.nm * term.factor for term in parse_formula(text, "mm").terms if term.length),
        Fraction(0),
    )
    assert Length(total) == parse_length("1 mm") * sum(int(f"{s}{n}") for s, n in signed)
