"""What `fit` and `batch` say of a job whose parts are out, and of one that is closed."""

from __future__ import annotations

import json
import re
from collections import Counter
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gapwright.batch.service import plan_cases
from gapwright.record.book import Account, Book
from inventory import open_shelf
from inventory.movements import Balance, Movement, Part, Request
from specs.errors import InputError
from specs.files.read import read_case
from specs.values.lengths import Length
from tests.gapwright.record.test_promise import changed, promise_lines
from tests.gapwright.record.test_promise_in_ledger import note_closed

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench


def first(out: str) -> str:
    return out.partition("\n")[0]


def take_all(bench: Bench) -> None:
    """Issue what is reserved for the job, and let another job have all the rest."""
    bench.shelf("issue", "--job", "J-7")
    with open_shelf(bench.address) as shelf:
        rest = tuple(
            Movement("issue", one.part, one.free, "J-1") for one in shelf.balances() if one.free
        )
        shelf.post(Request("the rest", "joe", "", rest))
        assert not any(one.on_hand for one in shelf.balances())


def test_a_taken_job_is_said_to_be_taken_and_fits_with_its_parts(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    take_all(bench)
    code, out, err = bench.run("fit", job)
    assert (code, err) == (0, "")
    assert first(out) == "J-7, Harrow 4: TAKEN; FITS, proved best"
    (line,) = promise_lines(out)
    assert line.startswith("as promised on ")
    take = out[out.index("\ntake\n") : out.index("\nthin steels")].splitlines()[2:]
    assert [line.split()[0] for line in take] == ["issued"] * 3
    assert "issued to J-7 before: 4 parts, which count as in this unit" in out
    told = json.loads(bench.run("fit", job, "--json")[1])
    assert (told["issued before"], told["not as promised"]) == (4, [])


def test_a_taken_job_keeps_its_promise_and_reserves_nothing_twice(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    take_all(bench)
    link = bench.link()
    for asked in ("--promise", "--reserve"):
        assert bench.run("fit", job, asked)[0] == 0
    assert bench.link() == link


def test_what_came_back_is_on_the_shelf_again(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    take_all(bench)
    bench.shelf("return", "drum ring", ".0700", "--job", "J-7", "--bin", "C9")
    _, out, _ = bench.run("fit", job)
    assert "issued to J-7 before: 3 parts" in out
    take = out[out.index("\ntake\n") : out.index("\nthin steels")]
    assert "  bin C9  1 x drum ring .0700" in re.sub(" +1 x", "  1 x", take)


def test_a_part_that_the_job_lists_as_in_the_unit_is_not_there_twice(
    bench: Bench, job: str
) -> None:
    bench.run("fit", job, "--reserve")
    take_all(bench)
    changed(bench, ("gap: .041}", "gap: .041, now: [thin, thick, thick, .0700]}"))
    code, out, _ = bench.run("fit", job)
    assert (code, first(out)) == (0, "J-7, Harrow 4: TAKEN; LEAVE IT AS IT IS, proved best")
    # a gap that would need three thick steels and the ring .0600: there is none of them
    changed(bench, ("gap: .041, now", "gap: .051, now"))
    code, out, _ = bench.run("fit", job)
    assert first(out).startswith("J-7, Harrow 4: TAKEN; ")
    assert "3 x drum steel thick" not in out[out.index("\ntake\n") :]


def test_the_old_build_under_now_leaves_what_was_issued_for_the_new(bench: Bench, job: str) -> None:
    old = "now: [thin, thin, thick, .0780], trial: old"
    changed(bench, ("trial: [thick, thick, thick, .0780], gap: .041", f"{old}, gap: .0895"))
    bench.run("fit", job, "--reserve")
    _, before, _ = bench.run("fit", job)
    take_all(bench)
    code, out, _ = bench.run("fit", job)
    assert (code, first(out)) == (0, "J-7, Harrow 4: TAKEN; FITS, proved best")
    (line,) = promise_lines(out)
    assert line.startswith("as promised on ")
    assert promise_lines(before)[0] == line


@pytest.mark.parametrize("where", ["file", "ledger"])
def test_a_closed_job_is_said_to_be_closed_and_is_not_solved(
    bench: Bench, job: str, where: str
) -> None:
    bench.run("fit", job, "--reserve")
    answer = json.loads(bench.run("fit", job, "--json")[1])["promised"]["answer"]
    if where == "ledger":
        note_closed(bench, "J-7")
    else:
        text = (bench.folder / "job.yaml").read_text()
        bench.write("job.yaml", f"{text}  closed: {{on: 2031-04-09, by: JM, record: X}}\n")
    code, out, err = bench.run("fit", job)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "J-7, Harrow 4: CLOSED on 2031-04-09 by JM"
    assert lines[1].startswith("promised on ")
    assert lines[1].endswith(f"({answer}):")
    assert lines[2] == "  low drum: 0.068 in"
    assert "UNDECIDED" not in out
    told = json.loads(bench.run("fit", job, "--json")[1])
    assert (told["answer"], told["proved"]) == ("closed", False)
    assert told["closed"] == {"on": "2031-04-09", "by": "JM"}
    assert told["promised"]["answer"] == answer


def test_closed_jobs_are_not_planned_and_are_named(bench: Bench, job: str) -> None:
    text = (bench.folder / "job.yaml").read_text()
    for name in ("J-8", "J-9"):
        bench.write(f"{name}.yaml", text.replace("J-7", name))
    note_closed(bench, "J-8")
    files = [job, *(str(bench.folder / f"{name}.yaml") for name in ("J-8", "J-9"))]
    code, out, err = bench.run("batch", *files, "--reserve")
    assert (code, err) == (0, "")
    assert "\nclosed, and not planned: J-8\n" in out
    assert "of 2 jobs" in first(out)
    told = json.loads(bench.run("batch", *files, "--json")[1])
    assert told["closed"] == ["J-8"]
    assert [one["job"] for one in told["jobs"]] == ["J-7", "J-9"]
    cases = [read_case(bench.folder / "J-8.yaml")]
    with pytest.raises(InputError, match="all of these jobs are closed: J-8"):
        plan_cases(cases)


PARTS = [
    Part("drum ring", ".0700", bin="C1"), Part("drum ring", ".0700", bin="C2"),
    Part("drum ring", ".0700", Length(1_778_000)), Part("drum ring", ".0780"),
]  # fmt: skip


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(1, 5), st.booleans()), max_size=12))
def test_as_many_are_issued_of_a_size_as_went_out_and_did_not_come_back(
    moves: list[tuple[int, int, bool]],
) -> None:
    account, out = Account(), Counter[str]()
    for nth, number, back in moves:
        part = PARTS[nth]
        if back and out[part.size] < number:
            continue  # no ledger takes back more of a size than went out
        sign = -1 if back else 1
        out[part.size] += sign * number
        account.out[part.lot_id] += sign * number
    balances = tuple(Balance(part, part.lot_id, 0, 0) for part in PARTS)
    issued = Book("shop.db", 0, balances, {"J-7": account}).issued("J-7")
    sizes: Counter[str] = Counter()
    for part, number in issued.items():
        assert number > 0
        sizes[part.size] += number
    assert sizes == +out


def test_a_plan_takes_what_is_out_for_a_job_as_its_own(bench: Bench, job: str) -> None:
    bench.run("fit", job, "--reserve")
    take_all(bench)
    link = bench.link()
    told = json.loads(bench.run("batch", job, "--reserve", "--json")[1])
    (planned,) = told["jobs"]
    assert planned["complete"]
    assert told["reserved"] == {"J-7": {"reserved": 0, "kept": 0, "released": 0}}
    assert bench.link() == link
