"""Every job of a folder with its state; what cannot be read is named and blocks nothing."""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING, Any

import pytest

from gapwright.jobs.service import list_jobs
from gapwright.output import together
from gapwright.record import book
from inventory import open_shelf
from specs.checks import case as checks
from specs.files import read_many

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.gapwright.bench import Bench

BUILT = "gap: .041, as built: {at: .068, parts: [thin, thick, thick, .0700]}}"


@pytest.fixture
def work(bench: Bench, drum: str) -> str:
    """The job of the drum as each file has it; unit and shelf stand in files beside it."""
    unit, shelf, job = (drum.index(name) for name in ("unit:", "shelf:", "job:"))
    bench.write("unit.yaml", "length: in\n" + drum[unit:shelf])
    bench.write("shelf.yaml", "length: in\n" + drum[shelf:job])
    bench.shelf("import", str(bench.folder / "shelf.yaml"), "--mode", "add")
    return "length: in\nunit: unit.yaml\nshelf: shelf.yaml\n" + drum[job:]


def put(bench: Bench, name: str, text: str, *swaps: tuple[str, str]) -> str:
    for old, new in (("J-7", name), *swaps):
        assert old in text
        text = text.replace(old, new)
    return bench.write(f"{name}.yaml", text)


def listed(bench: Bench, *words: str) -> dict[str, Any]:
    code, out, err = bench.run("jobs", str(bench.folder), *words, "--json")
    assert (code, err) == (0, "")
    told: dict[str, Any] = json.loads(out.replace(f"{bench.folder}/", ""))
    return told


def states(bench: Bench, *words: str) -> dict[str, tuple[str, str]]:
    return {job["name"]: (job["state"], job["waits"]) for job in listed(bench, *words)["jobs"]}


@pytest.mark.face
def test_a_job_goes_from_state_to_state(bench: Bench, work: str) -> None:
    job = put(bench, "J-1", work, ("shelf.yaml", "shop.db"), (", gap: .041", ""))

    def now() -> tuple[str, str]:
        return states(bench)["J-1"]

    assert now() == ("measuring", "read low drum (gap)")
    put(bench, "J-1", work, ("shelf.yaml", "shop.db"))
    assert now() == ("to choose", "choose: gapwright fit J-1.yaml")
    bench.run("fit", job, "--promise")
    fetch = "2 x drum steel thick (B2), 1 x drum steel thin (B3), 1 x drum ring .0700 (C1)"
    assert now() == ("chosen", f"fetch {fetch}")
    bench.shelf("reserve", "drum ring", ".0700", "--job", "J-2")
    assert now() == ("waiting for parts", "not on hand: 1 x drum ring .0700 (C1)")
    bench.shelf("release", "--job", "J-2")
    bench.run("fit", job, "--reserve")
    assert now() == ("reserved", f"fetch {fetch}")
    bench.shelf("issue", "--job", "J-1")
    assert now() == ("taken", "assemble it, and measure every gap")
    put(bench, "J-1", work, ("shelf.yaml", "shop.db"), ("gap: .041}", BUILT.replace("68", "78")))
    assert now() == ("built", "not as promised: low drum")
    put(bench, "J-1", work, ("shelf.yaml", "shop.db"), ("gap: .041}", BUILT))
    assert now() == ("checked", "close it: gapwright close J-1.yaml")
    bench.run("close", job)
    assert states(bench) == {}
    state, since = states(bench, "--all")["J-1"]
    assert state == "closed"
    assert since.startswith("on 20")
    put(bench, "J-1", work, ("shelf.yaml", "shop.db"))
    told = states(bench, "--all")["J-1"][1]
    assert told == f"{since}, and changed since: gapwright close J-1.yaml --correct"


def test_what_is_due_first_comes_first_then_what_counts_more(bench: Bench, work: str) -> None:
    more = {
        "J-1": "",
        "J-2": "  due: 2031-04-09\n",
        "J-3": "  due: 2031-04-02\n",
        "J-4": "  priority: 3\n",
        "J-5": "  due: 2031-04-09\n  priority: 2\n",
    }
    for name, lines in more.items():
        put(bench, name, work + lines)
    assert [*states(bench)] == ["J-3", "J-5", "J-2", "J-4", "J-1"]
    out = bench.run("jobs", str(bench.folder))[1]
    rows = [line.split() for line in out.splitlines() if line.startswith("J-")]
    assert rows[0] == ["J-3", "Harrow", "4", "to", "choose", "2031-04-02", "1"]
    assert rows[3] == ["J-4", "Harrow", "4", "to", "choose", "3"]
    assert max(map(len, out.replace(str(bench.folder), "").splitlines())) <= 80


def test_what_cannot_be_read_is_named_and_blocks_nothing(bench: Bench, work: str) -> None:
    put(bench, "J-1", work)
    put(bench, "J-2", work, (".0780]", ".0790]"))
    put(bench, "J-3", work, ("unit.yaml", "gone.yaml"))
    bench.write("J-4.yaml", "job: [\n")
    put(bench, "J-5", work, ("shelf.yaml", "gone.db"))
    job = put(bench, "J-6", work)
    bench.run("fit", job, "--promise")
    text = (bench.folder / "J-6.yaml").read_text("utf-8")
    bench.write("J-6.yaml", text.replace("    parts: [thin", "    parts: [thick").replace(
        "parts: [thin, ", "parts: [thick, "))  # fmt: skip
    told = listed(bench)
    assert [job["name"] for job in told["jobs"]] == ["J-1"]
    unread = "\n".join(told["unread"])
    for name in ("J-2.yaml:7:", "gone.yaml: no such file", "J-4.yaml:", "gone.db", "J-6.yaml:"):
        assert name in unread
    assert "what stands here was changed by hand" in unread
    out = bench.run("jobs", str(bench.folder))[1]
    assert "cannot be read, and left out:" in out
    for name in ("J-1", "J-6"):
        (bench.folder / f"{name}.yaml").unlink()
    code, out, err = bench.run("jobs", str(bench.folder))
    assert (code, out) == (2, "")
    assert "J-4.yaml" in err


