"""Only builds that are sure enough: by their chance, and where none is."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from gapwright.__main__ import cli, run_command
from gapwright.fit.decision_rule import Demand, demand_of
from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.values.lengths import parse_length

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.fit.report import Report

UNIT = """\
length: in
unit:
  gauges: {feeler: .001}
  parts read with: micrometer
  families:
    friction: {kind: friction, fixed: .0800}
    steel: {kind: steel, tolerance: .003, sizes: {thick: .0880, thin: .0690}}
    ring: {kind: ring, tolerance: 0, sizes: [.0700, .0780]}
  packs:
    low:
      window: .045 to .053
      spreads by: 0
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


def test_a_measured_steel_is_taken_where_one_as_sold_is_not_sure_enough() -> None:
    free, surely = asked(None), asked(percent("95"))
    assert [line.thickness for gap in free.gaps for line in gap.steps if line.size == "thin"] != [
        line.thickness for gap in surely.gaps for line in gap.steps if line.size == "thin"
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
    assert shape["asked"] == {"percent": 97.0}
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


def test_what_is_asked_holds_of_every_other_build_that_is_shown() -> None:
    case = case_of(yaml_door.parse(UNIT.replace(*WIDE), "drum"))
    free, sure = (fit_case(case, best=9, demand=d) for d in (None, percent("99.5")))
    assert isinstance(sure.answer, Fit)
    assert 1 <= len(sure.best) < len(free.best)


@pytest.mark.parametrize(
    ("sure", "why", "sentence"),
    [
        ("x", False, '--sure: found "x"; write a percentage from 50 to 99.99, such as 95'),
        ("100", False, "--sure: found"),
        ("49", False, "--sure: found"),
        ("0.95", False, "--sure: found"),
        ("95", True, "--why looks at all builds: ask it without --sure"),
    ],
)
def test_what_cannot_be_asked_is_said(sure: str, why: bool, sentence: str) -> None:  # noqa: FBT001 - a table's column
    with pytest.raises(InputError) as refused:
        demand_of(sure, why=why)
    assert str(refused.value).startswith(sentence)


def test_percentages_are_read_as_written() -> None:
    assert demand_of("97.5", why=False) == percent("97.5")
    assert demand_of(None, why=True) is None


@pytest.mark.parametrize("gone", ["--guard", "--sure-job"])
@pytest.mark.parametrize("given", [["95"], []])
def test_an_option_that_is_gone_is_refused_with_what_to_ask(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], gone: str, given: list[str]
) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(UNIT, encoding="utf-8")
    assert run_command(["fit", str(job), gone, *given]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == f"{gone} is gone: ask for --sure 95, that every gap is so sure\n"
    run_command(["fit", "--help"])
    assert gone not in capsys.readouterr().out


@pytest.mark.parametrize("section", ["unit:\n", "job:\n"])
def test_the_aim_that_is_gone_is_refused_at_its_line_with_what_to_ask(section: str) -> None:
    named = UNIT.replace(section, f"{section}  aims: [layout, thin, sure, aim]\n")
    with pytest.raises(InputError) as refused:
        case_of(yaml_door.parse(named, "drum.yaml"))
    line = named.splitlines().index("  aims: [layout, thin, sure, aim]") + 1
    assert str(refused.value) == (
        f'drum.yaml:{line}: {section[:-2]}.aims: found "sure"; it is no aim any more: write '
        "safe, which keeps gaps clear of their limits, or ask `gapwright fit --sure 95`"
    )


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


WAVED = """\
length: in
unit:
  gauges: {dial: .0005}
  families:
    friction: {kind: friction, fixed: .0820}
    steel: {kind: steel, sizes: {thick: .0930, thin: .0740}}
    ring: {kind: ring, sizes: [.0640, .0730]}
  packs:
    forward:
      window: .048 to .080
      readings: {gap: {what: dial on the plate, gauge: dial, places: 2}}
      stack: [friction, {repeat: 2, of: [steel, friction]}, ring]
shelf: {steel: {thick: 2, thin: 2}, ring: {.0640: 1, .0730: 1}}
job:
  gaps:
    forward: {trial: [thick, thick, .0730], now: trial, gap: AT}
"""


@pytest.mark.parametrize("at", [".046", "[.046, .046]", "[.045, .047]", "[.0445, .0475]"])
def test_two_places_that_differ_a_little_cost_no_thin_steel(at: str) -> None:
    """The thinner ring leaves 0.055; it is 0.007 from its limit, and two places say so too."""
    case = case_of(yaml_door.parse(WAVED.replace("AT", at), "drum"))
    for demand in (None, percent("95")):
        report = fit_case(case, demand=demand)
        (gap,) = report.gaps
        assert (gap.thin, gap.gap) == (0, parse_length(".055 in"))
        assert report.sure is not None
        assert not report.sure.tilted
        assert report.sure.gaps[0].chance.least > 950_000
