"""The command that plans several rebuilds, as a person meets it."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from benchmarks.floors import floor as benchmark_floor
from gapwright.batch.chart import plans_chart
from gapwright.batch.service import PlanOptions, plan_jobs, weight
from gapwright.batch.tables import plan_csv
from gapwright.output.rendering import render
from solver.batch import plan
from solver.engines.limits import Limits, Watch
from specs.errors import InputError
from specs.files.read_many import read_cases
from tests.commands import HOME, environment, ran
from tests.gapwright.charts import words_in

if TYPE_CHECKING:
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Harrow drum
  families:
    apply plate: {kind: apply plate, fixed: .1000}
    friction: {kind: friction, fixed: .0800}
    drum steel:
      kind: steel
      sizes:
        thick: {thickness: .0880, price: 2.10, sold in: 5}
        thin: {thickness: .0690, price: 2}
    drum plate: {kind: pressure plate, fixed: .1900}
    drum ring:
      kind: ring
      sizes:
        .0600: {thickness: .0600, price: 4}
        .0700: {thickness: .0700, price: 4}
        .0780: {thickness: .0780, price: 4}
  packs:
    low drum:
      window: .060 to .080
      space: depth
      readings: {depth: groove to piston}
      stack: [apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]
"""
SHELF = """\
length: in
shelf:
  drum steel: {thick: [{count: 5, bin: B1}, {count: 3, bin: B2}], thin: 3}
  drum ring: {.0600: 1, .0700: 2, .0780: 1}
"""
WEEK = """\
job,length,priority,due,low drum / depth
J-1,in,1,,1.012
J-2,in,2,2031-04-09,1.005 1.006 1.007
J-3,in,1,,0.990
J-4,in,1,2031-04-02,1.020
J-5,in,1,,1.2
"""
DAY = "2031-04-01"


