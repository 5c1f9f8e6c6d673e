"""After assembly: what was measured beside what was promised, what may explain it, what to swap."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gapwright.check.service import check_case
from gapwright.output.rendering import render
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.values.lengths import parse_length

if TYPE_CHECKING:
    from gapwright.check.answer import Check

PARTS = "[thin, thick, thick, .0700]"


EXACT = (
    ("thin: .0690}}", "thin: .0690}, tolerance: 0}"),
    ("sizes: [.0600", "tolerance: 0, sizes: [.0600"),
    ("      window: .060", "      spreads by: 0\n      window: .060"),
)


def exact(drum: str) -> str:
    """The drum with parts as they are marked and places that are even: the feeler's doubt alone."""
    for before, after in EXACT:
        assert drum.count(before) == 1, before
        drum = drum.replace(before, after)
    return drum


def checked(drum: str, as_built: str) -> Check:
    text = drum.replace("gap: .041}", f"gap: .041, as built: {as_built}}}")
    return check_case(case_of(parse(text, "job.yaml")))


def test_a_gap_that_is_as_promised_needs_nothing(drum: str) -> None:
    check = checked(drum, ".068")
    assert check.inside
    assert check.agrees
    assert check.change is None
    told = render(check)
    assert told.startswith("J-7, Harrow 4: AS PROMISED")
    assert "measured 0.068 in, promised 0.068 in   window 0.060 to 0.080" in told


def test_what_the_gauges_cannot_tell_is_as_promised(drum: str) -> None:
    assert checked(exact(drum), ".070").agrees  # two readings with a feeler of 0.001 in each
    assert not checked(exact(drum), ".0701").agrees
    assert checked(exact(drum), ".066").agrees
    assert not checked(exact(drum), ".0659").agrees


def test_parts_as_sold_and_places_that_spread_explain_more(drum: str) -> None:
    """Two readings of 1 + 1/3 each, two parts out and two in of 1/3 each: u 2, three times that."""
    for low, high, agrees in ((".0620", ".0740", True), (".0619", ".0741", False)):
        assert [checked(drum, at).agrees for at in (low, high)] == [agrees] * 2
    one = checked(drum, ".0685").gaps[0]
    assert one.u == parse_length(".002 in")
    assert one.doubt == parse_length(".006 in")
    three = checked(drum, "[.0675, .0685, .0695]").gaps[0]
    assert three.u.nm**2 == pytest.approx(25_400**2 * (2 + 2 / 3 + 4 / 9), rel=1e-6)


def test_three_places_that_agree_far_from_the_promise_are_not_as_promised(drum: str) -> None:
    even = checked(drum, "[.0755, .0765, .0745]")
    assert even.inside
    assert not even.agrees


def test_a_thick_steel_in_the_place_of_the_thin_one_is_found(drum: str) -> None:
    check = checked(drum, f"{{at: [.048, .050, .049], parts: {PARTS}}}")
    told = render(check)
    assert told.startswith("J-7, Harrow 4: OUT OF ITS WINDOW after assembly")
    assert "0.019 in less than promised: the doubt of both sides explains 0.0053 in" in told
    assert "too tight by 0.011 in" in told
    assert "low drum: drum steel thick where thin is listed" in told


def test_the_change_reaches_for_the_ring_before_the_steels(drum: str) -> None:
    check = checked(drum, f"{{at: .057, parts: {PARTS}}}")
    assert check.change is not None
    told = render(check)
    assert "the least change that lands every gap, proved" in told
    assert "low drum: then 0.067 in" in told
    assert "out  1 x drum ring .0700" in told
    assert "in   1 x drum ring .0600" in told
    assert told.count("    in   ") == 1


def test_a_part_promised_from_the_shelf_is_not_on_it_any_more(drum: str) -> None:
    few = drum.replace("thin: {count: 2, bin: B3}", "thin: {count: 1, bin: B3}")
    check = checked(few, ".035")
    assert check.change is not None
    told = render(check)
    assert "No build from what is on hand lands every gap in its window." in told
    assert "1 drum steel thin on hand" in told


def test_without_a_single_mistake_that_explains_it_a_person_reads_again(drum: str) -> None:
    told = render(checked(exact(drum), ".0725"))
    assert told.startswith("J-7, Harrow 4: IN ITS WINDOW, but not as promised")
    assert "No single mistake explains it. Read again before anything comes out." in told


def test_one_place_outside_asks_to_reseat(drum: str) -> None:
    told = render(checked(drum, "[.066, .068, .082]"))
    assert "one place reads 0.082 in, outside the window: reseat and read again" in told


def test_a_reading_in_another_state_is_mended_by_its_allowance_or_refused(drum: str) -> None:
    stated = drum.replace(
        "window: .060 to .080", "window: {gap: .060 to .080, state: {frictions: soaked}}"
    )
    allowed = stated.replace(
        "      stack:", "      allowances: [{state: {frictions: dry}, add: -.004}]\n      stack:"
    )
    check = checked(allowed, "{at: .072, state: {frictions: dry}}")
    assert check.agrees
    assert "read as 0.072 in; -0.004 in was added as the unit file says" in render(check)
    with pytest.raises(InputError, match="taken with frictions dry"):
        checked(stated, "{at: .072, state: {frictions: dry}}")


@pytest.mark.parametrize(
    ("as_built", "problem"),
    [
        ("{at: .068, parts: thinnest}", "list the parts that went in"),
        ("{at: .068, parts: [thick]}", "found 1 parts; the stack takes 4"),
        ("{at: 68}", "did you mean"),
        ("{at: -.068}", "a reading is not negative"),
        ("{at: .068, bits: 3}", "bits"),
    ],
)
def test_what_cannot_be_checked_is_refused(drum: str, as_built: str, problem: str) -> None:
    with pytest.raises(InputError, match=problem):
        checked(drum, as_built)


def test_a_job_without_anything_measured_is_refused(drum: str) -> None:
    with pytest.raises(InputError, match="nothing was measured after assembly"):
        check_case(case_of(parse(drum, "job.yaml")))


def test_a_job_that_was_promised_nothing_needs_its_parts(drum: str) -> None:
    nothing = drum.replace("gap: .041}", "gap: .300, as built: .070}")
    with pytest.raises(InputError, match="nothing was promised for these files"):
        check_case(case_of(parse(nothing, "job.yaml")))


@pytest.mark.face
def test_a_check_is_told_to_programs_too(drum: str) -> None:
    told = json.loads(render(checked(drum, f"{{at: .057, parts: {PARTS}}}"), as_json=True))
    assert told["shape"] == "gapwright check 1"
    assert not told["in window"]
    (gap,) = told["gaps"]
    assert gap["measured"]["nm"] == parse_length(".057 in").nm
    (change,) = told["change"]["gaps"]
    assert change["out"] == [{"part": "drum ring .0700", "count": 1}]
    assert [part["size"] for part in change["in"]] == [".0600"]
