"""Kept jobs as a history: which of them count, with which rooms, and which are named instead."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gapwright.record import former_units as former
from gapwright.record.former_units import FormerBuild, KeptJobs, former_units
from specs.errors import InputError
from specs.files.read import read_case, read_unit_alone
from specs.files.read_many import job_files, jobs_of
from specs.gaps.job_gap import JobGap
from specs.values.lengths import Length, parse_length
from tests.commands import ran

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from specs.models.case import Case

UNIT = """\
length: in
unit:
  name: Alder 3
  facts: {drum: {values: [deep, shallow], default: deep}}
  families:
    disc: {kind: friction, fixed: .0800}
    steel:
      kind: steel
      sizes: {thick: {thickness: .0900, price: 2}, thin: {thickness: .0700, price: 2}}
    ring: {kind: ring, sizes: {A: {thickness: .0600, price: 3}, B: {thickness: .0700, price: 3}}}
  packs:
    low: {window: .010 to .022, stack: [disc, steel, ring]}
    drive:
      window: .010 to .022
      space: depth
      readings: {depth: {what: depth}, face: {what: face}}
      layouts:
        one: {rank: 0, stack: [disc, steel, ring]}
        two: {rank: 1, only if: {drum: [deep]}, stack: [disc, steel, disc, steel, ring]}
        three: {rank: 2, space: depth - face, stack: [disc, ring]}
