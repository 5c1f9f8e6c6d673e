"""A kit as a person meets it: words, JSON, picture, exit codes, and what goes wrong."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from gapwright.output.money import WHOLE
from gapwright.stock.kit.chart import frontier_chart
from gapwright.stock.kit.service import choose_kit
from solver.engines.limits import Limits
from specs.files.read import read_kit
from specs.parts.kit_contents import held
from tests.commands import ran
from tests.gapwright.charts import axes_of, words_in

if TYPE_CHECKING:
    import subprocess
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0800}
    drum steel: {kind: steel, sizes: {thick: {thickness: .0880, price: 2.10, sold in: 2}}}
    drum ring: {kind: ring, sizes: {A: {thickness: .0600, price: 3.40}, B: {thickness: .0700, price: 3.00}}}
    hub washer: {kind: washer, sizes: {"1": {thickness: .0500, price: 1}}}
  packs:
    low drum: {window: .010 to .018, stack: [friction, drum steel, drum ring]}
  end plays:
    front play: {window: .005 to .015, space: gap, stack: [hub washer]}
"""  # noqa: E501 - a line of a file
PAST = "low drum,count\n.241,60\n.250,30\n.256,6\n.300,4\n"


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "past.csv").write_text(PAST, encoding="utf-8")
    return tmp_path


