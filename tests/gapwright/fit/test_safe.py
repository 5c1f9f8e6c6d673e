"""Gaps keep clear of their limits before thin steels are spared; the answer says what it cost."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from gapwright.output.rendering import render
from specs.values.lengths import parse_length

if TYPE_CHECKING:
    from gapwright.fit.report import Report
    from tests.gapwright.conftest import Solve

SHORT = ("thin: {count: 2, bin: B3}", "thin: 0"), (
    "{.0600: 1, .0700: {count: 1, bin: C1}, .0780: 2}", "{.0780: 2}"
)  # fmt: skip
LIMIT = ("gap: .041", "gap: .042"), ("{.0600: 1, ", "{.0600: 2, ")
"""Three thick steels and the ring .0600 leave .060 in, the very limit; a thin steel leaves .069."""
WITHOUT = ("job:\n", "job:\n  aims: [layout, thin, change, aim]\n")


def changed(text: str, *changes: tuple[str, str]) -> str:
    for before, after in changes:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    return text


def built(report: Report) -> tuple[str, list[str]]:
    (gap,) = report.gaps
    return str(gap.gap.nm / 25_400), [line.size for line in gap.steps if line.lot]


@pytest.mark.face
def test_a_thin_steel_is_taken_to_keep_off_the_limit_and_the_other_build_is_named(
    solve: Solve, drum: str
) -> None:
    report = solve(changed(drum, *LIMIT))
    assert built(report) == ("69", ["thin", "thick", "thick", ".0700"])
    told = render(report).splitlines()
    assert told[0] == "J-7, Harrow 4: FITS, proved best"
    at = told.index("thin steels: 1 of 3, to keep clear of the limits; none without `safe`:")
    assert told[at + 1] == (
        "  low drum: 0.060 in, 0.000 in from its limit, 49 % sure: "
        "3 x drum steel (separator) thick, drum ring .0600"
    )
    thin = json.loads(render(report, as_json=True))["thin"]
    assert (thin["used"], thin["without safe"]["used"]) == (1, 0)
    (gap,) = thin["without safe"]["gaps"]
    assert gap["gap"]["nm"] == parse_length("0.060", "in").nm
    assert gap["left"]["tight"]["nm"] == 0
    assert 0.49 < gap["chance"]["at least"] <= gap["chance"]["at most"] < 0.51


def test_the_maker_whose_chart_goes_to_the_limit_is_followed(solve: Solve, drum: str) -> None:
    for section in ("unit", "job"):
        none = (f"{section}:\n", f"{section}:\n  certainty: none\n")
        report = solve(changed(drum, *LIMIT, none))
        assert built(report) == ("60", ["thick", "thick", "thick", ".0600"])
        assert not report.close[
            0
        ].lacks  # nothing is asked for, and the chance is told all the same
        assert "thin steels: none of 3" in render(report)
        assert render(report).startswith("J-7, Harrow 4: FITS, CLOSE TO THE LIMIT, proved best; ")


def test_less_certainty_is_kept_by_a_smaller_distance(solve: Solve, drum: str) -> None:
    nearer = changed(drum, ("gap: .041", "gap: .0435"), ("{.0600: 1, ", "{.0600: 2, "))
    ninety = changed(nearer, ("job:\n", "job:\n  certainty: 85 %\n"))
    assert built(solve(ninety)) == ("123/2", ["thick", "thick", "thick", ".0600"])
    assert built(solve(nearer)) == ("141/2", ["thin", "thick", "thick", ".0700"])


def test_a_build_that_cannot_keep_clear_is_told_in_the_first_line(solve: Solve, drum: str) -> None:
    report = solve(changed(drum, ("gap: .041", "gap: .0605"), *SHORT))
    told = render(report).splitlines()
    assert told[0] == (
        "J-7, Harrow 4: FITS, CLOSE TO THE LIMIT, proved best; low drum is 66 % sure, measure "
        "`gap` again"
    )
    assert told[1] == (
        "CLOSE TO THE LIMIT: low drum is 0.0005 in from its limit, 66 % sure; 0.0019 in more would "
        "keep it clear."
    )
    (near,) = json.loads(render(report, as_json=True))["close to limit"]
    assert (near["gap"], near["with safe"]) == ("low drum", None)
    assert near["lacks"]["nm"] == 46_392  # 1.645 * 35922.1 nm, less .0005 in


def test_in_a_narrow_window_no_more_room_is_promised_than_it_has(solve: Solve, drum: str) -> None:
    """A quarter of a window of .002 in is no band that keeps a gap clear."""
    narrow = ("window: .060 to .080", "window: .060 to .062")
    told = render(solve(changed(drum, narrow, ("gap: .041", "gap: .0603"), *SHORT)))
    (close,) = [line for line in told.splitlines() if line.startswith("CLOSE TO THE LIMIT")]
    assert close.endswith("% sure; 0.0002 in more would make it a quarter of its window.")


def test_where_no_low_limit_lies_nothing_is_said_of_keeping_clear_of_it(
    solve: Solve, drum: str
) -> None:
    """Three thick steels leave .020 in, which breaks no limit; thin ones leave what is usual."""
    open_ = ("window: .060 to .080", "window: {gap: at most .080, aim: .070, scale: .020}")
    told = render(solve(changed(drum, open_, ("gap: .041", "gap: .002"))))
    assert "CLOSE" not in told
    assert "to keep clear of the limits" not in told
    assert "to keep well above no clearance; none without `safe`:" in told


def test_on_the_very_limit_where_nothing_could_raise_it_what_to_measure_is_told_too(
    solve: Solve, drum: str
) -> None:
    bare = ("trial: [thick, thick, thick, .0780], gap: .041", "trial: none, gap: .402")
    told = render(solve(changed(drum, bare, ("thick: {count: 5", "thick: {count: 3"), *SHORT)))
    lines = told.splitlines()
    assert lines[0].endswith("low drum is 49 % sure, measure `gap` and drum steel thick again")
    (again,) = [line for line in lines if line.startswith("  measure again: ")]
    assert again.endswith("; so near the limit only another figure makes it surer")


def test_a_gap_that_keeps_its_distance_and_is_less_than_95_percent_sure_is_told(
    solve: Solve, drum: str
) -> None:
    narrow = changed(drum, ("window: .060 to .080", "window: .067 to .069"))
    report = solve(narrow)
    assert [(near.gap, near.lacks.nm) for near in report.close] == [("low drum", Fraction(0))]
    assert " sure." in render(report).splitlines()[1]


def test_aims_without_it_are_told_with_the_build_that_keeps_clear(solve: Solve, drum: str) -> None:
    report = solve(changed(drum, *LIMIT, WITHOUT))
    assert built(report) == ("60", ["thick", "thick", "thick", ".0600"])
    told = render(report).splitlines()
    assert told[2] == (
        "  With `safe` among the aims it is 0.069 in: drum steel (separator) thin, "
        "2 x drum steel (separator) thick, drum ring .0700."
    )
    (near,) = json.loads(render(report, as_json=True))["close to limit"]
    assert near["with safe"][0]["gap"]["nm"] == parse_length("0.069", "in").nm
    none = changed(drum, *LIMIT, (WITHOUT[0], WITHOUT[1] + "  certainty: none\n"))
    assert "With `safe`" not in render(solve(none))


def test_the_place_of_the_aim_among_the_others_counts(solve: Solve, drum: str) -> None:
    after = changed(drum, *LIMIT, ("job:\n", "job:\n  aims: [layout, thin, safe, aim]\n"))
    report = solve(after)
    assert built(report)[0] == "60"
    assert report.close[0].instead is None
