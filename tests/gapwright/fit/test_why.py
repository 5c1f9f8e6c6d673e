"""What `--why` tells: what each aim costs, and how far each reading may be off."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from solver.engines.limits import Limits
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.values.lengths import parse_length

if TYPE_CHECKING:
    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.report import Report


def asked(text: str, limits: Limits | None = None) -> Report:
    return fit_case(case_of(parse(text, "job.yaml")), limits, why=True)


def test_an_aim_that_could_only_be_had_outside_a_window_says_how_far(drum: str) -> None:
    told = render(asked(drum))
    assert "  thin    better only outside a window: low drum misses by 0.001 in" in told
    assert "  layout  no build is better on it" in told


def test_an_aim_that_an_earlier_one_pays_for_says_which(drum: str) -> None:
    told = render(asked(drum))
    price = "if it may cost `safe` by 11.64 % of a window over all gaps"
    assert f"  spare   better by 5000 points of scarcity {price}" in told


def test_a_reading_is_told_from_where_to_where_the_choice_stays(drum: str) -> None:
    assert "  low drum: gap  0.041 in: 0.038 to 0.044 in" in render(asked(drum))


def test_at_the_ends_that_are_told_no_build_is_better_and_past_them_one_is(drum: str) -> None:
    (chosen,) = asked(drum).gaps
    for gap, stays in ((".038", True), (".044", True), (".037", False), (".045", False)):
        other = fit_case(case_of(parse(drum.replace("gap: .041", f"gap: {gap}"), "job.yaml")))
        best = [*other.gaps, *(build for builds in other.equal for build in builds or ())]
        assert (sizes(chosen) in map(sizes, best)) == stays, gap


def sizes(gap: GapAssembly) -> list[str]:
    return [line.size for line in gap.steps if line.lot]


SHARED = """\
length: mm
unit:
  readings: {gasket: thickness of the gasket}
  families: {ring: {kind: ring, sizes: [1.5, 1.7]}, washer: {kind: washer, sizes: [1.0, 1.2]}}
  packs:
    low: {window: 0.2 to 0.5, space: depth + gasket, readings: {depth: to the ring}, stack: [ring]}
  end plays:
    rear: {window: 0.1 to 0.4, space: end + gasket, readings: {end: to the hub}, stack: [washer]}
shelf: {ring: {1.5: 1, 1.7: 1}, washer: {1.0: 1}}
job: {readings: {gasket: 0.5}, gaps: {low: {readings: {depth: 1.4}}}}
"""


def test_a_shared_reading_is_told_while_another_of_its_gaps_waits() -> None:
    report = asked(SHARED)
    assert [gap.name for gap in report.gaps] == ["low"]
    assert report.why is not None
    told = {one.reading: (one.gap, one.low, one.high) for one in report.why.ranges}
    low, high = parse_length("0.30", "mm"), parse_length("0.55", "mm")
    assert told["gasket"] == ("", low, high)
    assert [*told] == ["depth", "gasket"]


@pytest.mark.face
def test_it_is_told_to_programs_exactly(drum: str) -> None:
    told = json.loads(render(asked(drum), as_json=True))["why this one"]
    costs = {cost["aim"]: cost for cost in told["costs"]}
    assert costs["layout"]["more of it"]["possible"] is False
    (miss,) = costs["thin"]["more of it"]["misses"]
    assert (miss["gap"], miss["by"]["nm"]) == ("low drum", 25_400)
    assert costs["spare"]["more of it"]["yields"] == {
        "aim": "safe", "measure": "near limits", "by": 1_164
    }  # fmt: skip
    (reading,) = told["readings"]
    assert (reading["gap"], reading["reading"], reading["proved"]) == ("low drum", "gap", True)
    assert (reading["from"]["nm"], reading["to"]["nm"]) == (965_200, 1_117_600)


def test_without_being_asked_nothing_of_it_is_told(drum: str) -> None:
    report = fit_case(case_of(parse(drum, "job.yaml")))
    assert report.why is None
    assert "why this one" not in json.loads(render(report, as_json=True))


def test_of_a_job_without_a_fit_the_shortest_reason_is_told(drum: str) -> None:
    told = render(asked(drum.replace("gap: .041", "gap: .001")))
    assert "any one less and the rest could; no reason is shorter" in told


def test_without_time_what_is_not_proved_is_not_told(drum: str) -> None:
    report = asked(drum, Limits(seconds=0))
    assert report.why is None or "ran out of time" in render(report)
