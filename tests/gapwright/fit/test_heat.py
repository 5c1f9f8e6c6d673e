"""What thin steels cost in heat."""

from __future__ import annotations

import json
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from gapwright.cli.fit import fit
from gapwright.fit.chart import heat_chart, pack_heat_chart
from gapwright.fit.heat import heat_of
from gapwright.fit.heat_text import heat_cost_words
from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from gapwright.paper.job_sheet import sheet_of
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from tests.gapwright.charts import axes_of, words_in
from tests.specs.drums import DRUM as DRUM_OF_THREE
from tests.specs.drums import swapped

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.fit.report import Report

DRUM = """\
length: mm
unit:
  families:
    disc: {kind: friction, fixed: 2.0}
    steel: {kind: steel, sizes: {thick: 2.0, thin: 1.5}}
    back: {kind: steel, fixed: 3.0}
    ring: {kind: ring, sizes: [1.5]}
    washer: {kind: washer, sizes: [1.0]}
  packs: {low: {window: WINDOW, stack: [{repeat: 2, of: [steel, disc]}, back, disc, ring]}}
  end plays: {play: {window: 0.4 to 0.6, space: room, readings: {room: room}, stack: [washer]}}
shelf: {steel: {thick: 2, thin: 2}, ring: {1.5: 1}, washer: {1.0: 1}}
job:
  gaps:
    low: {trial: [thin, thick, 1.5], gap: GAP}
    play: {readings: {room: 1.5}}
"""


def fitted(gap: str, window: str = "0.4 to 0.6") -> Report:
    text = DRUM.replace("GAP", gap).replace("WINDOW", window)
    return fit_case(case_of(yaml_door.parse(text, "drum")))


@pytest.mark.parametrize(
    ("gap", "window", "share", "said"),
    [
        ("1.0", "0.4 to 0.6", Fraction(1), None),
        ("0.5", "0.4 to 0.6", Fraction(65, 70), ("93 %", "1.08")),
        ("0.5", "0.9 to 1.1", Fraction(60, 70), ("86 %", "1.17")),
    ],
)  # fmt: skip
def test_steels_are_compared_with_thick_ones_alone(
    gap: str, window: str, share: Fraction, said: tuple[str, str] | None
) -> None:
    report = fitted(gap, window)
    heat = heat_of(report.case, report.gaps[0])
    assert heat is not None
    assert heat.share == share
    assert heat.warms == 1 / share
    told = render(report)
    if said is None:
        assert "heat: " not in told
    else:
        percent, warms = said
        line = (
            f"  heat: {percent} of the steel of thick ones alone; it warms {warms} times as much\n"
        )
        assert line in told


def test_what_has_no_steel_has_no_heat_to_compare() -> None:
    report = fitted("1.0")
    assert heat_of(report.case, report.gaps[1]) is None
    shape = json.loads(render(report, as_json=True))
    assert shape["gaps"][1]["heat"] is None


def test_json_gives_the_share_exactly_and_what_it_comes_to() -> None:
    shape = json.loads(render(fitted("0.5"), as_json=True))
    heat = shape["gaps"][0]["heat"]
    assert (heat["share of thick"], heat["warms"]) == ("13/14", 1.0769)
    assert heat["engagement"] is None
    assert [steel["rise"] for steel in heat["steels"]] == [None] * 3


# One engagement of 9 kJ on five heated faces: 1,800 J each. A millimetre of steel takes 100 J/K, so
# that the thin one at the piston, lined on one side alone, warms by 1800 / 150 = 12 K, ...
HEAT = "heat: {energy: 9 kJ, weighed: {steel/thick: 400 g}, heat capacity: 500 J/kg K}"


def heated(gap: str, *, first: str = "piston", heat_end: str = "ring") -> Report:
    text = DRUM.replace("GAP", gap).replace("WINDOW", "0.4 to 0.6")
    text = (
        text.replace(
            "{low: {",
            f"{{low: {{{HEAT}, first in: {first}, heat end: {heat_end}, layouts: {{one: "
            "{rank: 0, smooth faces may meet: yes, ",
        )
        .replace("stack: [{repeat: 2", "STACK")
        .replace("window: 0.4 to 0.6, STACK", "STACK")
    )
    text = text.replace("disc, ring]}}", "disc, ring]}}, window: 0.4 to 0.6}}")
    return fit_case(case_of(yaml_door.parse(text.replace("STACK", "stack: [{repeat: 2"), "drum")))


def test_the_hottest_steel_is_named_and_the_heat_end_stays() -> None:
    told = render(heated("0.5"))
    assert (
        "  heat: 93 % of the steel of thick ones alone (1.3 of 1.4 kg, 650 of 700 J/K); "
        "it warms 1.08 times as much\n"
        "  one engagement (9 kJ): hottest steel thick (number 3), 18 C (32 F) up; "
        "of thick ones alone 18 C (32 F)\n"
    ) in told
    assert told.count("predict no temperature") == 1


