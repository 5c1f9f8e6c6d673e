"""A plan posted to the shelf: all of its parts in one request, or none."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from gapwright.batch.service import reported
from inventory import open_shelf
from inventory.movements import Movement, Request
from tests.gapwright.batch.test_batch_command import DAY, SHELF, UNIT, WEEK
from tests.gapwright.bench import Bench

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.batch.service import PlanReport


@pytest.fixture
def floor(tmp_path: Path) -> Bench:
    bench = Bench(tmp_path)
    for name, text in (("unit.yaml", UNIT), ("shelf.yaml", SHELF), ("week.csv", WEEK)):
        bench.write(name, text)
    bench.shelf("init")
    shelf, unit = str(tmp_path / "shelf.yaml"), str(tmp_path / "unit.yaml")
    bench.shelf("import", shelf, "--mode", "add", "--unit", unit, "--who", "mary")
    return bench


def plan(bench: Bench, *words: str) -> tuple[int, str, str]:
    week, unit = str(bench.folder / "week.csv"), str(bench.folder / "unit.yaml")
    shelf = ("--shelf", bench.address, "--day", DAY, "--who", "mary")
    return bench.run("batch", week, "--unit", unit, *shelf, *words)


def held(bench: Bench) -> dict[str, int]:
    """How many parts are reserved for each job."""
    found: dict[str, int] = {}
    with open_shelf(bench.address) as shelf:
        for one in shelf.balances():
            for job, number in one.holders:
                found[job] = found.get(job, 0) + number
    return found


def test_every_job_that_is_completed_holds_the_parts_of_its_build(floor: Bench) -> None:
    before = len(floor.entries())
    code, out, _ = plan(floor, "--reserve")
    assert code == 3  # two of five cannot be completed
    assert "reserved: 12 parts for 3 jobs, in one request" in out
    assert held(floor) == {"J-2": 4, "J-3": 4, "J-4": 4}
    posted = floor.entries()[before:]
    assert len({entry.key for entry in posted}) == 1
    assert {entry.who for entry in posted} == {"mary"}


def test_the_same_plan_again_posts_nothing_and_keeps_what_is_held(floor: Bench) -> None:
    plan(floor, "--reserve")
    before = floor.entries()
    code, out, _ = plan(floor, "--reserve", "--json")
    assert code == 3
    told = json.loads(out)["reserved"]
    assert {job: (one["reserved"], one["kept"]) for job, one in told.items()} == {
        "J-2": (0, 4), "J-3": (0, 4), "J-4": (0, 4)
    }  # fmt: skip
    assert floor.entries() == before


def test_what_a_job_holds_already_is_taken_into_its_build_and_the_rest_reserved(
    floor: Bench,
) -> None:
    with open_shelf(floor.address) as shelf:
        thick = next(one for one in shelf.balances() if one.part.size == "thick")
        moves = (Movement("reserve", thick.part, 2, "J-2"),)
        shelf.post(Request("some of it", "joe", "", moves))
    told = json.loads(plan(floor, "--reserve", "--json")[1])
    assert told["reserved"]["J-2"] == {"reserved": 2, "kept": 2, "released": 0}
    assert held(floor)["J-2"] == 4


def test_what_is_held_for_a_job_is_there_for_no_other(floor: Bench) -> None:
    with open_shelf(floor.address) as shelf:
        rings = [one for one in shelf.balances() if one.part.family == "drum ring"]
        moves = tuple(Movement("reserve", one.part, one.on_hand, "J-1") for one in rings)
        shelf.post(Request("for one", "joe", "", moves))
    _, out, _ = plan(floor, "--json")
    assert [job["job"] for job in json.loads(out)["jobs"] if job["complete"]] == ["J-1"]


def test_a_shelf_file_cannot_reserve_a_plan(floor: Bench) -> None:
    week, unit = str(floor.folder / "week.csv"), str(floor.folder / "unit.yaml")
    shelf = str(floor.folder / "shelf.yaml")
    code, out, err = floor.run(
        "batch", week, "--unit", unit, "--shelf", shelf, "--day", DAY, "--reserve", "--who", "mary"
    )
    assert (code, out) == (2, "")
    assert "only a shelf that is a ledger can reserve" in err


def test_a_shelf_that_changed_under_a_plan_is_planned_again(
    floor: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned, robbed = reported, [1]

    def slow(*asked: Any) -> PlanReport:  # noqa: ANN401 - as it comes
        if robbed:
            robbed.pop()
            with open_shelf(floor.address) as shelf:
                ring = next(one for one in shelf.balances() if one.part.size == ".0700")
                takes = (Movement("issue", ring.part, ring.free),)
                shelf.post(Request("robbed", "joe", "", takes))
        return planned(*asked)

    monkeypatch.setattr("gapwright.batch.several_shelves.reported", slow)
    _, out, _ = plan(floor, "--reserve")
    assert "the shelf changed meanwhile, so this was planned again" in out
    with open_shelf(floor.address) as shelf:
        assert all(one.reserved <= one.on_hand for one in shelf.balances())
    assert held(floor)
