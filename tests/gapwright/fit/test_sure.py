"""How sure an answer says it is, in words and in JSON, and of gaps that share a reading."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from scipy import stats

from gapwright.fit.conformance_text import job_words, percent
from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.uncertainty.distribution import MILLION, Chance

if TYPE_CHECKING:
    from gapwright.fit.conformance import Conformance
    from gapwright.fit.report import Report

UNIT = """\
length: in
unit:
  gauges: {feeler: .001, depth gauge: {u: .0025}}
  readings: {gasket: {what: the gasket, gauge: depth gauge}}
  families:
    friction: {kind: friction, fixed: .0800}
    steel: {kind: steel, tolerance: .003, sizes: {thick: .0880, thin: .0690}}
    ring: {kind: ring, tolerance: 0, sizes: [.0700, .0780]}
    washer: {kind: washer, tolerance: 0, sizes: [.0600, .0700]}
  packs:
    low:
      window: .045 to .053
      spreads by: 0
      readings: {gap: {what: feeler, gauge: feeler}}
      stack: [friction, steel, friction, ring]
  end plays:
    front: {window: .010 to .018, space: gasket + .060 in, stack: [washer]}
    rear: {window: .010 to .020, space: gasket + .070 in, stack: [washer]}
shelf: {steel: {thick: 2, thin: 2}, ring: {.0700: 1, .0780: 1}, washer: {.0600: 1, .0700: 1}}
job:
  readings: {gasket: .014}
  gaps:
    low: {trial: [thick, .0780], gap: .030}
"""


def fitted(*changes: tuple[str, str]) -> Report:
    text = UNIT
    for before, after in changes:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    return fit_case(case_of(yaml_door.parse(text, "drum")))


def sure(report: Report) -> Conformance:
    assert report.sure is not None
    return report.sure


def test_each_gap_says_how_sure_it_is_and_what_to_measure_again() -> None:
    told = render(fitted())
    assert "  sure: 87 % in its window (u 0.0025 in)\n" in told  # two steels as sold, one out
    assert (
        "  measure again: steel thick (at best 100 % then), steel thin (at best 100 % then), `gap` "
        "(at best 88 % then)\n"
    ) in told


def test_a_part_measured_is_no_longer_doubted() -> None:
    measured = fitted(("thin: 2}", "thin: [{count: 2, thickness: .0690}]}"))
    before, after = sure(fitted()).gaps[0], sure(measured).gaps[0]
    (promised,) = (again.then for again in before.again if again.name == "steel thin")
    assert before.chance.most < after.chance.least <= promised.most


def test_what_to_measure_again_is_ranked_by_what_it_would_bring() -> None:
    (low, front, _) = sure(fitted()).gaps
    for gap in (low, front):
        then = [again.then.least for again in gap.again]
        assert then == sorted(then, reverse=True)
        assert all(again.then.least > gap.chance.most for again in gap.again)
    assert [(again.kind, again.name) for again in front.again] == [("reading", "gasket")]


def test_gaps_that_share_a_reading_are_never_multiplied() -> None:
    whole = sure(fitted())
    low, front, rear = (gap.chance for gap in whole.gaps)
    apart = low.least * front.least * rear.least // MILLION**2
    lost = (MILLION - front.least) + (MILLION - rear.least)
    assert whole.every.least > low.least * (MILLION - lost) // MILLION  # more than Bonferroni's
    assert whole.every.least > apart  # what they share makes them fail together
    assert whole.every.most <= min(front.most, rear.most)
    assert "sure of all gaps together: " in render(fitted())
    assert "they share readings or parts" in render(fitted())


def test_the_bounds_of_gaps_that_share_a_reading_hold_what_is_true_of_them() -> None:
    """Both hang on the gasket alone: both hold where its error leaves both inside."""
    exact = ("tolerance: .003, ", "tolerance: 0, ")
    report = fitted(exact, ("window: .045 to .053", "window: .040 to .060"))
    off = stats.norm(scale=0.0025)
    true = off.cdf(0.004) - off.cdf(-0.004)  # front .014 in .010 to .018; rear is wider
    every = sure(report).every
    assert every.least / MILLION <= true <= every.most / MILLION
    assert every.most - every.least <= 15_000


def test_gaps_that_share_nothing_are() -> None:
    own = "rear: {window: .010 to .020, readings: {r: rear face}, space: r + .070 in"
    alone = fitted(
        ("rear: {window: .010 to .020, space: gasket + .070 in", own),
        ("    low: {", "    rear: {readings: {r: .015}}\n    low: {"),
    )
    whole = sure(alone)
    low, front, rear = (gap.chance for gap in whole.gaps)
    assert whole.every == low * front * rear


def test_where_the_gauges_at_their_worst_stay_inside_it_is_certain() -> None:
    report = fitted(
        ("tolerance: .003, ", "tolerance: 0, "), ("window: .045 to .053", "window: .040 to .060")
    )
    assert sure(report).gaps[0].chance.least == MILLION
    assert "  sure: 100 % in its window (u 0.0006 in)\n" in render(report)


PLAIN = """\
length: in
unit:
  families:
    friction: {kind: friction, fixed: .0810}
    steel: {kind: steel, sizes: {thick: .0910, thin: .0720}}
    ring: {kind: ring, sizes: [.0620, .0700]}
  packs:
    drum: {window: .052 to .064, stack: [friction, steel, friction, ring]}