@pytest.mark.parametrize(
    ("size", "weighed", "kilograms"),
    [
        ("thick", "steel/thick", Fraction(13, 10)),
        ("thick", "back", Fraction(13, 15)),
        ("1/2 thick", "steel/1/2 thick", Fraction(13, 10)),
    ],
)
def test_a_steel_is_weighed_by_its_name_whatever_stands_in_it(
    size: str, weighed: str, kilograms: Fraction
) -> None:
    text = DRUM.replace("thick", size).replace("GAP", "0.5").replace("WINDOW", "0.4 to 0.6")
    heat = f"heat: {{energy: 9 kJ, weighed: {{{weighed}: 400 g}}}}"
    report = fit_case(case_of(yaml_door.parse(text.replace("{low: {", f"{{low: {{{heat}, "), "")))
    found = heat_of(report.case, report.gaps[0])
    assert found is not None
    assert found.engagement is not None
    assert found.engagement.kilograms == kilograms


OTHER_HALF = "and of thick steels alone the hottest lies in the other half"


def test_the_middle_steel_belongs_to_both_halves() -> None:
    for end in ("ring", "piston"):
        assert OTHER_HALF not in render(heated("0.5", heat_end=end))


def test_a_thin_steel_at_the_cool_end_tells_nothing_of_the_heat_end() -> None:
    text = swapped(DRUM_OF_THREE, ("stack:", "heat: {energy: 9 kJ, outer: 5 in}\n      stack:"))
    reports = [fit_case(case_of(yaml_door.parse(told, "drum"))) for told in (text, DRUM_OF_THREE)]
    (gap,) = reports[0].gaps
    found = heat_of(reports[0].case, gap)
    assert gap.thin
    assert found
    assert not found.at_heat_end
    assert "the heat end is said" not in render(reports[0])
    assert reports[0].gaps == reports[1].gaps


@pytest.mark.parametrize(("end", "said"), [("ring", False), ("piston", True)])
def test_where_faces_tell_of_another_end_it_is_said_and_nothing_moves(
    end: str, *, said: bool
) -> None:
    text = swapped(
        DRUM.replace("GAP", "0.5").replace("WINDOW", "0.4 to 0.6"),
        ("{low: {", f"{{low: {{{HEAT}, heat end: {end}, "),
        ("{repeat: 2", "{repeat: 1"),
        ("[thin, thick, 1.5]", "[thick, 1.5]"),
    )
    told = render(fit_case(case_of(yaml_door.parse(text, "drum"))))
    assert ("the heat end is said to be the piston side, " + OTHER_HALF in told) == said


@pytest.mark.parametrize("first", ["piston", "ring"])
def test_the_costs_of_thin_steels_are_told_where_asked(first: str) -> None:
    report = heated("0.5", first=first)
    number = next(line.number for line in report.gaps[0].steps if line.grade == "thin")
    head, told = heat_cost_words(report)
    assert head == "what each thin steel costs in heat"
    costs = "12 C (22 F) up, 3.0 C (5.4 F) more than a thick one there"
    assert told == f"  low: steel thin (number {number}): {costs}"


def test_without_an_energy_the_costs_are_told_as_ratios() -> None:
    (_, told) = heat_cost_words(fitted("0.5"))
    assert told == "  low: steel thin (number 1): warms 1.33 times as much as a thick one there"


def test_json_gives_every_steel_its_rise_and_the_hottest() -> None:
    heat = json.loads(render(heated("0.5"), as_json=True))["gaps"][0]["heat"]
    assert [steel["heated faces"] for steel in heat["steels"]] == [1, 2, 2]
    assert [steel["rise"] for steel in heat["steels"]] == [12.0, 18.0, 12.0]
    assert heat["engagement"] == {
        "joules": 9000.0, "kilograms": 1.3, "joules per kelvin": 650.0, "hottest": [3],
        "at heat end": True,
    }  # fmt: skip


def test_the_chart_has_a_bar_for_each_steel_as_long_as_its_rise() -> None:
    report = heated("0.5")
    heat = heat_of(report.case, report.gaps[0])
    assert heat is not None
    (axes,) = axes_of(pack_heat_chart(report.gaps[0], heat))
    widths = [bar.get_width() for bar in axes.patches]
    bars, frames = widths[::2], widths[1::2]
    assert bars == [12.0, 18.0, 12.0]  # the piston's end first
    assert frames == [9.0, 18.0, 12.0]
    words = [text.get_text() for text in axes.texts]
    assert words == ["12 C (22 F)", "18 C (32 F), hottest", "12 C (22 F)"]
    assert len(axes.lines) == 5  # heated faces


def test_a_chart_is_drawn_of_every_pack_with_steels() -> None:
    for report in (heated("0.5"), fitted("0.5")):
        chart = heat_chart(report)
        assert chart is not None
        packs = [gap for gap in report.gaps if gap.steels]
        assert len(axes_of(chart)) == len(packs) == 1
        words = words_in(chart.drawn())
    assert "1.50 times, hottest" in words


def test_where_nothing_fits_nothing_is_drawn_and_the_answer_stands(tmp_path: Path) -> None:
    job, drawn = tmp_path / "job.yaml", tmp_path / "heat.svg"
    job.write_text(DRUM.replace("GAP", "9.0").replace("WINDOW", "0.4 to 0.6"), encoding="utf-8")
    ran = CliRunner().invoke(fit, [str(job), "--picture", str(drawn)], standalone_mode=False)
    assert ran.return_value == 3
    assert "no picture was drawn" in ran.stderr
    assert not drawn.exists()


def test_the_sheet_shows_the_heat_where_an_energy_is_said() -> None:
    day = date(2031, 4, 9)
    assert [card.heat is not None for card in sheet_of(heated("0.5"), day).cards] == [True, False]
    assert not any(card.heat for card in sheet_of(fitted("0.5"), day).cards)
