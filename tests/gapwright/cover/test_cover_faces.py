"""A cover as a person meets it: words, JSON, pictures, exit codes, and what goes wrong."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

import pytest

from gapwright.cover.answer import thin_zones, to_the_limit
from gapwright.cover.chart import cover_chart
from gapwright.cover.service import CoverOptions, cover_case
from specs.files.read import read_shelf
from specs.values.lengths import Length, number
from tests.commands import DEMO, ran
from tests.gapwright.charts import axes_of, words_in

if TYPE_CHECKING:
    import subprocess
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0750}
    drum steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    drum ring: {kind: ring, sizes: [.0720, .0800, .0880]}
  packs:
    "low <drum> & 'co'":
      window: .010 to .018
      space: depth
      readings: {depth: face to piston}
      stack: [{repeat: 2, of: [friction, drum steel]}, drum ring]
"""
KIT = "length: in\nshelf: {drum steel: {thick: 2, thin: 1}, drum ring: {.0720: 1, .0880: 1}}\n"
PAST = "depth,count\n.410,3\n.420,4\n.430,5\n"


COLLAR = """\
length: mm
unit:
  families: {washer: {kind: washer, sizes: {a: 1.60, b: 1.90}}}
  end plays:
    collar:
      window: {gap: 21.70 to 22.10, on: height}
      space: base
      readings: {base: bare height}
      stack: [washer]
shelf: {washer: {a: 1, b: 1}}
"""


SHIMMED = """\
        shimmed: {rank: 1, stack: [{repeat: 2, of: [friction, drum steel]}, drum ring, shim]}
"""


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
    assert "hole: 0.417 to 0.423 in; 1 x drum ring .0800 more would close it" in lines
    assert "drum ring: 0.008 from .0720 to .0800, window 0.008 in: holds" in lines
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


@pytest.mark.face
def test_json_has_the_shape_it_promises(bench: Path) -> None:
    told = json.loads(gapwright(*FILES, "--json", cwd=bench).stdout)
    assert told["shape"] == "gapwright cover 2"
    (cover,) = told["covers"]
    _, hole = cover["holes"]
    assert hole == {
        "from": {"nm": 417 * 25_400, "shown": "0.417 in"},
        "to": {"nm": 423 * 25_400, "shown": "0.423 in"},
        "closed by": {"family": "drum ring", "size": ".0800", "count": 1},
        "looked": True,
    }
    fits = [value for value in cover["values"] if value["answer"] == "fit"]
    assert len(fits) == sum(
        (span["to"]["nm"] - span["from"]["nm"]) // 25_400 + 1 for span in cover["served"]
    )
    (gap,) = fits[-1]["gaps"]
    assert gap["gap"]["shown"] == "0.018 in"
    assert gap["off aim"]["shown"] == "0.004 in"
    assert gap["parts"][0] == {"family": "drum ring", "size": ".0880", "count": 1}
    assert fits[-1]["builds"] == 1


@pytest.mark.face
def test_the_drawing_is_sound_and_names_its_holes(bench: Path) -> None:
    drawn = gapwright(*FILES, "--history", "past.csv", "--reading", "depth",
                      "--picture", "cover.svg", cwd=bench)  # fmt: skip
    assert drawn.returncode == 0, drawn.stderr
    texts = words_in((bench / "cover.svg").read_bytes())
    assert "hole 2: 0.417 to 0.423 in; 1 x drum ring .0800 more would close it" in texts
    assert "depth: reading of low <drum> & 'co', 0.362 to 0.440 in by 0.001" in texts
    assert "past drums: 8 of 12 are served" in texts
    assert {"1", "2", "hole: nothing fits", "gap in window", "tight", "loose"} <= {*texts}


CLOSE = (".389 to .390", ".396 to .397", ".405 to .406", ".415 to .416", ".424 to .425",
         ".431 to .432")  # fmt: skip
"""The doubt of a reading asks for more than 0.001 in, a quarter of the window for at most 0.002."""


def test_what_is_served_only_up_to_the_limit_is_told_apart(bench: Path) -> None:
    (bench / "past.csv").write_text("depth,count\n.390,3\n.391,4\n.400,5\n.432,6\n")
    asked = (*FILES, "--reading", "depth", "--history", "past.csv")
    lines = [line.strip() for line in gapwright(*asked, cwd=bench).stdout.splitlines()]
    at = lines.index("of these only up to the limit, marked +: 12:")
    assert lines[at + 1 : at + 7] == [f"0{one.replace('to .', 'to 0.')} in" for one in CLOSE]
    assert any(line.startswith("[") and "++####++" in line for line in lines)
    assert "past drums: 13 of 18 are served, 9 of these only up to the limit" in lines
    (told,) = json.loads(gapwright(*asked, "--json", cwd=bench).stdout)["covers"]
    runs = [(one["from"]["shown"], one["to"]["shown"]) for one in told["only to the limit"]]
    assert runs[0] == ("0.389 in", "0.390 in")
    assert len(runs) == 6
    clear = Counter((one["answer"], one["clear"]) for one in told["values"])
    assert clear == {("fit", True): 18, ("fit", False): 12, ("no fit", None): 49}
    assert told["history"]["only to the limit"] == 9
    assert [one["clear"] for one in told["history"]["at"]] == [False, True, None, False]


