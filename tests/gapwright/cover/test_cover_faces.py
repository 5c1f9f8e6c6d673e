"""A cover as a person meets it: words, JSON, pictures, exit codes, and what goes wrong."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING
from xml.dom import minidom

import pytest

from tests.commands import DEMO, ran

if TYPE_CHECKING:
    import subprocess
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0800}
    drum steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    drum ring: {kind: ring, sizes: [.0620, .0700, .0780]}
  packs:
    "low <drum> & 'co'":
      window: .010 to .018
      space: depth
      readings: {depth: face to piston}
      stack: [{repeat: 2, of: [friction, drum steel]}, drum ring]
"""
KIT = "length: in\nshelf: {drum steel: {thick: 2, thin: 1}, drum ring: {.0620: 1, .0780: 1}}\n"
PAST = "depth,count\n.410,3\n.420,4\n.430,5\n"


def gapwright(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return ran("cover", *arguments, cwd=cwd)


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "kit.yaml").write_text(KIT, encoding="utf-8")
    (tmp_path / "past.csv").write_text(PAST, encoding="utf-8")
    return tmp_path


FILES = ("--unit", "unit.yaml", "--shelf", "kit.yaml")


def test_a_unit_and_a_kit_suffice(bench: Path) -> None:
    told = gapwright(*FILES, cwd=bench)
    assert told.returncode == 0, told.stderr
    lines = [line.strip() for line in told.stdout.splitlines()]
    assert "hole: 0.417 to 0.423 in; 1 x drum ring .0700 more would close it" in lines
    assert "drum ring: 0.008 from .0620 to .0700, window 0.008 in: holds" in lines
    assert "0.389 to 0.397 in   1" in lines
    assert lines[-1].split("  ")[0] == "0.424 to 0.432 in"


def test_the_unit_may_stand_with_its_shelf_in_one_file_without_a_job(bench: Path) -> None:
    both = bench / "both.yaml"
    both.write_text(UNIT + KIT.partition("\n")[2], encoding="utf-8")
    assert gapwright("both.yaml", cwd=bench).stdout == gapwright(*FILES, cwd=bench).stdout


def test_a_reading_and_its_past_are_told_in_another_unit(bench: Path) -> None:
    told = gapwright(
        *FILES, "--reading", "depth", "--history", "past.csv", "--lengths", "mm",
        "--from", ".408", "--to", "11 mm", "--step", "1 thou", cwd=bench,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    assert "depth: reading of low <drum> & 'co', 10.363 to 10.998 mm by 0.025" in told.stdout
    assert "past drums: 8 of 12 are served" in told.stdout


def test_json_has_the_shape_it_promises(bench: Path) -> None:
    told = json.loads(gapwright(*FILES, "--json", cwd=bench).stdout)
    assert told["shape"] == "gapwright cover 1"
    (cover,) = told["covers"]
    _, hole = cover["holes"]
    assert hole == {
        "from": {"nm": 417 * 25_400, "shown": "0.417 in"},
        "to": {"nm": 423 * 25_400, "shown": "0.423 in"},
        "closed by": {"family": "drum ring", "size": ".0700", "count": 1},
        "looked": True,
    }
    fits = [value for value in cover["values"] if value["answer"] == "fit"]
    assert len(fits) == sum(
        (span["to"]["nm"] - span["from"]["nm"]) // 25_400 + 1 for span in cover["served"]
    )
    (gap,) = fits[-1]["gaps"]
    assert gap["gap"]["shown"] == "0.018 in"
    assert gap["off aim"]["shown"] == "0.004 in"
    assert gap["parts"][0] == {"family": "drum ring", "size": ".0780", "count": 1}
    assert fits[-1]["builds"] == 1


def test_the_drawing_is_sound_and_names_its_holes(bench: Path) -> None:
    drawn = gapwright(*FILES, "--history", "past.csv", "--reading", "depth",
                      "--picture", "cover.svg", cwd=bench)  # fmt: skip
    assert drawn.returncode == 0, drawn.stderr
    svg = minidom.parse(str(bench / "cover.svg"))  # noqa: S318 - our own file
    texts = [str(getattr(n.firstChild, "data", "")) for n in svg.getElementsByTagName("text")]
    assert "hole 2: 0.417 to 0.423 in; 1 x drum ring .0700 more would close it" in texts
    assert "depth: reading of low <drum> & 'co', 0.362 to 0.440 in by 0.001" in texts
    assert "past drums: 8 of 12 are served" in texts
    hatched = [r for r in svg.getElementsByTagName("rect") if "hole" in r.getAttribute("fill")]
    assert len(hatched) == 3  # two holes, and the key to the marks


@pytest.mark.usefixtures("png")
def test_a_png_is_the_same_drawing(bench: Path) -> None:
    drawn = gapwright(*FILES, "--picture", "cover.png", cwd=bench)
    assert drawn.returncode == 0, drawn.stderr
    assert (bench / "cover.png").read_bytes().startswith(b"\x89PNG")


def test_without_the_extra_a_png_is_asked_for_in_one_sentence(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    told = gapwright(*FILES, "--picture", "cover.png", cwd=bench)
    assert told.returncode == 2
    assert "pip install resvg-py; or name an .svg" in told.stderr


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "write a FILE that holds or names unit and shelf, or --unit and --shelf"),
        (("--unit", "unit.yaml"), "this file holds no shelf"),
        ((*FILES, "--gap", "high"), "found \"high\"; packs and end plays: low <drum> & 'co'"),
        ((*FILES, "--step", "fine"), "--step 'fine' is no length"),
        ((*FILES, "--history", "none.csv"), "none.csv: No such file"),
        ((*FILES, "--picture", "cover.pdf"), 'cover.pdf: found ".pdf"; name a picture .svg'),
        ((*FILES, "--picture", "no/such/cover.svg"), "no/such/cover.svg: No such file"),
    ],
)
def test_what_is_wrong_is_one_sentence(bench: Path, arguments: tuple[str, ...], says: str) -> None:
    told = gapwright(*arguments, cwd=bench)
    assert told.returncode == 2
    assert says in told.stderr
    assert "Traceback" not in told.stderr


def test_a_job_puts_the_others_where_it_has_them(tmp_path: Path) -> None:
    told = gapwright(str(DEMO / "job.yaml"), "--gap", "train play", cwd=tmp_path)
    assert told.returncode == 0
    assert "the others stand as the job has them: low, drive, case" in told.stdout
    alone = gapwright(
        str(DEMO / "job.yaml"), "--gap", "train play", "--alone",
        cwd=tmp_path,
    )  # fmt: skip
    assert "each alone: it may draw on the whole shelf; left aside: low, drive" in alone.stdout


def test_out_of_time_is_told_and_is_no_proof(tmp_path: Path) -> None:
    told = gapwright(
        str(DEMO / "job.yaml"), "--gap", "train play", "--time", "0",
        cwd=tmp_path,
    )  # fmt: skip
    assert told.returncode == 4
    assert "undecided:" in told.stdout
