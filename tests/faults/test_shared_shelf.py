"""Eight processes at one shelf at once, on each database."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Request
from inventory.refusals import NewerShelfError
from specs.files.shelf_address import is_server
from tests.commands import HOME, environment
from tests.faults.concurrent_writers import CROWD, KEYS, RING, STOCK, make_newer
from tests.inventory.shelves import DATABASES, by_another_tool, fresh_address, make_version_1

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks")


@pytest.fixture(params=DATABASES)
def nowhere(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An address where no shelf is yet."""
    with fresh_address(request.param, tmp_path) as address:
        yield address


@pytest.fixture
def stocked(nowhere: str) -> str:
    """The address of a shelf with rings on it."""
    create_shelf(nowhere)
    with open_shelf(nowhere) as shelf:
        shelf.post(Request("stock", "mary", "", (Movement("receive", RING, STOCK),)))
    return nowhere


def crowd(role: str, address: str) -> list[tuple[str, str]]:
    """Who got what."""
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.concurrent_writers", role, address],
        cwd=HOME, capture_output=True, text=True, check=False, timeout=120, env=environment(),
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, "")
    pairs = [line.partition(" ") for line in ran.stdout.splitlines()]
    return [(who, what) for who, _, what in pairs]


def test_a_crowd_gets_every_part_once_and_none_that_is_not_there(stocked: str) -> None:
    got = crowd("reserve_until_empty", stocked)
    given = [job for _, job in got]
    assert len(given) == len(set(given)) == STOCK
    assert len({who for who, _ in got}) >= CROWD // 2
    with open_shelf(stocked) as shelf:
        (balance,) = shelf.balances()
        issued = shelf.history(kind="issue")
        shelf.verify()
    assert balance.free == 0
    assert {job for job, _ in balance.holders} | {one.movement.job for one in issued} == {*given}
    assert all(number == 1 for _, number in balance.holders)
    assert len(balance.holders) + len(issued) == STOCK


def test_what_a_crowd_posts_with_the_same_key_is_posted_once(stocked: str) -> None:
    firsts = Counter(key for _, key in crowd("post_the_same", stocked))
    assert firsts == {f"key {n}": 1 for n in range(KEYS)}
    with open_shelf(stocked) as shelf:
        assert shelf.balances()[0].on_hand == STOCK + KEYS
        shelf.verify()


def test_a_crowd_returns_no_more_than_went_out(stocked: str) -> None:
    out = {"J-0": 40, "J-1": 40, "J-2": 70}
    with open_shelf(stocked) as shelf:
        moves = tuple(Movement("issue", RING, number, job) for job, number in out.items())
        shelf.post(Request("out", "we", "", moves))
    came = Counter(job for _, job in crowd("return_until_refused", stocked))
    with open_shelf(stocked) as shelf:
        back = Counter({
            job: shelf.out(job)["drum ring", ".0600"].back for job in out
        })  # fmt: skip
        assert shelf.balances()[0].on_hand == STOCK - sum(out.values()) + came.total()
        shelf.verify()
    assert back == came
    assert came["J-2"] == came["J-0"] + came["J-1"] >= 40
    assert all(came[job] <= number for job, number in out.items())


def test_a_crowd_brings_a_shelf_of_version_1_up_to_date(nowhere: str) -> None:
    make_version_1(nowhere)
    assert [entries for _, entries in crowd("open_an_old_one", nowhere)] == ["12"] * CROWD
    with open_shelf(nowhere) as shelf:
        assert shelf.verify().notes == CROWD
    if not is_server(nowhere):
        (kept,) = Path(nowhere).parent.glob("*.before-2*")
        with open_shelf(kept) as shelf:
            assert shelf.verify().requests == 7


def test_a_crowd_brings_a_shelf_up_to_date_once(
    stocked: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from inventory import postgres_door, sqlite_door

    assert len(crowd("open_with_a_newer_version", stocked)) == CROWD
    known = len(sqlite_door.STEPS)
    knows = f"is of version {known + 1}, this gapwright knows {known}"
    with pytest.raises(NewerShelfError, match=knows):
        open_shelf(stocked).__enter__()
    for door in (postgres_door, sqlite_door):
        monkeypatch.setattr(door, "STEPS", door.STEPS)
    make_newer()
    with open_shelf(stocked) as shelf:
        assert shelf.verify().entries == 1
        assert shelf.balances()[0].on_hand == STOCK
    one_row = "CREATE UNIQUE INDEX once ON newer (n)"
    assert by_another_tool(stocked, one_row) == [""], "the step was taken twice"
    _check_what_was_kept(stocked, known, monkeypatch)


def _check_what_was_kept(address: str, version: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The shelf of before is beside it: a file that opens, or tables with the same rows."""
    if is_server(address):
        # The same lot, so it is refused.
        there = f"INSERT INTO lot SELECT * FROM lot_before_{version + 1}"
        assert "lot_pkey" in by_another_tool(address, there)[0]
        return
    from inventory import sqlite_door

    monkeypatch.setattr(sqlite_door, "STEPS", sqlite_door.STEPS[:version])
    (kept,) = Path(address).parent.glob(f"*.before-{version + 1}*")
    with open_shelf(kept) as shelf:
        assert shelf.verify().entries == 1