def test_a_unit_that_asks_for_no_distance_from_the_limits_is_told_of_none(bench: Path) -> None:
    unit = UNIT.replace("  name: Harrow 4", "  name: Harrow 4\n  certainty: none")
    (bench / "unit.yaml").write_text(unit, encoding="utf-8")
    assert "up to the limit" not in gapwright(*FILES, cwd=bench).stdout


def test_a_pack_without_a_low_limit_is_close_to_none(bench: Path) -> None:
    window = "{gap: at most .018, aim: .014, scale: .018}"  # as wide as the pack is at most
    unit = UNIT.replace(".010 to .018", window)
    (bench / "unit.yaml").write_text(unit, encoding="utf-8")
    (bench / "kit.yaml").write_text(KIT.replace("thin: 1", "thin: 0").replace(".0720: 1, ", ""))
    (covered,) = cover_case(
        read_shelf(bench / "unit.yaml", shelf=bench / "kit.yaml"), CoverOptions()
    )
    ends = [covered.at(end) for run in to_the_limit(covered) for end in (run.first, run.last)]
    assert ends == [Length(431 * 25_400), Length(432 * 25_400)]


def test_a_layout_that_comes_first_does_not_hide_one_that_keeps_clear(bench: Path) -> None:
    unit = UNIT.replace("      stack:", "      layouts:\n        plain: {rank: 0, stack:")
    unit = unit.replace("drum ring]\n", "drum ring]}\n" + SHIMMED)
    unit = unit.replace("    drum ring:", "    shim: {kind: shim, fixed: .0040}\n    drum ring:")
    (bench / "unit.yaml").write_text(unit, encoding="utf-8")
    (bench / "kit.yaml").write_text(
        "length: in\nshelf: {drum steel: {thick: 2}, drum ring: {.0720: 1}}\n"
    )
    case = read_shelf(bench / "unit.yaml", shelf=bench / "kit.yaml")
    (covered,) = cover_case(case, CoverOptions())
    ends = [[str(number(covered.at(end), "in")) for end in (run.first, run.last)]
            for run in to_the_limit(covered)]  # fmt: skip
    assert ends == [["0.408", "0.409"], ["0.419", "0.420"]]
    best = [covered.served[nth].build[0].layout for nth in range(covered.sweep.count)
            if covered.served[nth].status == "fit"]  # fmt: skip
    assert best == [0] * 9 + [1] * 4  # .415 and .416 are built plain, and could be shimmed


def test_a_height_is_charted_from_low_to_high(tmp_path: Path) -> None:
    (tmp_path / "unit.yaml").write_text(COLLAR, encoding="utf-8")
    covers = cover_case(read_shelf(tmp_path / "unit.yaml", shelf=None), CoverOptions())
    words = words_in(cover_chart(covers).drawn())
    assert {"low", "gap in window", "high"} <= {*words}
    assert not {"tight", "loose"} & {*words}


def test_what_is_served_and_every_hole_lie_where_the_answer_says(bench: Path) -> None:
    covers = cover_case(read_shelf(bench / "unit.yaml", shelf=bench / "kit.yaml"), CoverOptions())
    (covered,) = covers
    bar = axes_of(cover_chart(covers))[0]
    step = covered.step.nm / 25_400_000
    first = covered.at(0).nm / 25_400_000
    boxes = [collection.get_paths()[0].get_extents() for collection in bar.collections]
    drawn = sorted(
        (round((box.x0 - first) / step + 0.5), round((box.x1 - first) / step - 0.5))
        for box in boxes
    )
    told = [(run.first, run.last) for run, _ in thin_zones(covered)]
    told += [(hole.first, hole.last) for hole in covered.holes]
    told += [(run.first, run.last) for run in to_the_limit(covered)]
    assert drawn == sorted(told)
    assert covered.holes


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "write a FILE that holds or names unit and shelf, or --unit and --shelf"),
        (("--unit", "unit.yaml"), "this file holds no shelf"),
        ((*FILES, "--gap", "high"), "found \"high\"; packs and end plays: low <drum> & 'co'"),
        ((*FILES, "--step", "fine"), "--step 'fine' is no length"),
        ((*FILES, "--history", "none.csv"), "none.csv: no such file"),
        ((*FILES, "--picture", "cover.gif"), 'cover.gif: found ".gif"; name a picture .svg'),
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
