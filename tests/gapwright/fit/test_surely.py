"""Only builds that are sure enough: by their chance, by a guard band, and where none is."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner
from scipy import stats

from gapwright.__main__ import cli
from gapwright.fit.decision_rule import Demand, demand_of
from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats import yaml as yaml_door

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.fit.report import Report

UNIT = """\
length: in
unit:
  gauges: {feeler: .001}
  families:
    friction: {kind: friction, fixed: .0800}
    steel: {kind: steel, tolerance: .003, sizes: {thick: .0880, thin: .0690}}
    ring: {kind: ring, sizes: [.0700, .0780]}
  packs:
    low:
      window: .045 to .053
      readings: {gap: {what: feeler, gauge: feeler}}
      stack: [friction, steel, friction, ring]
shelf: {steel: {thick: 2, thin: [2, {count: 1, thickness: .0681}]}, ring: {.0700: 1, .0780: 1}}
job:
  gaps:
    low: {trial: [thick, .0780], gap: .030}
"""
WIDE = ("window: .045 to .053", "window: {gap: .033 to .053, aim: .045}")


def asked(demand: Demand | None, *changes: tuple[str, str]) -> Report:
    text = UNIT
    for before, after in changes:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    return fit_case(case_of(yaml_door.parse(text, "drum")), demand=demand)


def percent(text: str) -> Demand:
    return Demand(Fraction(text))


def guard(text: str) -> Demand:
    return Demand(Fraction(text), guard=True)


def test_a_measured_steel_is_taken_where_one_as_sold_is_not_sure_enough() -> None:
    free, surely = asked(None), asked(percent("95"))
    assert [line.thickness for gap in free.gaps for line in gap.lines if line.size == "thin"] != [
        line.thickness for gap in surely.gaps for line in gap.lines if line.size == "thin"
    ]
    assert surely.sure is not None
    assert surely.sure.gaps[0].chance.least >= 950_000
    assert "Every gap is 95 % sure, as asked.\n" in render(surely)


def test_what_is_sure_enough_already_stays_the_answer() -> None:
    assert asked(percent("87")).gaps == asked(None).gaps


def test_where_none_is_sure_enough_the_best_is_shown_with_what_to_measure_again() -> None:
    report = asked(percent("97"))
    assert isinstance(report.answer, NoFit)
    told = render(report)
    assert told.startswith("job, unit: NO FIT IS SURE ENOUGH, proved\n")
    assert "none makes every gap 97 % sure" in told
    assert "  low: 0.049 in with 1 x steel thin, 1 x ring .0780\n    sure: 87 %" in told
    assert "    measure again: steel thick (at best 100 % then)" in told
    shape = json.loads(render(report, as_json=True))
    assert shape["answer"] == "no fit"
    assert shape["asked"] == {"percent": 97.0, "by": "chance", "factor": None}
    assert shape["unsure"][0]["sure"]["measure again"][0]["name"] == "steel thick"


def test_where_nothing_fits_at_all_the_reasons_are_those_of_no_fit() -> None:
    report = asked(percent("95"), ("gap: .030", "gap: .080"))
    assert isinstance(report.answer, NoFit)
    assert report.unsure is None
    assert report.ways or report.reason
    assert "NO FIT, proved" in render(report)


def test_what_to_measure_again_is_said_up_to_the_chance_asked() -> None:
    measured = ("thin: [2, ", "thin: [")
    assert not asked(None, measured).sure.gaps[0].again  # type: ignore[union-attr]
    report = asked(percent("99"), measured)
    assert report.unsure is not None
    assert report.unsure.sure is not None
    assert report.unsure.sure.gaps[0].again


SURE_FIRST = ("job:\n", "job:\n  aims: [layout, thin, sure, heat, middle, change, aim, spare]\n")


def test_as_an_aim_the_surest_build_is_chosen_where_it_stands_in_the_order() -> None:
    free, aimed = asked(None, WIDE), asked(None, WIDE, SURE_FIRST)
    assert free.sure is not None
    assert aimed.sure is not None
    assert aimed.sure.gaps[0].chance.least > free.sure.gaps[0].chance.least
    last = ("job:\n", "job:\n  aims: [layout, thin, heat, middle, change, aim, sure, spare]\n")
    behind = asked(None, WIDE, last)  # of builds with the same gap the surer one
    assert behind.gaps[0].gap == free.gaps[0].gap
    assert behind.sure is not None
    assert behind.sure.gaps[0].chance.least > free.sure.gaps[0].chance.least


def test_the_aim_is_told_in_millionths_as_the_chance_is() -> None:
    report = asked(None, WIDE, SURE_FIRST)
    assert report.sure is not None
    lost = 1_000_000 - report.sure.gaps[0].chance.least
    told = {
        one["measure"]: one["value"] for one in json.loads(render(report, as_json=True))["aims"]
    }
    assert told["worst unsure"] == told["unsure"] == lost


def test_the_aim_goes_together_with_a_demand_and_with_several_best_builds() -> None:
    surely = asked(percent("95"), WIDE, SURE_FIRST)
    assert surely.gaps == asked(None, WIDE, SURE_FIRST).gaps
    text = UNIT.replace(*WIDE).replace(*SURE_FIRST)
    report = fit_case(case_of(yaml_door.parse(text, "drum")), best=3)
    assert report.best[0].gaps == report.gaps


def test_where_nothing_fits_the_ways_out_are_found_with_the_aim_too() -> None:
    report = asked(None, ("gap: .030", "gap: .080"), SURE_FIRST)
    assert isinstance(report.answer, NoFit)
    assert report.ways or report.reason


def test_why_is_asked_without_the_aim() -> None:
    text = UNIT.replace(*SURE_FIRST)
    with pytest.raises(InputError, match="ask it without the aim `sure`"):
        fit_case(case_of(yaml_door.parse(text, "drum")), why=True)


def test_a_guard_band_keeps_away_from_each_limit_by_its_factor() -> None:
    wide = ("window: .045 to .053", "window: .0365 to .0535")
    free, guarded = asked(None, wide), asked(guard("95"), wide)
    kept = []
    for report in (free, guarded):
        (gap,), sure = report.gaps, report.sure
        assert gap.margin is not None
        assert sure is not None
        kept.append(gap.margin.nm >= Fraction("1.6448") * sure.gaps[0].u.nm)
    assert kept == [False, True]
    line = "Every gap is 1.645 u from each of its limits (ISO 14253-1:2017, conformance probability"
    assert line in render(guarded)
    assert json.loads(render(guarded, as_json=True))["asked"]["by"] == "guard band"


@pytest.mark.parametrize("text", ["50", "80", "90", "95", "97.5", "99.9"])
def test_the_factor_is_the_one_sided_one_and_never_less(text: str) -> None:
    exact = stats.norm.ppf(float(text) / 100)
    assert 0 <= float(guard(text).factor) - exact < 2e-6


def test_a_window_too_narrow_for_a_guard_band_points_to_the_chance() -> None:
    with pytest.raises(InputError, match=r"both its sides matter.*ask for --sure 95 instead"):
        asked(guard("95"))


def test_what_is_asked_holds_of_every_other_build_that_is_shown() -> None:
    case = case_of(yaml_door.parse(UNIT.replace(*WIDE), "drum"))
    free, sure = (fit_case(case, best=9, demand=d) for d in (None, percent("99.5")))
    assert isinstance(sure.answer, Fit)
    assert 1 <= len(sure.best) < len(free.best)


@pytest.mark.parametrize(
    ("sure", "band", "why", "sentence"),
    [
        ("x", None, False, '--sure: found "x"; write a percentage from 50 to 99.99, such as 95'),
        ("100", None, False, "--sure: found"),
        ("49", None, False, "--sure: found"),
        (None, "0.95", False, "--guard: found"),
        ("95", "95", False, "ask for one of --sure, --sure-job, --guard"),
        ("95", None, True, "--why looks at all builds"),
    ],
)
def test_what_cannot_be_asked_is_said(
    sure: str | None, band: str | None, why: bool, sentence: str  # noqa: FBT001 - a table's column
) -> None:  # fmt: skip
    with pytest.raises(InputError) as refused:
        demand_of(sure, None, band, why=why)
    assert str(refused.value).startswith(sentence)


def test_percentages_are_read_as_written() -> None:
    assert demand_of("97.5", None, None, why=False) == percent("97.5")
    assert demand_of(None, None, "95", why=False) == guard("95")
    assert demand_of(None, None, None, why=True) is None


HIGH = "    high: {window: .045 to .053, stack: [friction, steel, friction, ring]}\n"
TWO = (
    ("  packs:\n", "  packs:\n" + HIGH),
    ("  gaps:\n", "  gaps:\n    high: {trial: [thin, .0780], gap: .048}\n"),
    ("ring: {.0700: 1, .0780: 1}", "ring: {.0700: 2, .0780: 2}"),
)


def whole(text: str) -> Demand:
    return Demand(Fraction(text), whole=True)


def test_all_gaps_together_are_as_sure_as_is_asked() -> None:
    each, together = asked(percent("87"), *TWO), asked(whole("90"), *TWO)
    assert each.sure is not None
    assert together.sure is not None
    assert each.sure.every.least < 900_000 <= together.sure.every.least
    assert "Every gap is sure, all of them together to 90 %, as asked.\n" in render(together)
    assert json.loads(render(together, as_json=True))["asked"]["by"] == "whole job"


def test_where_no_job_is_as_sure_together_the_best_is_shown() -> None:
    report = asked(whole("99"), *TWO)
    assert report.unsure is not None
    assert "NO FIT IS SURE ENOUGH, proved" in render(report)
    assert "sure of all gaps together: " in render(report)
    assert json.loads(render(report, as_json=True))["nearest"][0]["missed by"]["nm"] == 0


def test_the_best_builds_are_not_asked_of_a_whole_job() -> None:
    with pytest.raises(InputError, match="--best looks at each gap for itself"):
        demand_of(None, "95", None, why=False, best=3)
    assert demand_of(None, "95", None, why=False) == whole("95")


def test_the_command_asks_and_answers_with_its_exit_codes(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(UNIT, encoding="utf-8")
    for options, code in ((["--sure", "95"], 0), (["--sure", "97"], 3)):
        asked_ = CliRunner().invoke(cli, ["fit", str(job), *options], standalone_mode=False)
        assert asked_.return_value == code
        assert "sure" in asked_.output


def test_more_is_never_asked_in_vain() -> None:
    """The surer a build must be, the worse or equal it is; and it is as sure as that."""
    order = []
    for demand, window in product(map(percent, ("60", "90", "96")), [WIDE]):
        report = asked(demand, window)
        assert isinstance(report.answer, Fit)
        assert report.sure is not None
        assert report.sure.gaps[0].chance.least >= demand.percent * 10_000
        order.append(report.answer.values)
    assert order == sorted(order)