shelf: {steel: {thin: 1}, ring: {.0620: 1}}
job: {gaps: {drum: {trial: [thick, .0700], gap: %s}}}
"""


@pytest.mark.parametrize(
    ("gap", "squares"),
    [
        (".050", 1 + 1 / 3),
        ("[.050, .050]", (1 + 1 / 3) / 2),
        ("[.049, .051]", (2 + 1 / 3) / 2),  # their own spread: 2 in 1000 apart, 1.414 deviation
        ("[.048, .050, .052]", (4 + 1 / 3) / 3),
        ("{at: [.047, .053], u: .0005}", 0.25),
        ("{goes: .049, stops: .051}", 1 / 3 + 1),
    ],
)
def test_where_nothing_is_said_gauge_places_and_parts_count_by_a_thousandth(
    gap: str, squares: float
) -> None:
    """One ring goes out and one goes in, each as sold: u^2 in thousandths of an inch."""
    report = fit_case(case_of(yaml_door.parse(PLAIN % gap, "drum")))
    (drum,) = sure(report).gaps
    out_and_in = 2 / 3
    u = (squares + out_and_in) ** 0.5 * 25_400
    assert float(drum.u.nm) == pytest.approx(u, abs=0.01)
    off = stats.norm(scale=u)
    near = float(off.cdf(0.006 * 25_400_000) - off.cdf(-0.006 * 25_400_000))
    assert drum.chance.least / MILLION == pytest.approx(near, abs=0.01)
    assert drum.chance.least < MILLION


def test_two_places_that_differ_a_little_are_surer_than_one() -> None:
    one, two = (
        sure(fit_case(case_of(yaml_door.parse(PLAIN % gap, "drum"))))
        for gap in (".054", "[.0535, .0545]")
    )
    assert one.gaps[0].chance.most < two.gaps[0].chance.least
    assert not two.tilted


def test_no_answer_is_certain_within_the_doubt_of_its_parts() -> None:
    wide = PLAIN.replace(".052 to .064", ".018 to .098") % ".050"
    told = render(fit_case(case_of(yaml_door.parse(wide, "drum"))))
    assert "  sure: over 99.9 % in its window (u 0.0014 in)\n" in told
    assert "100 %" not in told.replace("heat: 100 %", "")


def test_a_tilted_reading_is_named_before_the_gaps() -> None:
    told = render(fitted(("gap: .030", "gap: [.027, .030, .033, .030]")))
    line = "TILTED? places 1 and 3 of `gap` of low differ by 0.006 in, more than even parts would"
    assert 0 < told.index(line) < told.index("low: clearance")
    assert "TILTED" not in render(fitted(("gap: .030", "gap: [.028, .030, .033, .030]")))


def test_json_gives_bounds_of_each_chance() -> None:
    report = fitted(("gap: .030", "gap: [.027, .030, .033, .030]"))
    shape = json.loads(render(report, as_json=True))
    low = shape["gaps"][0]["sure"]
    assert low["expanded"]["k"] == 2
    assert low["expanded"]["by"]["nm"] != low["u"]["nm"]
    assert 0 < low["chance"]["at least"] <= low["chance"]["at most"] < 0.95
    assert {"kind", "name", "then"} == low["measure again"][0].keys()
    assert shape["sure"]["tilted"][0]["places"] == [1, 3]
    assert shape["sure"]["all gaps"]["at least"] < low["chance"]["at least"]
    assert shape["gaps"][0]["name"] == "low"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("gap: .030", "gap: {goes: .030}"), 'job.gaps.low.gap: found ".030"; write `goes` and'),
        (("gap: .030", "gap: {goes: .031, stops: .030}"), "what stops is thicker than what goes"),
        (("gap: .030", "gap: {at: .030, goes: .029, stops: .031}"), "write one of `at`, `goes`"),
        (("gap: .030", "gap: {goes: 30, stops: 31}"), "job.gaps.low.gap.goes: 30 in is no reading"),
        (("gap: .030", "gap: {at: .030, u: 3}"), "job.gaps.low.gap.u: 3 in is no step a gauge can"),
        (("gap: .030", "gap: {goes: .030, stopt: .031}"), 'did you mean "stops"'),
        (("feeler: .001,", "feeler: {limits: 2},"), "unit.gauges.feeler.limits: 2 in is"),
        (("feeler: .001,", "feeler: {shape: round},"), "rectangular"),
        (("job:\n", "job:\n  gauges: {feeler: {u: 5}}\n"), "job.gauges.feeler.u: 5 in is no step"),
        (("spreads by: 0", "spreads by: 5"), "unit.packs.low.spreads by: 5 in is no tolerance"),
        (("spreads by: 0", "even within: -1"), "unit.packs.low.even within: -1 in is no tolerance"),
        (
            ("what: feeler, ", "what: feeler, spreads by: 4, "),
            "unit.packs.low.readings.gap.spreads by: 4 in is no tolerance",
        ),
        (
            ("what: the gasket, ", "what: the gasket, even within: 3, "),
            "unit.readings.gasket.even within: 3 in is no tolerance",
        ),
        (("job:\n", "job:\n  parts read with: dail\n"), 'job.parts read with: found "dail"; '),
        (("thin: 2}", "thin: {count: 2, gauge: dial}}"), "goes with a `thickness` that was"),
        (("thin: 2}", "thin: {count: 2, thickness: .069, within: 5}}"), "5 in is no tolerance"),
    ],
)  # fmt: skip
def test_what_is_written_wrong_of_doubt_is_named(change: tuple[str, str], sentence: str) -> None:
    with pytest.raises(InputError) as refused:
        fitted(change)
    assert sentence in str(refused.value)


def test_bounds_that_reach_certainty_are_told_by_the_lower_alone() -> None:
    whole = sure(fitted())
    near, wide = (replace(whole, every=Chance(940_000, most)) for most in (999_000, MILLION))
    (said,), (alone,) = job_words(near), job_words(wide)
    assert said.startswith("sure of all gaps together: 94 % at least, over 99.9 % at most: ")
    assert alone == "sure of all gaps together: 94 % at least: they share readings or parts"


def test_a_percentage_is_never_rounded_up() -> None:
    said = {
        0: "0 %", 9_999: "0 %", 949_999: "94 %", 989_999: "98 %", 990_000: "99.0 %",
        998_999: "99.8 %", 999_000: "over 99.9 %", 999_999: "over 99.9 %", MILLION: "100 %",
    }  # fmt: skip
    assert {chance: percent(chance) for chance in said} == said
