"""Layouts that hold under conditions: chosen only there, and every answer repeats the reason."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING

import pytest

from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.models.unit import within

if TYPE_CHECKING:
    from gapwright.fit.report import Report

# No cut plate above a line pressure; five of the thick frictions or six of the thin: common
# practice, no source. The figures are ours.
UNIT = """\
length: in
unit:
  facts:
    line pressure: {number of: psi, default: 110}
    frictions: {values: [thick, thin]}
  families:
    thick friction: {kind: friction, fixed: .0830}
    thin friction: {kind: friction, fixed: .0670}
    steel: {kind: steel, fixed: .0700}
    plate: {kind: pressure plate, sizes: {full: .2550, cut: .2000}}
    ring: {kind: ring, sizes: [.0600, .0700, .0780]}
  packs:
    drive:
      window: .025 to .045
      space: depth
      readings: {depth: drum face to the piston}
      layouts:
        five thick:
          rank: 0
          only if: {frictions: thick}
          because: five of the thick frictions fill the drum
          stack: [{repeat: 4, of: [thick friction, steel]}, thick friction, {part: plate, only: full}, ring]
        six thin:
          rank: 0
          only if: {frictions: thin, line pressure: at most 125}
          because: the cut plate that six thin ones need bows under more
          stack: [{repeat: 5, of: [thin friction, steel]}, thin friction, {part: plate, only: cut}, ring]
shelf:
  plate: {full: 1, cut: 1}
  ring: {.0600: 1, .0700: 1, .0780: 1}
job:
  facts: FACTS
  gaps: {drive: {readings: {depth: DEPTH}}}
"""  # noqa: E501 - as a person writes it


def ask(facts: str, depth: str = "1.0500") -> Report:
    text = UNIT.replace("FACTS", facts).replace("DEPTH", depth)
    return fit_case(case_of(parse(text, "job.yaml")))


def test_a_layout_allowed_is_told_with_its_reason() -> None:
    words = render(ask("{frictions: thick}"))
    assert "drive: layout five thick, only with frictions thick: five of the thick" in words
    assert (
        "drive: layout not allowed here: six thin: frictions is thick "
        "(the cut plate that six thin ones need bows under more)" in words
    )


@pytest.mark.parametrize(
    ("pressure", "allowed"), [("110", True), ("125 psi", True), ("125.5", False), ("140", False)]
)
def test_no_cut_plate_above_this_line_pressure(pressure: str, *, allowed: bool) -> None:
    facts = f"{{frictions: thin, line pressure: {pressure}}}"
    if allowed:
        report = ask(facts)
        assert [gap.layout for gap in report.gaps] == ["six thin"]
        told = json.loads(render(report, "in", as_json=True))
        assert told["layout because"]["drive"].endswith("bows under more")
        return
    with pytest.raises(InputError) as error:
        ask(facts)
    number = pressure.split(maxsplit=1)[0]
    assert (
        f"six thin: line pressure is {number} psi, and it takes at most 125 "
        "(the cut plate that six thin ones need bows under more)" in str(error.value)
    )
    assert "five thick: frictions is thin (five of the thick frictions fill the drum)" in str(
        error.value
    )


def test_no_fit_repeats_the_reason_too() -> None:
    report = ask("{frictions: thick}", depth="1.1500")
    words = render(report)
    assert "NO FIT" in words
    assert "six thin: frictions is thick (the cut plate that six thin ones need bows" in words
    assert json.loads(render(report, "in", as_json=True))["layouts not allowed"] == {
        "drive": [
            "six thin: frictions is thick (the cut plate that six thin ones need bows under more)"
        ]
    }


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("at most 125", "below 125", 'found "below 125"; write at most 125, at least 90 or 90 to'),
        ("default: 110", "default: high", 'found "high"; write a number of psi, such as 110'),
        ("number of: psi", "number of: psi, values: [a]", "write either its `values`, or what it"),
        ("FACTS", "{frictions: thin, line pressure: raised}", 'found "raised"; write a number of'),
        ("FACTS", "{line pressure: 110}", 'say what "frictions" is: thick or thin'),
        (", default: 110", "", 'say what "line pressure" is: a number of psi'),
    ],
)
def test_conditions_that_say_nothing_are_refused(old: str, new: str, said: str) -> None:
    text = UNIT.replace(old, new).replace("FACTS", "{frictions: thin}").replace("DEPTH", "1.05")
    with pytest.raises(InputError) as error:
        case_of(parse(text, "job.yaml"))
    assert said in str(error.value)


def test_limits_hold_as_plain_numbers_do() -> None:
    draw = random.Random(4)  # noqa: S311 - a seeded test
    seen = set()
    for _ in range(400):
        value, low, high = draw.randint(0, 40), *sorted((draw.randint(0, 40), draw.randint(0, 40)))
        shapes = {
            f"at most {high}": value <= high,
            f"at least {low} psi": value >= low,
            f"{low} to {high} psi": low <= value <= high,
        }
        for text, holds in shapes.items():
            assert within(draw.choice([f"{value}", f"{value} psi"]), "psi", [text]) == holds
            seen.add(holds)
    assert seen == {True, False}
