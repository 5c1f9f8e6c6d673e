"""A rebuild fitted from a ledger: it draws on what the file would say, and keeps what it chose."""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gapwright.fit.reserve
import gapwright.fit.service
from gapwright.fit.reserve import changes
from gapwright.today import today
from inventory import open_shelf
from inventory.holding import Holding
from inventory.movements import Balance, Movement, Part, Request
from tests.commands import COMMAND, environment
from tests.inventory.shelves import fresh_address

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.fit.report import Report
    from specs.models.case import Case
    from tests.gapwright.bench import Bench

RING = ("drum ring", ".0700")
HELD = {
    "drum ring .0700 in C1": (1, {"J-7": 1}),
    "drum steel thick in B2": (5, {"J-7": 2}),
    "drum steel thin in B3": (2, {"J-7": 1}),
}


@pytest.fixture
def job(bench: Bench, drum: str) -> str:
    """The drum's job, its shelf being the ledger now."""
    file = bench.write("job.yaml", drum)
    bench.shelf("import", file, "--mode", "add")
    shelf = drum[drum.index("shelf:") : drum.index("job:")]
    return bench.write("job.yaml", drum.replace(shelf, "shelf: shop.db\n"))


def held(bench: Bench, job: str = "J-7") -> dict[str, tuple[int, dict[str, int]]]:
    """The lots a job holds something of."""
    return {part: count for part, count in bench.counts().items() if job in count[1]}


def test_a_job_may_name_a_ledger_as_its_shelf(bench: Bench, job: str, drum: str) -> None:
    before = bench.entries()
    from_file = bench.run("fit", bench.write("old.yaml", drum))
    assert from_file[0] == 0
    assert from_file == bench.run("fit", job)
    assert from_file == bench.run("fit", bench.write("new.yaml", drum), "--shelf", bench.address)
    assert bench.entries() == before


@pytest.mark.face
def test_what_the_answer_takes_is_reserved_in_one_request(bench: Bench, job: str) -> None:
    before = len(bench.entries())
    code, out, err = bench.run("fit", job, "--reserve", "--who", "joe")
    assert (code, err) == (0, "")
    assert "\nreserved for J-7: 4 parts from the shelf\n" in out
    posted = bench.entries()[before:]
    assert [entry.movement.kind for entry in posted] == ["reserve"] * 3
    assert len({entry.key for entry in posted}) == 1
    assert {(entry.who, entry.why) for entry in posted} == {("joe", "fit")}
    assert held(bench) == HELD


def test_the_same_answer_posts_nothing_twice(bench: Bench, job: str) -> None:
    first = bench.run("fit", job, "--reserve")
    posted = bench.entries()
    second = bench.run("fit", job, "--reserve")
    kept = "reserved for J-7: 4 parts from the shelf"
    code = first[1].partition("promised, kept in ")[2].partition("\n")[0].rpartition(" ")[2]
    on = today().isoformat()
    assert second[1] == first[1].replace(kept, f"{kept}, 4 of them before").replace(
        f"promised, kept in {bench.address}: {code}", f"as promised on {on} ({code})"
    )
    assert bench.entries() == posted


def test_another_answer_releases_what_the_former_held_in_the_same_request(
    bench: Bench, job: str
) -> None:
    bench.run("fit", job, "--reserve")
    before = len(bench.entries())
    text = (bench.folder / "job.yaml").read_text().replace("gap: .041", "gap: .070")
    code, out, _ = bench.run("fit", bench.write("again.yaml", text), "--reserve")
    assert code == 0
    assert "no longer reserved for J-7: 1 x drum ring .0700 in C1, 1 x drum steel thin in B3" in out
    posted = bench.entries()[before:]
    assert [entry.movement.kind for entry in posted][:2] == ["release", "release"]
    assert len({entry.key for entry in posted}) == 1
    assert held(bench) == {
        "drum ring .0780": (2, {"J-7": 1}), "drum steel thick in B2": (5, {"J-7": 3}),
    }  # fmt: skip