@pytest.fixture
def floor(tmp_path: Path) -> Path:
    for name, text in (("unit.yaml", UNIT), ("shelf.yaml", SHELF), ("week.csv", WEEK)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def batch(floor: Path, *words: str) -> subprocess.CompletedProcess[str]:
    files = ("week.csv", "--unit", "unit.yaml", "--shelf", "shelf.yaml")
    return ran("batch", *files, "--day", DAY, *words, cwd=floor)


def told(floor: Path, *words: str) -> dict[str, object]:
    asked = batch(floor, "--json", *words)
    assert asked.returncode in (0, 3), asked.stderr
    found: dict[str, object] = json.loads(asked.stdout)
    return found


def complete(found: dict[str, object]) -> list[str]:
    jobs = found["jobs"]
    assert isinstance(jobs, list)
    return [job["job"] for job in jobs if job["complete"]]


@pytest.mark.face
def test_a_plan_says_what_is_built_what_is_left_and_what_to_order(floor: Path) -> None:
    asked = batch(floor, "--budget", "30")
    assert asked.returncode == 3, asked.stderr
    assert "3 of 5 jobs can be completed, proved best" in asked.stdout
    assert "J-4, Harrow drum (counts 4, due 2031-04-02)" in asked.stdout
    assert "a job due within 2 days counts 4 times its priority" in asked.stdout
    assert "J-1, Harrow drum: for want of" in asked.stdout
    assert "nearest from the whole shelf" in asked.stdout
    assert "drum steel thick        8      8" in asked.stdout
    assert "order to complete all that can be: costs 10, proved cheapest" in asked.stdout
    assert "could serve J-5: doubt their readings" in asked.stdout
    assert "guard your eyes" in asked.stdout


def test_all_done_is_exit_zero(floor: Path) -> None:
    text = "\n".join(WEEK.splitlines()[:2]) + "\n"
    (floor / "week.csv").write_text(text, encoding="utf-8")
    asked = batch(floor)
    assert asked.returncode == 0, asked.stderr
    assert "1 of 1 jobs" in asked.stdout


def test_json_is_the_same_twice_and_names_its_shape(floor: Path) -> None:
    one, two = batch(floor, "--json"), batch(floor, "--json")
    assert one.stdout == two.stdout
    found = json.loads(one.stdout)
    assert found["shape"] == "gapwright batch 3"
    assert found["proved"] is True
    assert found["engine"].startswith("HiGHS 1.")
    assert {level["proof"] for level in found["levels"]} == {"proved"}
    assert complete(found) == ["J-2", "J-3", "J-4"]
    bins = {part["bin"] for part in found["jobs"][3]["gaps"][0]["parts"] if part["size"] == "thick"}
    assert bins <= {"B1", "B2"}
    assert found["orders"]["to complete all"]["no size could serve"] == ["J-5"]


def test_no_bin_gives_more_than_it_holds(floor: Path) -> None:
    found = told(floor)
    jobs = found["jobs"]
    assert isinstance(jobs, list)
    places = [part["bin"] for job in jobs for gap in job["gaps"] for part in gap["parts"]]
    assert (places.count("B1"), places.count("B2")) == (5, 3)


def test_pins_and_holds_are_kept(floor: Path) -> None:
    assert "J-1" in complete(told(floor, "--pin", "J-1"))
    assert "J-2" not in complete(told(floor, "--hold", "J-2"))
    unknown = batch(floor, "--pin", "J-9", "--hold", "J-8")
    assert unknown.returncode == 2
    assert '--pin: found "J-9"' in unknown.stderr
    assert '--hold: found "J-8"' in unknown.stderr
    assert batch(floor, "--pin", "J-1", "--hold", "J-1").returncode == 2


def test_an_earlier_plan_is_kept_and_another_file_is_refused(floor: Path) -> None:
    (floor / "plan.json").write_text(batch(floor, "--json").stdout, encoding="utf-8")
    found = told(floor, "--keep-plan", "plan.json")
    levels = found["levels"]
    assert isinstance(levels, list)
    (kept,) = [level for level in levels if level["measure"] == "kept"]
    assert kept["value"] == 0
    (floor / "other.json").write_text('{"shape": "gapwright fit 1"}', encoding="utf-8")
    for name in ("other.json", "week.csv", "none.json"):
        asked = batch(floor, "--keep-plan", name)
        assert asked.returncode == 2
        assert "Traceback" not in asked.stderr


def built(found: dict[str, object]) -> dict[str, list[tuple[str, str]]]:
    """For each job that is completed its parts by place."""
    jobs = found["jobs"]
    assert isinstance(jobs, list)
    return {
        job["job"]: [(part["place"], part["size"]) for gap in job["gaps"] for part in gap["parts"]]
        for job in jobs
        if job["complete"]
    }


def test_one_changed_reading_leaves_the_other_builds_as_they_were(floor: Path) -> None:
    before = told(floor, "--hold", "J-4")
    (floor / "plan.json").write_text(json.dumps(before), encoding="utf-8")
    moved = WEEK.replace("1.005 1.006 1.007", "1.009 1.010 1.011")
    (floor / "week.csv").write_text(moved, encoding="utf-8")
    free = built(told(floor, "--hold", "J-4"))
    kept = built(told(floor, "--hold", "J-4", "--keep-plan", "plan.json"))
    was = built(before)
    assert set(kept) == set(was) == set(free)
    others = set(was) - {"J-2"}
    assert others
    assert {job: kept[job] for job in others} == {job: was[job] for job in others}


def test_the_table_and_the_picture_are_written(floor: Path) -> None:
    assert batch(floor, "--csv", "plan.csv", "--picture", "plan.svg").returncode == 3
    rows = list(csv.DictReader(io.StringIO((floor / "plan.csv").read_text(encoding="utf-8"))))
    assert {row["job"]: row["state"] for row in rows} == {
        "J-1": "left", "J-2": "complete", "J-3": "complete", "J-4": "complete", "J-5": "left",
    }  # fmt: skip
    assert sum(int(row["count"] or 0) for row in rows if row["size"] == "thick") == 8
    words = words_in((floor / "plan.svg").read_bytes())
    assert [words.count(one) for one in ("complete", "left", "J-1")] == [3, 2, 1]
    refused = batch(floor, "--csv", "nowhere/plan.csv")
    assert refused.returncode == 2
    assert "cannot be written" in refused.stderr
    assert "3 of 5 jobs can be completed" in refused.stdout  # it may have been reserved


def test_the_picture_is_what_its_ending_says(floor: Path) -> None:
    refused = batch(floor, "--picture", "plan.gif")
    assert refused.stderr == 'plan.gif: found ".gif"; name a picture .svg, .png or .pdf\n'
    assert (refused.returncode, refused.stdout) == (2, "")


def test_a_name_cannot_break_the_picture_or_the_table(floor: Path) -> None:
    text = WEEK.replace("J-1", '"<b>&""=1"').replace("J-2", "=cmd")
    (floor / "week.csv").write_text(text, encoding="utf-8")
    report = plan_jobs([floor / "week.csv"], floor / "unit.yaml", floor / "shelf.yaml")
    assert '<b>&"=1' in words_in(plans_chart({"shelf.yaml": report}).drawn())
    assert "\n'=cmd," in plan_csv(report)
    assert json.loads(render(report, as_json=True))
    assert "=cmd, Harrow drum" in render(report)


def test_every_bad_row_is_told_with_its_line(floor: Path) -> None:
    text = WEEK + "J-6,in,1\n,in,1,,1.0\nJ-1,in,1,,1.0\n"
    (floor / "week.csv").write_text(text, encoding="utf-8")
    asked = batch(floor)
    assert asked.returncode == 2
    assert "week.csv:7: found 3 cells; the header names 5 columns" in asked.stderr
    assert "week.csv:8: this row has no job" in asked.stderr
    assert 'week.csv:9: found "J-1" stands in line 2 too' in asked.stderr


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "this table is empty"),
        ("a,b\n1,2\n", 'no column is called "job"'),
        ("job,job\n1,2\n", 'two columns are called "job"'),
        ("job,\n1,2\n", "column 2 has no name"),
        ("job,Due\n1,2\n", 'write this column as "due"'),
        ("job\n", "there is no row under the header"),
        ('job,x\n"1,2\n', "cannot be read as a table"),
        ("job,low drum / depth\nA,1.0\n", "has no unit"),
        ("job,length,low drum / dpth\nA,in,1.0\n", "depth"),
        ("job,length,priority\nA,in,many\n", "write a whole number"),
    ],
)
def test_a_bad_table_is_refused_in_a_sentence(floor: Path, text: str, said: str) -> None:
    (floor / "week.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        plan_jobs([floor / "week.csv"], floor / "unit.yaml", floor / "shelf.yaml")
    assert said in str(refused.value)


def test_a_table_may_use_semicolons_and_a_byte_order_mark(floor: Path) -> None:
    text = "\ufeff" + WEEK.replace(",", ";")
    (floor / "week.csv").write_text(text, encoding="utf-8")
    assert complete(told(floor)) == ["J-2", "J-3", "J-4"]


def test_jobs_may_stand_in_a_folder_of_files(floor: Path) -> None:
    folder = floor / "jobs"
    folder.mkdir()
    for nth, depth in enumerate(("1.012", "1.006")):
        (folder / f"{nth}.yaml").write_text(
            "length: in\nunit: ../unit.yaml\nshelf: ../shelf.yaml\n"
            f"job: {{name: F-{nth}, gaps: {{low drum: {{readings: {{depth: {depth}}}}}}}}}\n",
            encoding="utf-8",
        )
    report = plan_jobs([folder])
    assert [case.job.name for case in report.cases] == ["F-0", "F-1"]
    assert len(report.gaps) == 2


def test_a_table_in_a_folder_that_is_of_something_else_is_passed_over(floor: Path) -> None:
    folder = floor / "bench"
    folder.mkdir()
    (folder / "notes.txt").write_text("ask for gaskets\n", encoding="utf-8")
    (folder / "pile.csv").write_text("part,thickness\nbox,.0691\n", encoding="utf-8")
    with pytest.raises(InputError, match="this folder holds no job files and no tables of jobs"):
        plan_jobs([folder])
    (folder / "week.csv").write_text("Job,length\nJ-1,in\n", encoding="utf-8")
    with pytest.raises(InputError, match='no column is called "job"; rename'):
        plan_jobs([folder])


def test_units_of_two_kinds_share_one_shelf(floor: Path) -> None:
    other = UNIT.replace("drum steel", "front steel").replace("drum ring", "front ring")
    (floor / "other.yaml").write_text(other, encoding="utf-8")
    (floor / "shelf.yaml").write_text(
        SHELF + "  front steel: {thick: 3}\n  front ring: {.0700: 1, .0780: 1}\n", encoding="utf-8"
    )
    text = "job,length,unit,low drum / depth\nA,in,unit.yaml,1.006\nB,in,other.yaml,1.012\n"
    (floor / "two.csv").write_text(text, encoding="utf-8")
    report = plan_jobs([floor / "two.csv"], None, floor / "shelf.yaml")
    assert len(report.gaps) == 2


def test_two_shelves_are_refused(floor: Path) -> None:
    (floor / "other.yaml").write_text(SHELF, encoding="utf-8")
    text = "job,length,shelf,low drum / depth\nA,in,shelf.yaml,1.0\nB,in,other.yaml,1.0\n"
    (floor / "two.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="plan each shelf by itself"):
        plan_jobs([floor / "two.csv"], floor / "unit.yaml")


def test_a_due_date_raises_a_priority_as_it_comes_near(floor: Path) -> None:
    cases = read_cases([floor / "week.csv"], floor / "unit.yaml", floor / "shelf.yaml")
    due = next(case for case in cases if case.job.name == "J-2")
    days = ("2031-03-01", "2031-04-02", "2031-04-07", "2031-05-01")
    assert [weight(due, day) for day in days] == [2, 4, 8, 8]


def test_without_time_there_is_a_plan_with_its_bound() -> None:
    found = plan(benchmark_floor(60, 1), Limits(seconds=0))
    assert not found.proved
    assert sum(build is not None for build in found.builds) > 15
    nth = next(n for n, reached in enumerate(found.reached) if reached.proof == "open")
    assert 0 <= found.reached[nth].bound <= found.reached[nth].value


def test_a_plan_not_proved_says_so_and_exits_four(floor: Path) -> None:
    asked = batch(floor, "--time", "0")
    assert asked.returncode in (3, 4), asked.stderr
    assert (asked.returncode == 4) == ("not proved best" in asked.stdout)


INTERRUPTED = """\
import os, signal, threading, time
from benchmarks.floors import floor
from solver.batch import plan
from solver.engines.limits import Limits, Watch

watch = Watch()

def interrupt():
    while not watch.words.startswith("thin"):
        time.sleep(0.01)
    os.kill(os.getpid(), signal.SIGINT)

threading.Thread(target=interrupt, daemon=True).start()
found = plan(floor(200, 1), Limits(watch=watch))
print(found.proved, sum(build is not None for build in found.builds), watch.stopped)
"""


def test_a_search_says_what_it_has_found_and_what_cannot_be_beaten() -> None:
    heard: list[str] = []

    class Heard(Watch):
        def __setattr__(self, name: str, value: object) -> None:
            heard.append(str(value))
            super().__setattr__(name, value)

    plan(benchmark_floor(12, 1), Limits(watch=Heard()))
    assert any(
        re.fullmatch(r"thin \(5 of 18\): found \d+, cannot be below \d+", word) for word in heard
    )


def test_control_c_gives_the_best_plan_so_far() -> None:
    asked = subprocess.run(
        [sys.executable, "-c", INTERRUPTED], cwd=HOME,
        env=environment(), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert asked.returncode == 0, asked.stderr
    proved, number, stopped = asked.stdout.split()
    assert (proved, stopped) == ("False", "True")
    assert int(number) > 100


def test_a_budget_and_a_day_are_checked(floor: Path) -> None:
    with pytest.raises(InputError):
        plan_jobs([floor / "none.csv"], options=PlanOptions())
    for words in (("--budget", "much"), ("--day", "soon")):
        asked = batch(floor, *words)
        assert asked.returncode == 2
        assert words[1] in asked.stderr
