"""A promise in a ledger: with the reservation in one request, or as a note alone."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gapwright.batch.service import PlanOptions, plan_jobs
from gapwright.record.promise import promise_of
from inventory import open_shelf
from inventory.movements import Note, Request
from specs.files.notes import note_text, promised_in
from specs.files.read import case_of, read_case
from specs.formats.yaml import parse
from specs.models.record import Closed, plain
from tests.gapwright.batch.test_batch_command import DAY, SHELF, UNIT, WEEK
from tests.gapwright.record.test_promise import OTHER, changed, promise_lines

if TYPE_CHECKING:
    from inventory.movements import PostedNote
    from specs.models.record import Promised
    from tests.gapwright.bench import Bench


def notes(bench: Bench, kind: str = "promise") -> list[PostedNote]:
    """All notes of a kind that the ledger has, those that a later one replaced too."""
    with open_shelf(bench.address) as shelf:
        return [*shelf.notes(kind, every=True)]


def standing(bench: Bench, job: str = "J-7") -> Promised:
    with open_shelf(bench.address) as shelf:
        (note,) = shelf.notes("promise", job)
    return promised_in(note.note.text, "shop.db")


def post(bench: Bench, *noted: Note) -> None:
    with open_shelf(bench.address) as shelf:
        shelf.post(Request("by hand", "joe", "", (), noted))


def note_closed(bench: Bench, *names: str) -> None:
    """Close jobs in the ledger, as far as a note goes."""
    closed = Closed.model_construct(on="2031-04-09", by="JM", record="4C2D-88QF-0XTR")
    post(bench, *(Note("closed", name, note_text(closed, "in")) for name in names))


def test_a_promise_alone_is_a_note_and_moves_nothing(bench: Bench, job: str) -> None:
    entries, text = bench.entries(), (bench.folder / "job.yaml").read_bytes()
    code, out, err = bench.run("fit", job, "--promise", "--who", "joe")
    assert (code, err) == (0, "")
    promised = standing(bench)
    (note,) = notes(bench)
    assert (note.who, note.why, note.note.about) == ("joe", "promise", "J-7")
    assert out.splitlines().count(f"promised, kept in {bench.address}: {promised.answer}") == 1
    assert bench.entries() == entries
    assert (bench.folder / "job.yaml").read_bytes() == text
    (thin, _, _) = sorted(promised.takes, key=lambda one: one.count)
    assert all(one.code for one in promised.takes)
    assert thin.count == 1


@pytest.mark.face
def test_what_is_reserved_is_promised_in_the_same_request(bench: Bench, job: str) -> None:
    before = len(bench.entries())
    told = json.loads(bench.run("fit", job, "--reserve", "--json")[1])
    posted = bench.entries()[before:]
    (note,) = notes(bench)
    assert {entry.key for entry in posted} == {note.key}
    assert {entry.link for entry in posted} == {note.link}
    assert told["promise kept"] is True
    assert told["promised"]["answer"] == standing(bench).answer
    reserved = {entry.movement.part.lot_id: entry.movement.number for entry in posted}
    assert {one.code: one.count for one in standing(bench).takes} == reserved


def test_the_same_answer_again_posts_no_note(bench: Bench, job: str) -> None:
    for asked in ("--promise", "--reserve", "--promise", "--reserve"):
        bench.run("fit", job, asked)
    assert len(notes(bench)) == 1
    (line,) = promise_lines(bench.run("fit", job)[1])
    assert line.startswith("as promised on ")


def test_another_answer_is_told_and_kept_only_when_asked(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    first = standing(bench)
    changed(bench, OTHER)
    told = promise_lines(bench.run("fit", job)[1])
    assert told[0].startswith(f"not as promised on {first.on} ({first.answer}):")
    assert "    out: 1 x drum steel thin, 1 x drum ring .0700" in told
    assert standing(bench) == first
    told = promise_lines(bench.run("fit", job, "--reserve")[1])
    assert told[-1] == f"promised anew, kept in {bench.address}: {standing(bench).answer}"
    assert len(notes(bench)) == 2


def test_a_promise_moves_from_the_file_to_the_ledger(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    in_file = read_case(bench.folder / "job.yaml").job.promised
    assert in_file is not None
    bench.shelf("import", job, "--mode", "add")
    code, out, _ = bench.run("fit", job, "--shelf", bench.address)
    (line,) = promise_lines(out)
    assert (code, line) == (0, f"as promised on {in_file.on} ({in_file.answer})")
    bench.run("fit", job, "--shelf", bench.address, "--promise")
    assert standing(bench).gaps == in_file.gaps


@pytest.mark.parametrize("asked", ["--promise", "--reserve"])
def test_a_name_that_stands_for_another_unit_is_refused(bench: Bench, job: str, asked: str) -> None:
    bench.run("fit", job, "--reserve")
    before, links = notes(bench), bench.link()
    changed(bench, ("Harrow 4", "Bison 6"))
    code, out, err = bench.run("fit", job, asked)
    day = standing(bench).on
    assert (code, out) == (2, "")
    assert err == (
        f'job.yaml:19: job.name: "J-7" is promised in {bench.address} for another unit, Harrow 4, '
        f"since {day}; give this job a name of its own"
    ).replace(f"{bench.folder}/", "")
    assert (notes(bench), bench.link()) == (before, links)
    assert promise_lines(bench.run("fit", job)[1]) == []  # that of another unit is none of this job
    changed(bench, ("name: J-7", "name: J-8"))
    assert bench.run("fit", job, asked)[0] in (0, 3)


@pytest.mark.parametrize("asked", ["--promise", "--reserve"])
def test_a_name_that_was_closed_is_refused(bench: Bench, job: str, asked: str) -> None:
    note_closed(bench, "J-7")
    before = bench.link()
    code, out, err = bench.run("fit", job, asked)
    assert (code, out) == (2, "")
    assert '"J-7" was closed on 2031-04-09 in shop.db; a unit that comes back is a new job' in err
    assert bench.link() == before


def test_a_promise_that_was_not_kept_by_us_is_told(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    text = notes(bench)[0].note.text.replace("0.068 in", "0.069 in")
    post(bench, Note("promise", "J-7", text))
    code, out, err = bench.run("fit", job)
    assert (code, out) == (2, "")
    assert err.startswith("shop.db: found ")
    assert err.endswith(
        "a promise that was changed outside gapwright; try `gapwright shelf verify`"
    )


def week(bench: Bench) -> tuple[str, ...]:
    """A table of jobs with its unit, and the ledger filled with its shelf."""
    for name, text in (("unit.yaml", UNIT), ("shelf.yaml", SHELF), ("week.csv", WEEK)):
        bench.write(name, text)
    unit, shelf = (str(bench.folder / f"{name}.yaml") for name in ("unit", "shelf"))
    bench.shelf("import", shelf, "--mode", "add", "--unit", unit)
    table = str(bench.folder / "week.csv")
    return "batch", table, "--unit", unit, "--day", DAY, "--json", "--shelf"


def test_every_row_that_is_completed_is_promised_with_its_parts(bench: Bench) -> None:
    asked = (*week(bench), bench.address, "--reserve")
    told = json.loads(bench.run(*asked)[1])
    done = {job["job"]: job["promised"] for job in told["jobs"] if job["complete"]}
    assert {job["job"] for job in told["jobs"] if job["promised"]} == {*done}
    assert {note.note.about for note in notes(bench)} == {*done} != set()
    assert {note.key for note in notes(bench)} == {bench.entries()[-1].key}
    for name, promised in done.items():
        assert promised["answer"] == standing(bench, name).answer
    again = json.loads(bench.run(*asked)[1])
    assert {one["job"]: one["promised"] for one in again["jobs"] if one["complete"]} == done
    assert len(notes(bench)) == len(done)


def test_without_a_ledger_the_plan_holds_the_promise_of_each_job(bench: Bench) -> None:
    *asked, _ = week(bench)
    told = json.loads(bench.run(*asked, "--shelf", str(bench.folder / "shelf.yaml"))[1])
    done = [job["promised"] for job in told["jobs"] if job["complete"]]
    assert done
    assert notes(bench) == []
    unit, shelf = (bench.folder / name for name in ("unit.yaml", "shelf.yaml"))
    report = plan_jobs([bench.folder / "week.csv"], unit, shelf, options=PlanOptions(day=DAY))
    for one, build in zip(done, report.builds, strict=True):
        data = build.case.origins["job"].source.data
        text = json.dumps({**data, "job": {**data["job"], "promised": one}})
        case = case_of(parse(text, "job.yaml"), unit, shelf)
        assert case.job.promised is not None
        assert plain(case.job.promised, "in") == plain(promise_of(build, one["on"]), "in")


def test_two_jobs_that_cannot_be_promised_are_told_together_and_nothing_is_posted(
    bench: Bench,
) -> None:
    asked = (*week(bench), bench.address, "--reserve")
    bench.run(*asked)
    text = (bench.folder / "unit.yaml").read_text()
    bench.write("unit.yaml", text.replace("Harrow drum", "Bison drum"))
    before = bench.link()
    code, out, err = bench.run(*asked)
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert [line[line.index('"J-') :][:5] for line in lines] == ['"J-2"', '"J-3"', '"J-4"']
    assert all("is promised in" in line and "Harrow drum" in line for line in lines)
    assert bench.link() == before
