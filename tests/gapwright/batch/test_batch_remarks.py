"""A plan says of each job what `fit` says of it: chance, close to a limit, uneven, read again."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from tests.commands import ran

if TYPE_CHECKING:
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Fell drum
  gauges: {depth gauge: .001}
  families:
    apply plate: {kind: apply plate, fixed: .1000}
    friction: {kind: friction, fixed: .0800}
    drum steel: {kind: steel, sizes: {thick: .0900}}
    drum ring: {kind: ring, sizes: {R1: .0600}}
  packs:
    fell pack:
      window: .040 to .060
      space: depth
      readings: {depth: {what: groove to piston, gauge: depth gauge, places: 3}}
      stack: [apply plate, {repeat: 2, of: [friction, drum steel]}, friction, drum ring]
      note: the groove has a burr to take off
"""
SHELF = "length: in\nshelf:\n  drum steel: {thick: 8}\n  drum ring: {R1: 4}\n"
DEPTHS = {
    "clear": ".6300 .6300 .6303",  # .0501 in the middle of its window
    "near": ".6220",  # .0420, which only another ring could keep clear, and there is none
    "nearer": ".6210 .6210 .6210",  # .0410
    "uneven": ".6285 .6405 .6285",  # .0525 on average, .0605 at the second place
}


def write_drums(folder: Path) -> None:
    """Write the jobs with their unit and shelf into a folder."""
    folder.mkdir(exist_ok=True)
    (folder / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (folder / "shelf.yaml").write_text(SHELF, encoding="utf-8")
    for name, depth in DEPTHS.items():
        places = ", ".join(depth.split())
        job = f"gaps: {{fell pack: {{readings: {{depth: [{places}]}}}}}}"
        head = "length: in\nunit: unit.yaml\nshelf: shelf.yaml\njob:\n"
        (folder / f"{name}.yaml").write_text(f"{head}  name: {name}\n  {job}\n", encoding="utf-8")


@pytest.fixture
def drums(tmp_path: Path) -> Path:
    write_drums(tmp_path)
    return tmp_path


def files() -> list[str]:
    return [f"{name}.yaml" for name in DEPTHS]


def of_fit(drums: Path, name: str) -> dict[str, Any]:
    asked = ran("fit", f"{name}.yaml", "--json", cwd=drums)
    assert asked.returncode == 0, asked.stderr
    found: dict[str, Any] = json.loads(asked.stdout)
    return found


def of_batch(drums: Path, *words: str) -> dict[str, Any]:
    asked = ran("batch", *files(), "--json", *words, cwd=drums)
    assert asked.returncode in (0, 3), asked.stderr
    found: dict[str, Any] = json.loads(asked.stdout)
    return {job["job"]: job for job in found["jobs"]}


def part_of(text: str, name: str) -> list[str]:
    """Return the lines of one job of a plan."""
    lines = text.split(f"\n\n{name}, Fell drum\n")[1].split("\n\n", maxsplit=1)[0]
    return lines.splitlines()


def test_the_first_lines_name_the_jobs_to_mind_the_least_sure_first(drums: Path) -> None:
    told = ran("batch", *files(), cwd=drums).stdout.splitlines()
    first = "4 of 4 jobs can be completed, 2 of them CLOSE TO THE LIMIT, proved best"
    chance = {name: of_fit(drums, name)["sure"]["all gaps"]["at least"] for name in DEPTHS}
    assert 0.5 < chance["nearer"] < chance["near"] < 0.95 < chance["clear"]
    nearer, near = (f"{name} ({int(100 * chance[name])} % sure)" for name in ("nearer", "near"))
    assert told[:4] == [
        first,
        f"  CLOSE TO THE LIMIT: {nearer}, {near}",
        "  READ AGAIN FIRST: uneven",
        "  TILTED? uneven",
    ]


def test_each_job_has_its_chance_and_a_line_a_remark(drums: Path) -> None:
    told = ran("batch", *files(), cwd=drums).stdout
    near, uneven, clear = (part_of(told, name) for name in ("near", "uneven", "clear"))
    assert near[0].startswith("  CLOSE TO THE LIMIT: fell pack is 0.002 in from its limit, ")
    assert near[1].startswith("  fell pack  0.042 in, ")
    assert near[1].endswith(" % sure  2 x drum steel thick, drum ring R1")
    assert near[2].startswith("    measure again: `depth` (")
    assert near[3] == "    note: the groove has a burr to take off"
    assert near[4] == "  fell pack: `depth` is asked for at 3 places, and given at 1"
    assert uneven[0].startswith("  READ AGAIN FIRST: at place 2 of `depth` (0.6405 in) fell pack ")
    assert uneven[0].endswith(" would be 0.0605 in, outside its window.")
    assert uneven[1].startswith("  TILTED? places 1 and 2 of `depth` of fell pack differ by 0.012 ")
    assert len(clear) == 2  # its gap and the unit's note


def test_fit_and_batch_say_the_same_of_a_job(drums: Path) -> None:
    planned = of_batch(drums)
    seen = set()
    for name in DEPTHS:
        mine, fit = planned[name], of_fit(drums, name)
        for key in ("gaps", "sure", "close to limit", "read again"):
            assert mine[key] == fit[key], (name, key)
        seen |= {key for key in ("close to limit", "read again") if mine[key]}
        seen |= {"tilted"} if mine["sure"]["tilted"] else set()
    assert seen == {"close to limit", "read again", "tilted"}


def test_a_job_that_is_left_has_no_build_to_be_sure_of(drums: Path) -> None:
    left = of_batch(drums, "--hold", "near")["near"]
    assert (left["complete"], left["gaps"], left["sure"]) == (False, [], None)
    assert left["close to limit"] == left["read again"] == []


@pytest.mark.parametrize("shape", [f"gapwright batch {n}" for n in (1, 2, 3)])
def test_a_plan_kept_from_before_is_read(drums: Path, shape: str) -> None:
    plan = json.loads(ran("batch", *files(), "--json", cwd=drums).stdout)
    (drums / "plan.json").write_text(json.dumps(plan | {"shape": shape}), encoding="utf-8")
    asked = ran("batch", *files(), "--json", "--keep-plan", "plan.json", cwd=drums)
    assert asked.returncode == 0, asked.stderr
    (kept,) = [one for one in json.loads(asked.stdout)["levels"] if one["measure"] == "kept"]
    assert kept["value"] == 0