shelf: {steel: {thick: 4, thin: 4}, ring: {A: 2, B: 2}}
"""
LOW = "low: {trial: [thick, A], gap: GAP}"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "jobs").mkdir()
    return tmp_path


def keep(shop: Path, name: str, gaps: str, *, unit: str = "../unit.yaml", more: str = "") -> Path:
    """Keep a job in a file of its name, in the folder of jobs."""
    named = f"unit: {unit}\n" if unit else ""
    text = (
        f"length: in\n{named}shelf: ../unit.yaml\njob:\n  name: {name}\n{more}  gaps: {{{gaps}}}\n"
    )
    path = shop / "jobs" / f"{name}.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def low(gap: str) -> str:
    return LOW.replace("GAP", gap)


def inches(text: str) -> Length:
    return parse_length(text, "in")


def unit(shop: Path) -> Case:
    return read_unit_alone(shop / "unit.yaml")


def rooms(shop: Path, gap: str = "low", layout: str = "stack") -> list[str]:
    """The rooms of the kept jobs in inches, the least first."""
    case = unit(shop)
    found = former_units(shop / "jobs", case).rooms(JobGap(case, gap), layout)
    return [f"{float(room.nm) / 25_400_000:.3f}" for room in sorted(found.elements())]


def test_jobs_count_and_what_is_no_job_is_passed_over(shop: Path) -> None:
    keep(shop, "J-1", low(".011"))
    keep(shop, "J-2", low(".014"), unit="")
    (shop / "jobs" / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (shop / "jobs" / "notes.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    assert rooms(shop) == ["0.241", "0.244"]  # .080 + .090 + .060 + the gap
    assert former_units(shop / "jobs", unit(shop)).uncounted == ()


def test_a_broken_job_an_unread_one_and_a_second_of_a_name_are_named_and_block_nothing(
    shop: Path,
) -> None:
    keep(shop, "J-1", low(".011"))
    keep(shop, "J-2", "low: {trial: [thick, Z], gap: .011}")
    (shop / "jobs" / "J-3.yaml").write_text("job: {name: J-3, gaps: [\n", encoding="utf-8")
    keep(shop, "J-4", "low: {gap: .011}")
    again = keep(shop, "J-5", low(".016")).read_text(encoding="utf-8").replace("J-5", "J-1")
    (shop / "jobs" / "J-5.yaml").write_text(again, encoding="utf-8")
    keep(shop, "J-6", low("275 in"))
    keep(shop, "J-7", low(".020"), unit="../gone.yaml")
    found = former_units(shop / "jobs", unit(shop))
    assert [one.job for one in found.units] == ["J-1"]
    said = {one.job: one.why for one in found.uncounted}
    assert said.keys() == {"J-1", "J-2", "J-3.yaml", "J-4", "J-6", "J-7"}
    assert 'found "Z"; the sizes of ring are A 0.060 in' in said["J-2"]
    assert "J-3.yaml:1: is not written as YAML wants it" in said["J-3.yaml"]
    assert said["J-4"].endswith("J-4.yaml: nothing of it is read yet")
    assert '"J-1" is the name of a job in J-1.yaml too; name each once' in said["J-1"]
    assert "J-6.yaml:6: job.gaps.low.gap" in said["J-6"]
    assert "gone.yaml: no such file" in said["J-7"]


def test_jobs_without_a_name_are_drums_of_their_own(shop: Path) -> None:
    for file in ("a", "b"):
        path = keep(shop, file, low(".011"))
        path.write_text(
            path.read_text(encoding="utf-8").replace(f"  name: {file}\n", ""), encoding="utf-8"
        )
    assert rooms(shop) == ["0.241", "0.241"]


def test_only_jobs_of_the_unit_count_by_its_file_or_its_name(shop: Path) -> None:
    keep(shop, "J-1", low(".011"))
    for name, called in (("same", "Alder 3"), ("other", "Birch 5")):
        text = UNIT.replace("Alder 3", called)
        (shop / f"{name}.yaml").write_text(text, encoding="utf-8")
        keep(shop, f"in a file, {name}", low(".012"), unit=f"../{name}.yaml")
        inside = keep(shop, f"inside, {name}", low(".013"), unit="")
        body = inside.read_text(encoding="utf-8").replace("shelf: ../unit.yaml\n", "")
        inside.write_text(text + body.removeprefix("length: in\n"), encoding="utf-8")
    found = former_units(shop / "jobs", unit(shop))
    assert {one.job for one in found.units} == {"J-1", "in a file, same", "inside, same"}
    assert found.uncounted == ()


def test_units_without_a_name_are_the_same_where_all_that_is_written_is(shop: Path) -> None:
    nameless = UNIT.replace("  name: Alder 3\n", "")
    for file, text in (("unit", nameless), ("copy", nameless), ("other", nameless + " ")):
        (shop / f"{file}.yaml").write_text(text, encoding="utf-8")
        keep(shop, file, low(".011"), unit=f"../{file}.yaml")
    changed = nameless.replace("thick: {thickness: .0900", "thick: {thickness: .0910")
    (shop / "other.yaml").write_text(changed, encoding="utf-8")
    found = former_units(shop / "jobs", unit(shop))
    assert {one.job for one in found.units} == {"unit", "copy"}


def test_rooms_are_held_against_those_read_alike_in_a_layout_both_may_have(shop: Path) -> None:
    shallow = "  facts: {drum: shallow}\n"
    keep(shop, "J-1", "drive: {readings: {depth: .250, face: .050}}")
    keep(shop, "J-2", "drive: {readings: {depth: .251, face: .050}}", more=shallow)
    keep(shop, "J-3", "drive: {layout: two, readings: {depth: .252}}")
    keep(shop, "J-4", "drive: {layout: three, readings: {depth: .253, face: .050}}")
    # one and two are worked out alike, three is not
    assert rooms(shop, "drive", "one") == ["0.250", "0.251", "0.252"]
    assert rooms(shop, "drive", "two") == ["0.250", "0.251", "0.252"]
    assert rooms(shop, "drive", "three") == ["0.200", "0.201", "0.203"]
    # a shallow drum cannot have two, so it is not held against what only two may hold
    job = read_case(keep(shop, "J-9", "drive: {readings: {depth: .250, face: .050}}", more=shallow))
    found = former_units(shop / "jobs", job).without(job)
    assert sorted(found.rooms(JobGap(job, "drive"), "one")) == [inches(".250"), inches(".251")]


def test_the_rows_of_a_table_count_one_by_one(shop: Path) -> None:
    table = "job,low / trial,low / gap,length,unit\n"
    table += "T-1,thick A,.011,in,../unit.yaml\nT-2,thick A,.012,in,../unit.yaml,more\n"
    table += "T-3,thick A,none,in,../unit.yaml\nT-4,thin A,.012,in,../unit.yaml\n"
    (shop / "jobs" / "week.csv").write_text(table, encoding="utf-8")
    found = former_units(shop / "jobs", unit(shop))
    assert [one.job for one in found.units] == ["T-1", "T-4"]
    assert rooms(shop) == ["0.222", "0.241"]
    said = [(one.job, one.why) for one in found.uncounted]
    assert [job for job, _ in said] == ["week.csv", "T-3"]
    assert "week.csv:3: found 6 cells; the header names 5 columns" in said[0][1]
    by_name = former_units(shop / "jobs" / "week.csv", unit(shop))
    assert by_name.units == found.units


def test_what_was_built_is_kept_as_the_job_lists_it(shop: Path) -> None:
    keep(shop, "J-1", "low: {trial: [thick, A], gap: .011, as built: {at: .013, parts: [thin, B]}}")
    keep(shop, "J-2", "low: {trial: [thick, A], gap: .011, as built: .013}")
    one, two = former_units(shop / "jobs", unit(shop)).units
    assert one.builds == {"low": FormerBuild("stack", (("thin",), ("B",)))}
    assert two.builds == {}


def test_a_job_is_not_its_own_former_unit(shop: Path) -> None:
    first = keep(shop, "J-1", low(".011"))
    keep(shop, "J-2", low(".012"))
    found = former_units(shop / "jobs", unit(shop))
    job = read_case(first)
    assert [one.job for one in found.without(job).others] == ["J-2"]
    text = first.read_text(encoding="utf-8")
    copied = shop / "copy of J-1.yaml"
    copied.write_text(text.replace("../", ""), encoding="utf-8")
    assert [one.job for one in found.without(read_case(copied)).others] == ["J-2"]
    first.write_text(text.replace("name: J-1", "name: J-1 again"), encoding="utf-8")
    assert [one.job for one in found.without(read_case(first)).others] == ["J-2"]


def test_drums_have_the_spaces_that_half_of_the_jobs_or_more_have_read(shop: Path) -> None:
    both = f"{low('.011')}, drive: {{readings: {{depth: .250, face: .05}}}}"
    keep(shop, "J-1", both)
    keep(shop, "J-2", both)
    keep(shop, "J-3", low(".013"))
    case = unit(shop)
    found = former_units(shop / "jobs", case)
    whole = found.history(case, case.unit.gaps)
    assert whole.columns == ("low", "drive")
    assert whole.rows == {(inches(".241"), inches(".250")): 2}
    assert [(one.job, one.problem.sentence) for one in whole.uncounted] == [
        ("J-3", "drive not read")
    ]
    assert found.history(case).rows == {
        (inches(".241"), inches(".250")): 2, (inches(".243"), None): 1,
    }  # fmt: skip
    keep(shop, "J-4", low(".013"))
    keep(shop, "J-5", low(".013"))
    case = unit(shop)
    assert former_units(shop / "jobs", case).history(case, case.unit.gaps).columns == ("low",)
    (shop / "empty").mkdir()
    with pytest.raises(InputError, match="found 0 jobs of Alder 3 that can be read, and no pack"):
        former_units(shop / "empty", case).history(case, case.unit.gaps)


def test_only_files_that_changed_are_read_again(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for nth in range(3):
        keep(shop, f"J-{nth}", low(f".01{nth}"))
    keep(shop, "J-3", low(".013"), unit="../late.yaml")
    seen: list[str] = []

    def counted(file: Path, *, inside: bool) -> Iterator[object]:
        seen.append(file.name)
        yield from before(file, inside=inside)

    before = jobs_of
    monkeypatch.setattr(former, "jobs_of", counted)
    kept, case = KeptJobs(), unit(shop)

    def read() -> int:
        seen.clear()
        return len(kept.read(job_files(shop / "jobs"), case, "jobs").units)

    assert (read(), len(seen)) == (3, 4)
    assert (read(), seen) == (3, [])
    keep(shop, "J-1", low(".0155"))
    assert (read(), seen) == (3, ["J-1.yaml"])
    (shop / "late.yaml").write_text(UNIT, encoding="utf-8")
    assert (read(), seen) == (4, ["J-3.yaml"])
    (shop / "unit.yaml").write_text(UNIT + "\n", encoding="utf-8")
    assert (read(), len(seen)) == (4, 3)  # not the one that names another file of the same unit


HISTORIES = [
    ("cover", "unit.yaml", "--gap", "low"),
    ("stock", "kit", "unit.yaml"),
    ("stock", "shelf", "unit.yaml", "--jobs", "2", "--lead-time", "0", "--weeks", "100",
     "--scenarios", "20", "--workers", "1"),
    ("kit", "check", "kit.yaml"),
]  # fmt: skip


@pytest.mark.parametrize("words", HISTORIES, ids=lambda words: " ".join(words[:2]))
def test_a_folder_is_a_history_wherever_a_table_is(shop: Path, words: tuple[str, ...]) -> None:
    kit = "unit: unit.yaml\nkit: {contents: {steel: {thick: 1, thin: 1}, ring: {A: 1, B: 1}}}\n"
    (shop / "kit.yaml").write_text(kit, encoding="utf-8")
    for nth in range(4):
        keep(shop, f"J-{nth}", low(f".01{nth}"))
    keep(shop, "J-9", "low: {gap: .011}")
    told = ran(*words, "--history", "jobs", cwd=shop)
    assert told.returncode in (0, 3), told.stderr
    lines = [line.strip() for line in told.stdout.splitlines()]
    at = lines.index("not counted: 1 job")
    assert lines[at + 1] == "J-9: jobs/J-9.yaml: nothing of it is read yet"
    found = json.loads(ran(*words, "--history", "jobs", "--json", cwd=shop).stdout)
    held = found["history"] if words[0] == "kit" else found
    assert held["jobs not counted"] == [
        {"job": "J-9", "why": "jobs/J-9.yaml: nothing of it is read yet"}
    ]
    drums = found["covers"][0]["history"] if words[0] == "cover" else held
    assert drums["drums"] == 4


def test_checks_are_looked_back_at_job_by_job(shop: Path) -> None:
    built = "as built: {at: .021, parts: [thin, B]}"
    good = f"low: {{trial: [thick, A], gap: .011, {built}}}"
    keep(shop, "J-1", good)
    keep(shop, "J-2", good.replace("[thin, B]", "[thin, Z]"))
    keep(shop, "J-3", "low: {trial: [thick, A], gap: .500, as built: .021}")  # nothing promised
    told = ran("check", "jobs", "--history", cwd=shop)
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith("1 gap of 1 job, measured after assembly beside the promise\n")
    assert "\nnot counted: 2 jobs\n  J-2: jobs/J-2.yaml:6: job.gaps.low.as built" in told.stdout
    shape = json.loads(ran("check", "jobs", "--history", "--json", cwd=shop).stdout)
    assert [one["job"] for one in shape["jobs not counted"]] == ["J-2", "J-3"]
    (shop / "jobs" / "J-1.yaml").unlink()
    told = ran("check", "jobs", "--history", cwd=shop)
    assert told.returncode == 2
    assert "nothing was measured after assembly in any of these jobs" in told.stderr
    assert "jobs/J-2.yaml:6: job.gaps.low.as built" in told.stderr


def test_a_ledger_tells_of_no_gap_after_assembly(shop: Path) -> None:
    ran("shelf", "init", "shop.db", cwd=shop)
    told = ran("check", "shop.db", "--history", cwd=shop)
    assert told.returncode == 2
    assert told.stderr.startswith("shop.db: this ledger keeps what was promised, and what was")


def test_a_folder_that_cannot_be_listed_is_said(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(_: Path) -> Iterator[Path]:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.iterdir", refused)
    with pytest.raises(InputError, match="jobs: cannot be listed"):
        former_units(shop / "jobs", unit(shop))
