"""A job is closed: the shelf without what went in, and the record complete, both or neither."""

from __future__ import annotations

import json
from pathlib import Path
from threading import Barrier, Thread
from typing import TYPE_CHECKING

import pytest

from gapwright.close.service import close_job
from gapwright.record.book import read_book
from gapwright.shelf.service import Author
from specs.errors import InputError
from specs.files.read import read_case

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

BUILT = "gap: .041, as built: {at: AT, parts: [PARTS]}}"
AS_PROMISED = BUILT.replace("AT", ".068").replace("PARTS", "thin, thick, thick, .0700")
OTHER_RING = BUILT.replace("AT", ".078").replace("PARTS", "thin, thick, thick, .0600")
HEAD = "job,unit,shelf,low drum / trial,low drum / gap\n"
ROW = ",unit.yaml,shop.db,thick thick thick .0780,.041 in\n"


@pytest.fixture
def job(bench: Bench, drum: str) -> str:
    """The drum's job, with its shelf in a file and a remark in both."""
    unit, shelf, work = (drum.index(name) for name in ("unit:", "shelf:", "job:"))
    bench.write("unit.yaml", "length: in\n" + drum[unit:shelf])
    bench.write("shelf.yaml", "length: in # of all\n" + drum[shelf:work] + "# end\n")
    named = "unit: unit.yaml\nshelf: shelf.yaml\n"
    return bench.write("job.yaml", "length: in\n" + named + drum[work:] + "  note: towed in # late")


@pytest.fixture
def kept(bench: Bench, job: str) -> str:
    """The same in a ledger."""
    bench.shelf("import", str(bench.folder / "shelf.yaml"), "--mode", "add")
    text = Path(job).read_text("utf-8")
    return bench.write("job.yaml", text.replace("shelf.yaml", "shop.db"))


def swap(bench: Bench, old: str, new: str, name: str = "job.yaml") -> None:
    text = (bench.folder / name).read_bytes().decode()
    assert old in text
    bench.write(name, text.replace(old, new, 1))


def on_shelf(bench: Bench) -> dict[str, int]:
    """What the shelf's file counts, by size."""
    shelf = read_case(bench.folder / "job.yaml").shelf
    return {
        f"{family} {size}": sum(lot.count for lot in lots)
        for family, sizes in shelf.items()
        for size, lots in sizes.items()
    }


def in_ledger(bench: Bench) -> dict[str, int]:
    """What the ledger counts, by size."""
    found: dict[str, int] = {}
    for lot in read_book(bench.address).balances:
        name = f"{lot.part.family} {lot.part.size}"
        found[name] = found.get(name, 0) + lot.on_hand
    return found


FULL = {
    "drum steel thick": 5, "drum steel thin": 2,
    "drum ring .0600": 1, "drum ring .0700": 1, "drum ring .0780": 2,
}  # fmt: skip
BUILT_IN = {"drum steel thick": 3, "drum steel thin": 1, "drum ring .0700": 0}


def closed(bench: Bench, job: str, *words: str) -> str:
    code, out, err = bench.run("close", job, *words)
    assert (code, err) == (0, "")
    return out.replace(f"{bench.folder}/", "") + "\n"


def refused(bench: Bench, job: str, *words: str) -> str:
    """Why a job is not closed; nothing is changed then."""
    before = {path: path.read_bytes() for path in bench.folder.iterdir()}
    code, out, err = bench.run("close", job, *words)
    assert (code, out) == (2, "")
    assert {path: path.read_bytes() for path in bench.folder.iterdir()} == before
    return err


# Where the shelf is a file.


@pytest.mark.face
def test_what_was_promised_leaves_the_shelf_and_the_record_is_complete(
    bench: Bench, job: str
) -> None:
    bench.run("fit", job, "--promise")
    before = (bench.folder / "job.yaml").read_text("utf-8")
    out = closed(bench, job)
    case = read_case(bench.folder / "job.yaml")
    record, promise = case.job.closed, case.job.promised
    assert record is not None
    assert promise is not None
    assert out.splitlines()[0] == f"J-7, Harrow 4: CLOSED on {record.on} by mary"
    assert out.splitlines()[1] == "left shelf.yaml"
    assert "  1 x drum ring .0700 (C1)" in out.splitlines()
    assert "not measured after assembly: low drum" in out
    assert record.used == promise.takes
    assert on_shelf(bench) == FULL | BUILT_IN
    # Everything else of both files is as it was.
    text = (bench.folder / "job.yaml").read_text("utf-8")
    assert text.startswith(before)
    assert "\n  closed:\n    on: " in text.removeprefix(before)
    shelf = (bench.folder / "shelf.yaml").read_text("utf-8")
    assert shelf.startswith("length: in # of all\n")
    assert "  drum ring: {.0600: 1, .0700: {count: 0, bin: C1}, .0780: 2}\n# end\n" in shelf