def kit(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return ran("stock", "kit", *arguments, cwd=cwd)


FILES = ("unit.yaml", "--history", "past.csv", "--use-all")


@pytest.mark.face
def test_the_kit_is_told_with_the_worth_of_each_size(bench: Path) -> None:
    told = kit(*FILES, "--share", "90", cwd=bench)
    assert told.returncode == 0, told.stderr
    lines = [line.split() for line in told.stdout.splitlines()]
    assert lines[0] == ["KIT", "for", "low", "drum:", "10.60,", "proved", "cheapest"]
    drums = "serves 90 of 100 drums clear of their limits, 90 were asked for"
    assert " ".join(lines[1]) == f"{drums}; 6 more only up to the limit"
    assert lines[2] == ["left", "aside,", "without", "a", "column:", "front", "play"]
    assert ["drum", "ring", "A", "1", "+0", "drums", "-60", "drums"] in lines
    assert ["drum", "steel", "thick", "2", "+0", "drums", "-90", "drums"] in lines
    assert lines[-1] == ["10.60", "90", "90.0", "%", "6", "more"]


def test_json_has_the_shape_it_promises(bench: Path) -> None:
    told = json.loads(kit(*FILES, "--share", "60 %", "--json", cwd=bench).stdout)
    assert told["shape"] == "gapwright stock kit 2"
    assert told["answer"] == "kit"
    assert told["proved"] is True
    assert told["kit"] == {
        "cost": "7.6",
        "at least": "7.6",
        "served": 60,
        "only to the limit": 0,
        "proved": True,
        "contents": [
            {"family": "drum ring", "size": "A", "count": 1},
            {"family": "drum steel", "size": "thick", "count": 2},
        ],
    }
    assert (told["can be served"], told["only to the limit"]) == (90, 6)
    assert [kit["only to the limit"] for kit in told["frontier"]] == [0, 6]


def test_a_share_no_kit_can_serve_is_no_fit(bench: Path) -> None:
    told = kit(*FILES, "--share", "96.5", "-o", "kit.yaml", cwd=bench)
    assert told.stdout.endswith("kit.yaml: not written: there is no kit\n")
    assert not (bench / "kit.yaml").exists()
    assert told.returncode == 3
    assert told.stdout.splitlines()[0] == (
        "NO KIT of the unit's sizes serves 97 of 100 drums; "
        "at most 90 can be served clear of their limits; 6 more only up to the limit"
    )


@pytest.mark.face
def test_the_frontier_is_drawn(bench: Path) -> None:
    drawn = kit(*FILES, "--share", "90", "--picture", "kit.svg", cwd=bench)
    assert drawn.returncode == 0, drawn.stderr
    assert "Cheapest kits: cost against drums served" in words_in((bench / "kit.svg").read_bytes())
    report = choose_kit(bench / "unit.yaml", [bench / "past.csv"], Fraction(9, 10), Limits(), None)
    (axes,) = axes_of(frontier_chart(report))
    points = [line.get_xydata()[0].tolist() for line in axes.lines if line.get_marker() == "o"]
    kits = [[kit.cost / WHOLE, kit.served] for kit in report.frontier]
    assert sorted(points) == sorted([*kits, kits[report.frontier.index(report.kit)]])  # ringed
    assert len(kits) == 2
    (close,) = (line for line in axes.lines if line.get_marker() == "_")
    assert close.get_xydata().tolist() == [[kits[1][0], 96]]  # 90 of them clear of the limits
    words = words_in((bench / "kit.svg").read_bytes())
    assert "bar: with those served only up to the limit" in words


def test_the_kit_is_written_as_a_file_that_cover_reads(bench: Path) -> None:
    (bench / "kits").mkdir()
    told = kit(*FILES, "--share", "90", "-o", "kits/k.yaml", cwd=bench)
    assert told.stdout.endswith("kits/k.yaml: written; gapwright kit check kits/k.yaml\n")
    assert held(read_kit(bench / "kits" / "k.yaml")) == {
        ("drum ring", "A"): 1, ("drum ring", "B"): 1, ("drum steel", "thick"): 2,
    }  # fmt: skip
    covered = json.loads(ran("cover", "kits/k.yaml", "--json", cwd=bench).stdout)
    shelf = "{drum ring: {A: 1, B: 1}, drum steel: {thick: 2}}"
    (bench / "shelf.yaml").write_text(f"shelf: {shelf}\n", encoding="utf-8")
    asked = ran("cover", "unit.yaml", "--shelf", "shelf.yaml", "--json", cwd=bench)
    assert covered == json.loads(asked.stdout)
    again = kit(*FILES, "--share", "60", "-o", "kits/k.yaml", cwd=bench)
    assert (again.returncode, again.stdout) == (2, "")
    assert "kits/k.yaml: is there already and is left as it is" in again.stderr
    assert kit(*FILES, "--share", "60", "-o", "kits/k.yaml", "--replace", cwd=bench).returncode == 0
    assert held(read_kit(bench / "kits" / "k.yaml"))["drum ring", "B"] == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((*FILES, "--share", "0"), '--share: found "0"; write percent, such'),
        ((*FILES, "--share", "101"), "write percent, such"),
        (("unit.yaml", "--history", "none.csv"), "none.csv: no such file: check the name"),
        (("past.csv", "--history", "past.csv"), "past.csv"),
        ((*FILES, "--picture", "kit.gif"), "name a picture .svg, .png or .pdf"),
        ((*FILES, "-o", "kit.csv"), 'kit.csv: found ".csv"; name a kit file .yaml'),
        ((*FILES, "-o", "none/kit.yaml"), "there is no such folder; make it, or name another"),
    ],
)
def test_what_is_wrong_is_one_sentence(bench: Path, arguments: tuple[str, ...], says: str) -> None:
    told = kit(*arguments, cwd=bench)
    assert told.returncode == 2
    assert says in told.stderr
    assert "Traceback" not in told.stderr


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("low drun\n.241\n", 'past.csv:1: found "low drun"; did you mean "low drum"?'),
        ("low drum,front play\n.241,\n", "past.csv: a drum without all its spaces"),
    ],
)
def test_a_history_that_does_not_match_the_unit_is_refused(
    bench: Path, text: str, says: str
) -> None:
    (bench / "past.csv").write_text(text, encoding="utf-8")
    told = kit(*FILES, cwd=bench)
    assert told.returncode == 2
    assert says in told.stderr


def test_a_third_of_the_drums_is_held_out_and_the_kit_tried_on_it(bench: Path) -> None:
    told = json.loads(kit(*FILES[:-1], "--share", "60", "--json", cwd=bench).stdout)
    assert (told["drums"], told["held out"]["drums"]) == (67, 33)
    served = told["held out"]["served"]
    assert 0 < served < 33
    assert told["held out"]["low"] < served / 33 < told["held out"]["high"]
    words = kit(*FILES[:-1], "--share", "60", cwd=bench).stdout
    assert f"of 33 drums held out from the choice it serves {served}:" in words
    seed = ("--seed", "2", "--share", "60", "--json")
    other = json.loads(kit(*FILES[:-1], *seed, cwd=bench).stdout)
    assert other["held out"]["drums"] == 33
