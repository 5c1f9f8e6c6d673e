"""From readings to a space, with the arithmetic done by hand beside it."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from specs.files.read import read_case
from specs.gaps.job_gap import (
    JobGap,
    described,
)
from specs.parts.lookup import list_build
from specs.values.lengths import Length, parse_length
from tests.specs.benches import BENCH, LOW, bench, mm, space
from tests.specs.drums import DRUM, Swap, problem, taken

if TYPE_CHECKING:
    from pathlib import Path


# Readings.


def test_places_are_averaged_exactly_and_kept() -> None:
    found = space(taken(BENCH), "low")
    average = Fraction(12_000_000 + 12_100_000 + 12_300_000, 3)
    total = average - 500_000 - Fraction(200_000, 3)
    assert found.length == Length(total)
    assert found.length.nm.denominator == 3
    assert [(at.reading, at.place, at.value, at.space) for at in found.places] == [
        ("depth", place, value, Length(total - average) + value)
        for place, value in ((1, mm("12.00")), (2, mm("12.10")), (3, mm("12.30")))
    ]
    assert sum((at.space.nm for at in found.places), Fraction(0)) == 3 * total


def test_a_place_counts_with_the_factor_of_its_reading() -> None:
    case = bench("low: {readings: {depth: 12.00, edge: [0.50, 0.54], l: [0.30, 0.60]}}")
    found = space(case, "low")
    middle = mm("12.00") - mm("0.52") + mm("0.15")
    assert found.length == middle
    assert [at.space - middle for at in found.places] == [
        mm("0.02"), mm("-0.02"), mm("-0.05"), mm("0.05"),
    ]  # fmt: skip


def test_a_single_place_is_no_place_to_doubt() -> None:
    case = bench("low: {readings: {depth: [12.00], edge: 0.50, l: 0}}")
    assert space(case, "low").places == ()


def test_what_a_gauge_can_tell() -> None:
    def tells(readings: str) -> Length:
        return space(bench(f"low: {{readings: {{{readings}}}}}"), "low").tells

    assert tells("depth: 12.00, edge: 0.50, l: 0.10") == parse_length("0.001 in")
    every = "depth: 12.00, edge: {at: 0.50, gauge: dial}, l: {at: 0, gauge: dial}"
    assert tells(every) == mm("0.002")
    assert tells(every.replace("0.50, gauge: dial", "0.50, gauge: feeler")) == mm("0.05")
    inches = taken(DRUM)
    assert JobGap(inches, "low drum").space("stack").tells == parse_length("0.001 in")
    fixed = taken(BENCH, ("space: depth + gasket", "space: 0.40"))
    assert JobGap(fixed, "front").space("stack").tells == Length(0)


def test_a_reading_that_gaps_share_is_stated_once() -> None:
    shared = "front: {readings: {depth: 3.00}}"
    lacking = bench(shared)
    assert JobGap(lacking, "front").missing() == JobGap(lacking, "rear").missing() == ("gasket",)
    case = taken(
        BENCH, (LOW[0], f"    {shared}\n"), ("job:\n", "job:\n  readings: {gasket: 0.46}\n")
    )
    assert space(case, "front").length == mm("3.46")
    assert space(case, "rear").length == mm("0.13")
    assert described(case.unit, case.unit.gaps["rear"], "gasket") == case.unit.readings["gasket"]
    assert described(case.unit, case.unit.gaps["rear"], "gap") is None


def test_what_is_missing_is_named_in_the_order_of_the_sum() -> None:
    nothing = bench("rear: {}")
    assert JobGap(nothing, "low").missing() == ("depth", "edge", "l")
    assert JobGap(nothing, "high").missing() == ("gap", "trial build")
    assert JobGap(bench("low: {readings: {l: 0, depth: 12.00}}"), "low").missing() == ("edge",)
    assert JobGap(bench("high: {gap: 0.70}"), "high").missing() == ("trial build",)
    assert (
        JobGap(bench("high: {gap: 0.70, trial: {layout: plain, parts: none}}"), "high").missing()
        == ()
    )
    with pytest.raises(ValueError, match="low has no reading depth"):
        JobGap(nothing, "low").space("stack")


def test_a_gaps_own_reading_goes_before_a_shared_one_of_its_name() -> None:
    own: Swap = ("readings: {depth: pump face to washer seat}", "readings: {depth: x, gasket: y}")
    work: Swap = (LOW[0], "    front: {readings: {depth: 3.00, gasket: 0.40}}\n")
    case = taken(BENCH, own, work)
    assert space(case, "front").length == mm("3.40")
    assert JobGap(case, "rear").missing() == ("gasket",)


def test_a_layout_with_a_space_of_its_own_needs_what_that_says() -> None:
    own: Swap = ("{rank: 1, ", "{rank: 1, space: trial stack + m, ")
    reads: Swap = ("      space: 2 *", "      readings: {m: something}\n      space: 2 *")
    trial = "trial: {layout: plain, parts: none}"
    work: Swap = (LOW[0], f"    high: {{gap: 0.70, readings: {{m: 0.30}}, {trial}}}\n")
    case = taken(BENCH, own, reads, work)
    assert JobGap(case, "high").missing() == ()
    assert JobGap(bench("high: {gap: 0.70, " + trial + "}"), "high").missing() == ()
    assert JobGap(
        taken(BENCH, own, reads, (work[0], work[1].replace("{m: 0.30}", "{}"))), "high"
    ).missing() == ("m",)
    assert JobGap(case, "high").trial_gap("plain") == mm("0.90")
    assert JobGap(case, "high").trial_gap("shimmed") == mm("0.30")
    off = "{m: {at: 0.30, state: {air: on}}}"
    wrong = problem(BENCH, own, reads, (work[0], work[1].replace("{m: 0.30}", off)))
    assert ".readings.m: taken with air on, which is not what the window holds for" in wrong


def test_only_the_layouts_that_are_allowed_ask_for_readings() -> None:
    own = ("{rank: 1, ", "{rank: 1, only if: {oil: new}, space: 1 mm + m, ")
    reads: Swap = ("      space: 2 *", "      readings: {m: something}\n      space: 2 *")
    job: Swap = (LOW[0], "    high: {gap: 0.70, trial: {layout: plain, parts: [thick, A]}}\n")
    assert JobGap(taken(BENCH, own, reads, job), "high").missing() == ()
    new: Swap = ("job:\n", "job:\n  facts: {oil: new}\n")
    assert JobGap(taken(BENCH, own, reads, job, new), "high").missing() == ("m",)
    asked: Swap = ("gap: 0.70", "gap: 0.70, layout: plain")
    assert JobGap(taken(BENCH, own, reads, job, new, asked), "high").missing() == ()


# Trial builds.


@pytest.mark.parametrize(
    ("parts", "stack"),
    [
        ("{layout: plain, parts: [thick, A]}", "9.00"),  # 4.00 + 1.50 + 2.00 + 1.50
        ("{layout: plain, parts: [thick 1.97, B 1.83]}", "9.30"),
        ("{layout: plain, parts: none}", "5.50"),
        ("{layout: plain, parts: thinnest}", "8.60"),
        ("{layout: plain, parts: thickest}", "9.30"),
        ("{layout: shimmed, parts: [thin, [0.10, 0.25], A]}", "8.775"),  # half of 0.35 counts
        ("{layout: shimmed, parts: thickest}", "9.425"),
        ("old", "9.10"),
    ],
)
def test_a_trial_build_adds_up_with_its_fixed_parts(parts: str, stack: str) -> None:
    now = "{layout: plain, parts: [thin 1.80, B]}"
    case = bench(f"high: {{gap: 0.70, trial: {parts}, now: {now}}}")
    for layout in ("plain", "shimmed"):
        found = space(case, "high", layout)
        assert found.length == mm(stack) + mm("0.70") + mm("0.2")
        assert JobGap(case, "high").trial_gap(layout) == mm("0.90")


def test_a_listed_build_takes_what_its_own_layout_says() -> None:
    case = bench("high: {gap: 0.7, trial: {layout: shimmed, parts: [thin, [0.10], B]}}")
    gap = case.unit.gaps["high"]
    parts = JobGap(case, "high").trial
    assert parts is not None
    listed = list_build(case.unit, gap, parts, "mm")
    assert JobGap(case, "high").height(listed) == mm("8.95")
    assert JobGap(case, "high").trial_stack(gap.arrangements["plain"]) == mm("8.95")
    assert case.fixed_height(gap.arrangements["shimmed"]) == mm("5.50")


def test_a_fixed_part_may_measure_something_else_this_time() -> None:
    parts: Swap = ("job:\n", "job:\n  parts: {plate: 4.05, disc: 1.46}\n")
    job: Swap = (LOW[0], "    high: {gap: 0.70, trial: {layout: plain, parts: none}}\n")
    case = taken(BENCH, job, parts)
    assert case.fixed_height(case.unit.gaps["high"].arrangements["plain"]) == mm("5.51")
    assert space(case, "high", "plain").length == mm("6.41")


def test_a_stack_without_a_part_to_choose_needs_no_trial_build() -> None:
    case = bench("fast: {gap: 0.62}")
    assert JobGap(case, "fast").settled
    assert not JobGap(case, "low").settled
    assert space(case, "fast").length == mm("9.50") + mm("0.62")
    assert JobGap(case, "fast").trial_gap("") == mm("0.62")


def test_a_space_that_needs_no_trial_build_has_no_trial_gap() -> None:
    assert JobGap(taken(BENCH), "low").trial_gap("") is None


def test_a_window_on_the_height_adds_where_a_gap_takes_away() -> None:
    case = bench("tall: {gap: 0.30, trial: [thick, A]}")
    assert space(case, "tall", "only").length == mm("8.70")
    assert (
        JobGap(case, "tall").trial_gap("only") == JobGap(case, "tall").trial_gap("") == mm("17.70")
    )


# Units of length.


def test_a_unit_in_millimetres_and_a_job_in_inches_add_up_exactly(tmp_path: Path) -> None:
    head, _ = BENCH.split("shelf: {}\n")
    (tmp_path / "unit.yaml").write_text(head, encoding="utf-8")
    (tmp_path / "job.yaml").write_text(
        "length: in\nunit: unit.yaml\nshelf: {}\njob:\n  gaps:\n"
        "    low: {readings: {depth: .4720, edge: 0.50 mm, l: 0}}\n"
        "    high: {gap: .0280, trial: {layout: plain, parts: [thick .0787, 1.50 mm]}}\n",
        encoding="utf-8",
    )
    case = read_case(tmp_path / "job.yaml")
    assert case.length == "in"
    assert space(case, "low").length == parse_length("0.4720 in") - mm("0.50")
    stack = mm("5.50") + parse_length("0.0787 in") + mm("1.50")
    assert space(case, "high", "plain").length == stack + parse_length("0.028 in") + mm("0.2")
    assert space(case, "high", "plain").tells == parse_length("0.001 in")