def test_others_do_not_take_what_is_reserved(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    text = (bench.folder / "job.yaml").read_text().replace("J-7", "J-8")
    other = bench.write("other.yaml", text)
    _, out, _ = bench.run("fit", other, "--reserve")
    assert "drum ring .0700" not in out
    assert held(bench)["drum ring .0700 in C1"] == (1, {"J-7": 1})


@pytest.mark.usefixtures("job")
def test_nothing_is_reserved_where_nothing_fits(bench: Bench) -> None:
    before = bench.entries()
    text = (bench.folder / "job.yaml").read_text().replace("gap: .041", "gap: .001")
    assert bench.run("fit", bench.write("no.yaml", text), "--reserve")[0] == 3
    assert bench.entries() == before


def taken_meanwhile(bench: Bench, monkeypatch: pytest.MonkeyPatch, part: str, times: int) -> None:
    """Let somebody else take a part, and bring it back, while each of the solves goes on."""
    solve, words, left = gapwright.fit.service.fit_case, part.rsplit(" ", 1), [times]

    def slow(case: Case, *limits: object, **more: object) -> Report:
        report: Report = solve(case, *limits, **more)  # type: ignore[arg-type]
        if left[0]:
            left[0] -= 1
            lot = next(one for one in balances(bench) if [one.part.family, one.part.size] == words)
            with open_shelf(bench.address) as shelf:
                moves = [Movement("issue", lot.part, lot.free)]
                shelf.post(Request(f"other {left[0]}", "joe", "", tuple(moves)))
        return report

    monkeypatch.setattr(gapwright.fit.service, "fit_case", slow)


def balances(bench: Bench) -> tuple[Balance, ...]:
    with open_shelf(bench.address) as shelf:
        return shelf.balances()


def test_a_shelf_that_changed_under_the_answer_is_solved_again(
    bench: Bench, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken_meanwhile(bench, monkeypatch, "drum ring .0700", 1)
    code, out, err = bench.run("fit", job, "--reserve")
    assert (code, err) == (0, "")
    assert "the shelf changed while this was solved; it was solved again, 1 time" in out
    assert "drum ring .0700" not in out
    assert sum(holders["J-7"] for _, holders in held(bench).values()) > 0


def test_a_shelf_that_changes_all_the_time_is_refused_in_the_end(
    bench: Bench, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    solve = gapwright.fit.service.fit_case

    def robbed(case: Case, *limits: object, **more: object) -> Report:
        bench_adds = [Movement("count", one.part, 9) for one in balances(bench)]
        with open_shelf(bench.address) as shelf:
            shelf.post(Request(f"in {shelf.revision()}", "joe", "", tuple(bench_adds)))
            report: Report = solve(case, *limits, **more)  # type: ignore[arg-type]
            takes = [Movement("issue", one.part, 9) for one in shelf.balances()]
            shelf.post(Request(f"out {shelf.revision()}", "joe", "", tuple(takes)))
        return report

    monkeypatch.setattr(gapwright.fit.service, "fit_case", robbed)
    code, out, err = bench.run("fit", job, "--reserve")
    assert (code, out) == (2, "")
    assert err == "shop.db: changed under the answer 5 times; nothing was reserved, try again"
    assert not held(bench)


def test_what_others_take_of_plenty_is_no_reason_to_solve_again(
    bench: Bench, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.shelf("add", *RING, "1")
    solve = gapwright.fit.service.fit_case

    def slow(case: Case, *limits: object, **more: object) -> Report:
        report: Report = solve(case, *limits, **more)  # type: ignore[arg-type]
        with open_shelf(bench.address) as shelf:
            one = next(lot for lot in shelf.balances() if lot.part.size == ".0700")
            shelf.post(Request("other", "joe", "", (Movement("reserve", one.part, 1, "J-9"),)))
        return report

    monkeypatch.setattr(gapwright.fit.service, "fit_case", slow)
    code, out, _ = bench.run("fit", job, "--reserve")
    assert code == 0
    assert "solved again" not in out
    assert bench.counts()["drum ring .0700 in C1"] == (2, {"J-7": 1, "J-9": 1})


def test_a_job_sent_twice_at_once_holds_its_parts_once(
    bench: Bench, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.shelf("add", *RING, "3")
    twins = [0]

    def slow(wanted: Counter[str], there: tuple[Balance, ...], job: str) -> tuple[Movement, ...]:
        movements = changes(wanted, there, job)
        if not twins[0]:
            twins[0] = 1
            with open_shelf(bench.address) as shelf:
                shelf.post(Request("twin", "joe", "", movements))
        return movements

    monkeypatch.setattr(gapwright.fit.reserve, "changes", slow)
    code, out, _ = bench.run("fit", job, "--reserve")
    assert (code, twins) == (0, [1])
    assert "reserved for J-7: 4 parts from the shelf, 4 of them before" in out
    assert "solved again" not in out
    assert held(bench) == HELD | {"drum ring .0700 in C1": (4, {"J-7": 1})}


def test_two_at_once_for_the_last_ring(bench: Bench, drum: str) -> None:
    text = drum.replace("{thick: .0880, thin: .0690}", "{thick: .0880}").replace(".041", ".055")
    text = text.replace(drum[drum.index("shelf:") : drum.index("job:")], "shelf: shop.db\n")
    bench.shelf("add", *RING, "1", "--bin", "C1")
    jobs = [bench.write(f"{name}.yaml", text.replace("J-7", name)) for name in ("J-7", "J-8")]
    started = [
        subprocess.Popen(
            [*COMMAND, "fit", job, "--reserve", "--json"], env=environment(),
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )
        for job in jobs
    ]  # fmt: skip
    told = [one.communicate(timeout=60) for one in started]
    assert not [err for _, err in told if err]
    assert sorted(one.returncode for one in started) == [0, 3]
    answers = {out["job"]: out for out in (json.loads(out) for out, _ in told)}
    (winner,) = [name for name, out in answers.items() if out["answer"] == "fit"]
    (loser,) = answers.keys() - {winner}
    assert answers[loser]["answer"] == "no fit"
    assert answers[loser]["ways out"][0]["buy"][0]["family"] == "drum ring"
    assert bench.counts()["drum ring .0700 in C1"] == (1, {winner: 1})
    assert not held(bench, loser)


@pytest.mark.parametrize(
    ("swap", "options", "why"),
    [
        (("  name: J-7\n", ""), (), "the job has no name to keep it under"),
        (("shelf: shop.db", "shelf: {drum ring: {.0700: 1}}"), (), "shelf init shop.db"),
        (("J-7", "J-7"), ("--shelf", "none.db"), "none.db: there is no such file; make a shelf"),
        (("J-7", "J-7"), ("--shelf", "unit.yaml"), "no such file"),
        (("shelf: shop.db", "shelf: job.db"), (), "job.db: there is no such file"),
    ],
)
@pytest.mark.usefixtures("job")
def test_what_cannot_reserve_is_refused(
    bench: Bench, swap: tuple[str, str], options: tuple[str, ...], why: str
) -> None:
    text = (bench.folder / "job.yaml").read_text()
    assert swap[0] in text
    before = bench.entries()
    code, out, err = bench.run(
        "fit", bench.write("job.yaml", text.replace(*swap)), "--reserve", *options
    )
    assert (code, out) == (2, "")
    assert why in err
    assert bench.entries() == before


def test_a_text_that_is_called_a_ledger_is_no_shelf(bench: Bench, job: str) -> None:
    bench.write("shop.db", "shelf: {drum ring: {.0700: 1}}\n" * 99)
    code, _, err = bench.run("fit", job)
    assert (code, err) == (2, "shop.db: is no database; name the shelf's file")


def test_a_ledger_is_told_by_its_first_bytes_whatever_its_name(bench: Bench, job: str) -> None:
    (bench.folder / "shop.db").rename(bench.folder / "the shelf")
    code, out, _ = bench.run("fit", job, "--shelf", str(bench.folder / "the shelf"))
    assert (code, "FITS" in out) == (0, True)


def test_a_size_the_unit_does_not_know_is_not_passed_over_in_silence(
    bench: Bench, job: str
) -> None:
    bench.shelf("add", "drum ring", "0.0835", "3", "--bin", "C9")
    bench.shelf("add", "tail shim", "0.01", "3")
    told = bench.run("fit", job)[1]
    assert "on the shelf, but no size of this unit: 3 x drum ring 0.0835 in C9\n" in told
    (aside,) = json.loads(bench.run("fit", job, "--json")[1])["set aside"]
    assert (aside["family"], aside["size"]) == ("drum ring", "0.0835")


def test_the_unit_of_what_is_reserved_is_remembered_once(bench: Bench, job: str) -> None:
    for _ in range(2):
        bench.run("fit", job, "--reserve")
        bench.shelf("issue", "drum ring", ".0780", "--found")
    with open_shelf(bench.address) as shelf:
        (noted,) = shelf.notes("unit", every=True)
    assert noted.note.about == "Harrow 4"
    assert "did you mean" in bench.refused("add", "drum steel", "thik", "1")


def test_parts_a_job_was_given_before_are_brought_to_mind(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    bench.shelf("issue", "--job", "J-7")
    assert "issued to J-7 before: 4 parts, which count as in this unit" in bench.run("fit", job)[1]
    bench.shelf("return", *RING, "--job", "J-7", "--used")
    assert "issued to J-7 before: 3 parts, " in bench.run("fit", job)[1]


def test_json_tells_what_was_reserved(bench: Bench, job: str) -> None:
    assert json.loads(bench.run("fit", job, "--json")[1])["reserved"] is None
    told = json.loads(bench.run("fit", job, "--reserve", "--json")[1])
    reserved = {(one["family"], one["size"]): one["number"] for one in told["reserved"]["reserved"]}
    assert reserved == {
        ("drum ring", ".0700"): 1, ("drum steel", "thick"): 2, ("drum steel", "thin"): 1,
    }  # fmt: skip
    codes = {part["code"] for part in told["gaps"][0]["parts"] if part["from"] == "shelf"}
    assert codes == {one["code"] for one in told["reserved"]["reserved"]}
    again = json.loads(bench.run("fit", job, "--reserve", "--json")[1])
    assert again["reserved"] == {"reserved": [], "released": [], "kept": 4}


LOTS = [Part("ring", size) for size in "abcd"]
HOLDERS = st.dictionaries(st.sampled_from(["J-7", "J-8", "J-9"]), st.integers(1, 4))


@given(
    holders=st.lists(HOLDERS, min_size=4, max_size=4),
    wanted=st.lists(st.integers(0, 4), min_size=4, max_size=4),
)
def test_a_job_ends_up_with_just_what_it_wants(
    holders: list[dict[str, int]], wanted: list[int]
) -> None:
    books = {
        part: Holding(40, sum(held.values()), dict(held))
        for part, held in zip(LOTS, holders, strict=True)
    }
    there = [
        Balance(part, part.lot_id, book.on_hand, book.reserved, tuple(book.held.items()))
        for part, book in books.items()
    ]
    asked = Counter({part.lot_id: n for part, n in zip(LOTS, wanted, strict=True)})
    for movement in changes(asked, there, "J-7"):
        assert books[movement.part].shortage(movement) is None
        books[movement.part].move(movement)
    for part, before, number in zip(LOTS, holders, wanted, strict=True):
        after = {job: n for job, n in books[part].held.items() if n}
        assert after.pop("J-7", 0) == number
        assert after == {job: n for job, n in before.items() if job != "J-7"}


@pytest.mark.face
def test_a_ledger_on_a_server_serves_a_job_as_a_file_does(
    bench: Bench, drum: str, tmp_path: Path
) -> None:
    file = bench.write("job.yaml", drum)
    with fresh_address("postgres", tmp_path) as address:
        for words in (("init",), ("import", file, "--mode", "add")):
            code, out, err = bench.run("shelf", words[0], address, *words[1:])
            assert (code, err) == (0, "")
            assert out.startswith("postgresql://")
        shelf = drum[drum.index("shelf:") : drum.index("job:")]
        job = bench.write("job.yaml", drum.replace(shelf, f"shelf: {address}\n"))
        for before in ("", ", 4 of them before"):
            code, out, err = bench.run("fit", job, "--reserve")
            assert (code, err) == (0, "")
            assert f"\nreserved for J-7: 4 parts from the shelf{before}\n" in out
        assert bench.run("fit", file, "--shelf", address)[0] == 0