def test_what_is_listed_as_built_is_what_went_in(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    swap(bench, "gap: .041}", OTHER_RING)
    out = closed(bench, job)
    assert on_shelf(bench) == FULL | BUILT_IN | {"drum ring .0600": 0, "drum ring .0700": 1}
    assert "went in and was not promised: 1 x drum ring .0600" in out
    assert "was promised and did not go in: 1 x drum ring .0700" in out
    assert "NOT AS PROMISED: low drum" in out


def test_without_a_promise_what_is_listed_leaves_the_shelf(bench: Bench, job: str) -> None:
    swap(bench, "gap: .041}", AS_PROMISED)
    closed(bench, job)
    assert on_shelf(bench) == FULL | BUILT_IN


def test_the_units_own_parts_leave_no_shelf(bench: Bench, job: str) -> None:
    swap(bench, "gap: .041}", "now: trial, gap: .041}")
    bench.run("fit", job, "--promise")
    swap(bench, "gap: .041}", AS_PROMISED)
    closed(bench, job)
    assert on_shelf(bench) == FULL | {"drum steel thin": 1, "drum ring .0700": 0}


def test_nobody_says_what_went_in(bench: Bench, job: str) -> None:
    told = refused(bench, job)
    assert told.startswith("job.yaml:4: job: nothing was promised for this job and nothing was")
    swap(bench, "gap: .041}", "gap: .041, as built: .068}")
    assert "low drum.as built: nothing was promised for it: list the parts" in refused(bench, job)


def test_what_is_not_on_hand_is_not_taken_off(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    swap(bench, ".0700: {count: 1", ".0700: {count: 0", "shelf.yaml")
    assert refused(bench, job) == (
        "shelf.yaml: 1 x drum ring .0700 went in besides what is kept for the job, and there are "
        "not so many on hand: count the shelf, or list under `as built` what went in"
    )


def test_which_of_two_lots_is_asked_and_what_is_reserved_tells(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    swap(bench, "gap: .041}", OTHER_RING)
    swap(bench, "{.0600: 1", "{.0600: [{count: 1, bin: A1}, {count: 2, bin: A2}]", "shelf.yaml")
    assert refused(bench, job) == (
        "shelf.yaml: 1 x drum ring .0600 went in besides what is kept for the job, and could be "
        "from A1 or A2; write beside the lot it came from: reserved: {J-7: 1}"
    )
    swap(bench, "bin: A2", "bin: A2, reserved: {J-7: 1, J-8: 1}", "shelf.yaml")
    closed(bench, job)
    shelf = (bench.folder / "shelf.yaml").read_text("utf-8")
    assert ".0600: [{count: 1, bin: A1}, {count: 1, bin: A2, reserved: {J-8: 1}}]" in shelf


def test_what_was_reserved_in_the_file_is_free_again(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    swap(bench, ".0780: 2", ".0780: {count: 2, reserved: {J-7: 1}}", "shelf.yaml")
    assert "reserved no longer\n  1 x drum ring .0780" in closed(bench, job)
    assert ".0780: {count: 2}}" in (bench.folder / "shelf.yaml").read_text("utf-8")


def test_sections_in_one_file_and_line_ends_are_kept(bench: Bench, drum: str) -> None:
    job = bench.write("all.yaml", "\ufeff" + drum.replace("\n", "\r\n"))
    bench.run("fit", job, "--promise")
    closed(bench, job)
    raw = (bench.folder / "all.yaml").read_bytes().decode()
    assert raw.startswith("\ufefflength: in\r\n")
    assert raw.count("\n") == raw.count("\r\n")
    assert ".0700: {count: 0, bin: C1}" in raw
    assert not [*bench.folder.glob(".*")]


def test_a_closed_job_is_refused_with_its_day(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    closed(bench, job, "--who", "joe")
    record = read_case(bench.folder / "job.yaml").job.closed
    assert record is not None
    told = f"job.yaml:4: job: the job was closed on {record.on} by joe"
    assert refused(bench, job) == told
    swap(bench, "gap: .041}", AS_PROMISED)
    assert refused(bench, job) == (
        f"{told}; it was changed since, which --correct --why WHY closes once more"
    )


def test_a_correction_moves_the_difference_and_keeps_who_and_why(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    assert "the job is not closed yet" in refused(bench, job, "--correct", "--why", "x")
    closed(bench, job)
    assert "nothing was changed since" in refused(bench, job, "--correct", "--why", "x")
    swap(bench, "gap: .041}", OTHER_RING)
    assert "--why" in refused(bench, job, "--correct")
    out = closed(bench, job, "--correct", "--why", "the ring was a .0600", "--who", "joe")
    record = read_case(bench.folder / "job.yaml").job.closed
    assert record is not None
    (correction,) = record.corrected
    assert (record.by, correction.by, correction.why) == ("mary", "joe", "the ring was a .0600")
    assert out.splitlines()[0].startswith("J-7, Harrow 4: CORRECTED on ")
    assert "left shelf.yaml\n  1 x drum ring .0600\n" in out
    assert "back on shelf.yaml\n  1 x drum ring .0700 (C1)\n" in out
    assert on_shelf(bench) == FULL | BUILT_IN | {"drum ring .0600": 0, "drum ring .0700": 1}
    swap(bench, OTHER_RING, AS_PROMISED)
    closed(bench, job, "--correct", "--why", "it was not")
    assert on_shelf(bench) == FULL | BUILT_IN
    record = read_case(bench.folder / "job.yaml").job.closed
    assert record is not None
    assert [one.why for one in record.corrected] == ["the ring was a .0600", "it was not"]


def test_a_lot_that_is_gone_from_the_file_cannot_take_back(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--promise")
    closed(bench, job)
    swap(bench, ".0700: {count: 0, bin: C1}, ", "", "shelf.yaml")
    swap(bench, "gap: .041}", OTHER_RING)
    told = refused(bench, job, "--correct", "--why", "x")
    assert told == "shelf.yaml: drum ring .0700 of C1 is not listed any more: list it, with 0"


def test_a_row_of_a_table_needs_a_ledger(bench: Bench, job: str) -> None:
    table = bench.write("week.csv", f"{HEAD}J-7{ROW}J-8{ROW}".replace("shop.db", "shelf.yaml"))
    assert "holds 2 jobs: say which one with --job" in refused(bench, table)
    assert 'did you mean "J-7"?' in refused(bench, table, "--job", "J-71")
    assert "a row of a table is closed in a ledger" in refused(bench, table, "--job", "J-7")
    assert job


def test_a_kit_in_the_shelfs_place_is_left_as_it_is(bench: Bench, job: str) -> None:
    kit = "kit:\n  contents: {drum steel: {thick: 4, thin: 2}, drum ring: {.0700: 2}}\n"
    bench.write("shelf.yaml", "length: in\n" + kit)
    bench.run("fit", job, "--promise")
    closed(bench, job)
    assert (bench.folder / "shelf.yaml").read_text("utf-8") == "length: in\n" + kit
    assert read_case(bench.folder / "job.yaml").job.closed


# Where the shelf is a ledger.


@pytest.mark.face
def test_a_ledger_issues_what_is_reserved_in_one_request_with_the_record(
    bench: Bench, kept: str
) -> None:
    bench.run("fit", kept, "--reserve")
    before, text = len(bench.entries()), (bench.folder / "job.yaml").read_bytes()
    told = json.loads(bench.run("close", kept, "--json")[1])
    posted = bench.entries()[before:]
    book = read_book(bench.address)
    (note,) = book.account("J-7").closings
    assert {entry.link for entry in posted} == {note.link}
    assert {(entry.movement.kind, entry.movement.reserved) for entry in posted} == {("issue", True)}
    assert in_ledger(bench) == FULL | BUILT_IN
    assert not book.account("J-7").held
    record = book.closed("J-7")
    assert record is not None
    assert (told["on"], told["by"], told["record"]) == (record.on, "mary", record.record)
    assert [(one["size"], one["count"]) for one in told["used"]] == [
        (one.size, one.count) for one in record.used
    ]
    assert (bench.folder / "job.yaml").read_bytes() == text
    assert bench.shelf("verify")


def test_what_was_promised_alone_goes_out_of_what_is_free(bench: Bench, kept: str) -> None:
    bench.run("fit", kept, "--promise")
    closed(bench, kept)
    assert in_ledger(bench) == FULL | BUILT_IN


def test_what_was_issued_and_not_built_in_comes_back(bench: Bench, kept: str) -> None:
    bench.run("fit", kept, "--reserve")
    bench.shelf("issue", "--job", "J-7")
    bench.shelf("issue", "drum ring", ".0780", "2", "--job", "J-7")
    out = closed(bench, kept)
    assert "back on shop.db\n  2 x drum ring .0780\n" in out
    assert in_ledger(bench) == FULL | BUILT_IN
    record = read_book(bench.address).closed("J-7")
    assert record is not None
    assert [(one.size, one.count) for one in record.back] == [(".0780", 2)]


def test_another_ring_is_found_among_what_was_issued(bench: Bench, kept: str) -> None:
    bench.run("fit", kept, "--reserve")
    bench.shelf("issue", "--job", "J-7")
    bench.shelf("issue", "drum ring", ".0600", "--job", "J-7")
    swap(bench, "gap: .041}", OTHER_RING)
    assert "back on shop.db\n  1 x drum ring .0700 (C1)\n" in closed(bench, kept)
    assert in_ledger(bench) == FULL | BUILT_IN | {"drum ring .0600": 0, "drum ring .0700": 1}


def test_parts_of_other_families_that_were_issued_stay_in(bench: Bench, kept: str) -> None:
    bench.shelf("add", "seal", "A", "4")
    bench.shelf("issue", "seal", "A", "2", "--job", "J-7")
    bench.shelf("reserve", "seal", "A", "--job", "J-7")
    bench.run("fit", kept, "--promise")
    assert "reserved no longer\n  1 x seal A\n" in closed(bench, kept)
    assert in_ledger(bench) == FULL | BUILT_IN | {"seal A": 2}
    record = read_book(bench.address).closed("J-7")
    assert record is not None
    assert [one.count for one in record.used if one.family == "seal"] == [2]


def test_what_came_back_into_another_bin_is_not_out_any_more(bench: Bench, kept: str) -> None:
    bench.run("fit", kept, "--reserve")
    bench.shelf("issue", "--job", "J-7")
    bench.shelf("issue", "drum ring", ".0780", "2", "--job", "J-7")
    bench.shelf("return", "drum ring", ".0780", "2", "--job", "J-7", "--used", "--bin", "U1")
    closed(bench, kept)
    assert in_ledger(bench) == FULL | BUILT_IN


def test_which_lot_of_a_ledger_is_asked(bench: Bench, kept: str) -> None:
    bench.run("fit", kept, "--reserve")
    bench.shelf("add", "drum ring", ".0600", "1", "--bin", "A2", "--apart")
    swap(bench, "gap: .041}", OTHER_RING)
    told = refused(bench, kept)
    assert "could be from " in told
    assert told.endswith("issue it first: gapwright shelf issue --job J-7")


def test_a_ledger_keeps_corrections_and_moves_the_difference(bench: Bench, kept: str) -> None:
    bench.run("fit", kept, "--reserve")
    closed(bench, kept)
    swap(bench, "gap: .041}", OTHER_RING)
    for _ in range(2):
        assert "was changed since" in refused(bench, kept)
    before = len(bench.entries())
    closed(bench, kept, "--correct", "--why", "a .0600")
    assert len(bench.entries()) == before + 2
    assert in_ledger(bench) == FULL | BUILT_IN | {"drum ring .0600": 0, "drum ring .0700": 1}
    swap(bench, OTHER_RING, AS_PROMISED)
    closed(bench, kept, "--correct", "--why", "a .0700 after all")
    assert in_ledger(bench) == FULL | BUILT_IN
    record = read_book(bench.address).closed("J-7")
    assert record is not None
    assert [one.why for one in record.corrected] == ["a .0600", "a .0700 after all"]
    assert [(one.size, one.count) for one in record.back] == [(".0600", 1), (".0700", 1)]


def test_a_row_of_a_table_is_closed_in_a_ledger(bench: Bench, kept: str) -> None:
    table = bench.write("week.csv", f"{HEAD}J-7{ROW}J-8{ROW}")
    bench.run("fit", kept, "--reserve")
    assert "left shop.db" in closed(bench, table, "--job", "J-7")
    assert in_ledger(bench) == FULL | BUILT_IN


def test_a_job_without_a_name_has_no_record_in_a_ledger(bench: Bench, kept: str) -> None:
    swap(bench, "  name: J-7\n", "")
    assert "the job has no name to be closed under" in refused(bench, kept)


@pytest.mark.parametrize("shelf", ["file", "ledger"])
def test_of_two_that_close_at_once_one_is_told_that_it_is_closed(
    bench: Bench, job: str, shelf: str, request: pytest.FixtureRequest
) -> None:
    if shelf == "ledger":
        job = request.getfixturevalue("kept")
    bench.run("fit", job, "--promise")
    told: list[str] = []
    start = Barrier(3)

    def close(who: str) -> None:
        start.wait()
        try:
            told.append(f"closed by {close_job(bench.folder / 'job.yaml', Author(who)).closed.by}")
        except InputError as error:
            told.append(str(error))

    threads = [Thread(target=close, args=(who,)) for who in ("ann", "bob", "cid")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    (winner,) = (one for one in told if one.startswith("closed by"))
    assert sorted("the job was closed on" in one for one in told) == [False, True, True]
    assert all(one.endswith(winner.removeprefix("closed ")) for one in told)
    counted = in_ledger(bench) if shelf == "ledger" else on_shelf(bench)
    assert counted == FULL | BUILT_IN