def test_a_name_that_two_jobs_have_is_told(bench: Bench, work: str) -> None:
    put(bench, "J-1", work)
    bench.write("other.yaml", work.replace("J-7", "J-1"))
    assert listed(bench)["twice"] == [
        'other.yaml: "J-1" is the name of a job in J-1.yaml too; name each once'
    ]


def test_rows_of_tables_are_jobs_too(bench: Bench, work: str) -> None:
    bench.write(
        "week.csv",
        "job,unit,shelf,due,low drum / trial,low drum / gap\n"
        "J-1,unit.yaml,shop.db,2031-04-09,thick thick thick .0780,.041 in\n"
        "J-2,unit.yaml,shop.db,,,\n"
        "J-3,unit.yaml,shop.db,2031-04-09,thick thick thick .0780,275 in\n",
    )
    told = listed(bench)
    (one,) = told["jobs"]
    assert (one["name"], one["file"], one["line"]) == ("J-1", "week.csv", 2)
    assert (one["state"], one["due"]) == ("to choose", "2031-04-09")
    assert [line.partition(": ")[0] for line in told["unread"]] == ["week.csv:3", "week.csv:4"]
    assert work


def test_a_job_without_a_name_goes_by_that_of_its_file(bench: Bench, work: str) -> None:
    bench.write("blue drum.yaml", work.replace("  name: J-7\n", ""))
    assert [*states(bench)] == ["blue drum"]


def test_a_table_for_a_spreadsheet(bench: Bench, work: str) -> None:
    put(bench, "J-1", f"{work}  due: 2031-04-09\n", ("name: J-1", "name: =J-1"))
    file = bench.folder / "jobs.csv"
    bench.run("jobs", str(bench.folder), "--csv", str(file))
    assert [*states(bench)] == ["=J-1"]  # the table beside the jobs is none of jobs
    raw = file.read_bytes().decode("utf-8-sig")
    head, row = csv.reader(io.StringIO(raw))
    cells = dict(zip(head, row, strict=True))
    assert (cells["name"], cells["state"], cells["due"]) == ("'=J-1", "to choose", "2031-04-09")
    assert [*cells] == ["name", "unit", "state", "waits", "priority", "due", "closed", "file"]


def _noted(function: Callable[..., Any], calls: list[str]) -> Callable[..., Any]:
    """The same function, noting that it is called."""

    def noted(*words: Any) -> Any:  # noqa: ANN401 - whatever it takes and gives
        calls.append(function.__name__)
        return function(*words)

    return noted


def test_each_file_and_ledger_is_read_once_and_nothing_is_solved(
    bench: Bench, work: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for nth in range(6):
        put(bench, f"J-{nth}", work, ("shelf.yaml", "shop.db" if nth % 2 else "shelf.yaml"))
    read: list[str] = []
    counted = (
        (read_many, "read"), (checks, "unit_findings"), (checks, "shelf_findings"),
        (book, "open_shelf"),
    )  # fmt: skip
    for module, name in counted:
        monkeypatch.setattr(module, name, _noted(getattr(module, name), read))
    monkeypatch.setattr("solver.rebuild.fit.fit", None)
    assert len(list_jobs([bench.folder]).jobs) == 6
    assert read.count("read") == 6 + 2  # unit and shelf are looked at as if they might be jobs
    assert read.count("open_shelf") == 1
    assert read.count("unit_findings") == read.count("shelf_findings") == 2


class Killed(BaseException):
    """What ends a program between two files; nothing of ours catches it."""


def killed(*_: object) -> None:
    raise Killed


def test_what_was_begun_to_be_written_is_finished_first(
    bench: Bench, work: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = put(bench, "J-1", work)
    bench.run("fit", job, "--promise")
    with monkeypatch.context() as patch:
        patch.setattr(together, "_replace", killed)
        with pytest.raises(Killed):
            bench.run("close", job)
    assert [*bench.folder.glob(".*.together")]
    assert states(bench) == {}
    assert not [*bench.folder.glob(".*.together")]
    assert ".0700: {count: 0, bin: C1}" in (bench.folder / "shelf.yaml").read_text("utf-8")


def test_what_cannot_be_finished_is_named_and_blocks_nothing(
    bench: Bench, work: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = put(bench, "J-1", work)
    put(bench, "J-2", work)
    bench.run("fit", job, "--promise")
    with monkeypatch.context() as patch:
        patch.setattr(together, "_replace", killed)
        with pytest.raises(Killed):
            bench.run("close", job)
    shelf = bench.folder / "shelf.yaml"
    shelf.write_text(shelf.read_text("utf-8") + "# by hand\n", encoding="utf-8")
    told = listed(bench)
    assert {job["name"]: job["state"] for job in told["jobs"]} == {
        "J-1": "chosen", "J-2": "to choose",
    }  # fmt: skip
    (sentence,) = told["unread"]
    assert sentence.startswith("shelf.yaml: was being written together with J-1.yaml when")


def test_an_empty_folder_is_told(bench: Bench) -> None:
    code, _, err = bench.run("jobs", str(bench.folder))
    assert code == 2
    assert "this folder holds no job files and no tables of jobs" in err
    with open_shelf(bench.address) as shelf:
        assert not shelf.notes()
