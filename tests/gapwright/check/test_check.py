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
from tests.commands import ran

if TYPE_CHECKING:
    from pathlib import Path

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
    assert told.startswith(
        "J-7, Harrow 4: AS WORKED OUT; no promise was kept, its parts are chosen anew"
    )
    assert "measured 0.068 in, worked out 0.068 in   window 0.060 to 0.080" in told


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
    assert "0.019 in less than worked out: the doubt of both sides explains 0.0053 in" in told
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
    assert told.startswith("J-7, Harrow 4: IN ITS WINDOW, but not as worked out")
    assert "No single mistake explains it. Read again before anything comes out." in told


ANEW = "no promise was kept, its parts are chosen anew"
SEAT = "reseat piston, plates and ring and read again before any part is changed"


@pytest.mark.parametrize(
    ("as_built", "verdict", "lines"),
    [
        pytest.param(
            "[.0658, .0681, .0706]",
            "AS WORKED OUT",
            [],
            id="even enough",
        ),
        pytest.param(
            "[.0652, .0681, .0707]",
            "NOT EVEN: not as worked out",
            ["not even: its places lie 0.0055 in apart, more than 0.005 in", SEAT],
            id="not even",
        ),
        pytest.param(
            "[.066, .068, .082]",
            "NOT EVEN, A PLACE OUT OF ITS WINDOW: not as worked out",
            [
                "one place reads 0.082 in, outside the window",
                "not even: its places lie 0.016",
                SEAT,
            ],
            id="both",
        ),
        pytest.param(
            "[.081, .077, .078]",
            "A PLACE OUT OF ITS WINDOW: not as worked out",
            ["one place reads 0.081 in, outside the window", SEAT],
            id="a place outside",
        ),
        pytest.param(
            "[.051, .059, .058]",
            "OUT OF ITS WINDOW AND NOT EVEN after assembly",
            ["not even: its places lie 0.008 in apart", SEAT, "too tight by 0.004 in"],
            id="the average outside",
        ),
        pytest.param(
            "[.0605, .0615, .0625]",
            "IN ITS WINDOW, but not as worked out",
            ["0.0065 in less than worked out"],
            id="even, and another gap than was promised",
        ),
    ],
)
def test_the_verdict_is_of_the_worst_place(
    drum: str, as_built: str, verdict: str, lines: list[str]
) -> None:
    check = checked(drum, as_built)
    told = render(check)
    assert told.splitlines()[0] == f"J-7, Harrow 4: {verdict}; {ANEW}"
    assert [line for line in lines if line not in told] == []
    assert (SEAT in told) == (SEAT in lines)
    answer = json.loads(render(check, as_json=True))
    (gap,) = answer["gaps"]
    for one in (answer, gap):
        assert one["as promised"] == (verdict == "AS WORKED OUT")
        assert one["even"] == ("NOT EVEN" not in verdict)
        assert one["in window"] == ("OUT OF" not in verdict)
    assert (answer["change"] is None) == check.lands == ("after assembly" not in verdict)
    assert [place["nm"] for place in gap["places"]] == [
        parse_length(f"{text.strip()} in").nm for text in as_built.strip("[]").split(",")
    ]


def test_the_unit_says_how_far_places_may_lie_apart(drum: str) -> None:
    stricter = drum.replace("window: .060 to .080", "even within: .002\n      window: .060 to .080")
    for even, at in ((True, "[.067, .068, .069]"), (False, "[.067, .068, .0692]")):
        assert checked(stricter, at).agrees == even


def test_a_check_that_is_not_even_ends_as_one_out_of_its_window(drum: str, tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    for code, at in ((0, "[.067, .068, .069]"), (3, "[.065, .068, .071]"), (3, "[.079, .081]")):
        text = drum.replace("gap: .041}", f"gap: .041, as built: {{at: {at}, parts: {PARTS}}}}}")
        job.write_text(text, encoding="utf-8")
        assert ran("check", job, cwd=tmp_path).returncode == code


BEARING = """\
length: mm
unit:
  families: {washer: {kind: washer, sizes: {a: 3.00, b: 3.04, c: 3.12}}}
  end plays:
    bearing: {window: WINDOW, space: d, readings: {d: {what: depth, places: 2}}, stack: [washer]}
shelf: {washer: {a: 1, b: 1, c: 1}}
job:
  gaps:
    bearing: {readings: {d: 2.99}, as built: {at: AT, parts: [b]}}
"""


def bearing(window: str, at: str) -> Check:
    text = BEARING.replace("WINDOW", window).replace("AT", at)
    return check_case(case_of(parse(text, "job.yaml")))


def test_a_preload_is_checked_with_what_it_measures() -> None:
    told = render(bearing("-0.08 to -0.03", "-0.05"))
    assert told.startswith("job, unit: AS WORKED OUT")
    assert "bearing: measured preload -0.05 mm, worked out -0.05 mm   window -0.08 to -0.03" in told
    told = render(bearing("-0.08 to -0.03", "[-0.06, -0.02]"))
    assert "one place reads -0.02 mm, outside the window" in told
    assert "seat the shaft and its bearings anew and read again before any part" in told
    assert "piston, plates" not in told


@pytest.mark.parametrize("window", ["0.00 to 0.05", "at most 0.05 mm, aim: loose, scale: 0.02"])
def test_what_no_window_lets_below_zero_is_refused_as_ever(window: str) -> None:
    with pytest.raises(InputError, match="a reading is not negative"):
        bearing(f"{{gap: {window}}}", "-0.02")


def test_a_height_is_too_low_or_too_high() -> None:
    text = BEARING.replace("space: d", "space: 0 mm").replace(
        "WINDOW", "{gap: 3.02 to 3.10, on: height}"
    )
    for at, words in (("3.00", "too low by 0.02 mm"), ("3.13", "too high by 0.03 mm")):
        told = render(check_case(case_of(parse(text.replace("AT", at), "job.yaml"))))
        assert words in told
        assert "tight" not in told
        assert "loose" not in told


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
    assert told["shape"] == "gapwright check 3"
    assert not told["in window"]
    (gap,) = told["gaps"]
    assert gap["measured"]["nm"] == parse_length(".057 in").nm
    (change,) = told["change"]["gaps"]
    assert change["out"] == [{"part": "drum ring .0700", "count": 1}]
    assert [part["size"] for part in change["in"]] == [".0600"]
