"""What every shelf promises, on a file and on a server alike."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from functools import partial
from typing import TYPE_CHECKING

import pytest

from inventory import create_shelf, open_shelf, sql
from inventory.chain import LOOKED_AT, link, read_link
from inventory.movements import Part, Request
from inventory.refusals import (
    ChangedShelfError,
    DamagedShelfError,
    NotAShelfError,
    OtherRequestError,
    Out,
    ShelfError,
    ShortShelfError,
)
from specs.errors import InputError
from specs.files.shelf_address import is_server
from specs.values.lengths import Length
from tests.inventory.shelves import (
    OLD,
    RING,
    THICK,
    THIN,
    all_but_the_guards,
    by_another_tool,
    move,
    post,
    unbound,
    unguarded,
)

if TYPE_CHECKING:
    from pathlib import Path

    from inventory import Shelf
    from inventory.movements import Movement


def stands(shelf: Shelf, part: Part = THIN) -> tuple[int, int, tuple[tuple[str, int], ...]]:
    """On hand, reserved, and by whom."""
    (balance,) = [balance for balance in shelf.balances() if balance.part == part]
    return balance.on_hand, balance.reserved, balance.holders


def stocked(shelf: Shelf) -> Shelf:
    """Seven thin steels on hand, of which J-1 holds two and J-2 one."""
    moves = (
        move("receive", THIN, 7),
        move("reserve", THIN, 1, "J-2"),
        move("reserve", THIN, 2, "J-1"),
    )
    post(shelf, *moves, key="stock")
    return shelf


def test_a_new_shelf_is_empty_and_sound(shelf: Shelf) -> None:
    assert (shelf.balances(), shelf.history(), shelf.revision()) == ((), (), 0)
    assert shelf.verify().entries == 0


@pytest.mark.parametrize(
    ("movement", "left"),
    [
        (move("receive", THIN, 3), (10, 3, (("J-1", 2), ("J-2", 1)))),
        (move("count", THIN, 9), (9, 3, (("J-1", 2), ("J-2", 1)))),
        (move("count", THIN, 3), (3, 3, (("J-1", 2), ("J-2", 1)))),
        (move("reserve", THIN, 4, "J-1"), (7, 7, (("J-1", 6), ("J-2", 1)))),
        (move("reserve", THIN, 1, "J-3"), (7, 4, (("J-1", 2), ("J-2", 1), ("J-3", 1)))),
        (move("release", THIN, 1, "J-1"), (7, 2, (("J-1", 1), ("J-2", 1)))),
        (move("release", THIN, 2, "J-1"), (7, 1, (("J-2", 1),))),
        (move("issue", THIN, 4), (3, 3, (("J-1", 2), ("J-2", 1)))),
        (move("issue", THIN, 4, "J-1"), (3, 3, (("J-1", 2), ("J-2", 1)))),
        (move("issue", THIN, 2, "J-1", reserved=True), (5, 1, (("J-2", 1),))),
        (move("scrap", THIN, 1), (6, 3, (("J-1", 2), ("J-2", 1)))),
    ],
    ids=str,
)
def test_a_movement_moves_its_lot(
    shelf: Shelf, movement: Movement, left: tuple[int, int, tuple[tuple[str, int], ...]]
) -> None:
    post(stocked(shelf), movement)
    assert stands(shelf) == left
    assert shelf.history()[-1].movement == movement
    assert shelf.verify().entries == 4


@pytest.mark.parametrize(
    ("movement", "sentence"),
    [
        (
            move("reserve", THIN, 5, "J-3"),
            "5 to reserve, 4 free of 7 on hand; reserved: 2 for J-1, 1 for J-2",
        ),
        (move("issue", THIN, 5), "5 to issue, 4 free of 7 on hand; reserved: 2 for J-1, 1 for J-2"),
        (move("scrap", THIN, 8), "8 to scrap, 4 free of 7 on hand; reserved: 2 for J-1, 1 for J-2"),
        (move("release", THIN, 3, "J-1"), "3 to release, 2 reserved for J-1"),
        (move("release", THIN, 1, "J-9"), "1 to release, 0 reserved for J-9"),
        (move("issue", THIN, 3, "J-1", reserved=True), "3 to issue, 2 reserved for J-1"),
        (
            move("count", THIN, 2),
            "2 to count, 3 reserved (2 for J-1, 1 for J-2); release some first",
        ),
    ],
    ids=str,
)
def test_what_is_not_there_is_refused_in_one_sentence(
    shelf: Shelf, movement: Movement, sentence: str
) -> None:
    before = stands(stocked(shelf))
    with pytest.raises(ShortShelfError) as refused:
        post(shelf, movement)
    (problem,) = refused.value.problems
    assert problem.sentence == f"drum steel thin 1.755 mm in B3: {sentence}"
    assert problem.file == shelf.name
    assert refused.value.exit_code == 2
    assert [short.movement for short in refused.value.shortages] == [movement]
    assert (stands(shelf), shelf.revision()) == (before, 3)


SOLD = replace(THIN, thickness=None, bin="C9", condition="used")


@pytest.mark.parametrize(
    ("job", "number", "sentence"),
    [
        ("J-1", 1, ""),
        ("J-1", 2, "2 to return from J-1, 3 went out to it and 2 came back"),
        ("J-2", 1, "1 to return from J-2, 1 went out to it and 1 came back"),
        ("J-3", 1, "1 to return from J-3, none went out to it"),
        ("", 2, ""),
        ("", 3, "3 to return, 5 went out and 3 came back"),
    ],
)
def test_a_return_takes_back_no_more_than_is_out_of_its_size(
    shelf: Shelf, job: str, number: int, sentence: str
) -> None:
    post(stocked(shelf), move("issue", THIN, 2, "J-1", reserved=True), move("issue", THIN, 1))
    post(shelf, move("issue", THIN, 1, "J-1"), move("return", SOLD, 2, "J-1"))
    post(shelf, move("issue", THIN, 1, "J-2", reserved=True), move("return", THIN, 1, "J-2"))
    assert shelf.out("J-1") == {("drum steel", "thin"): Out(3, 2)}
    assert shelf.out() == {("drum steel", "thin"): Out(5, 3)}
    assert shelf.out("J-3") == {}
    back = move("return", THIN, number, job)
    if not sentence:
        post(shelf, back)
        assert shelf.history()[-1].movement == back
    else:
        with pytest.raises(ShortShelfError) as refused:
            post(shelf, move("receive", RING, 1), back)
        (problem,) = refused.value.problems
        assert problem.sentence == f"drum steel thin: {sentence}"
        assert [one.movement for one in refused.value.shortages] == [back]
        assert [one.part for one in shelf.balances()].count(RING) == 0
    shelf.verify()


def test_a_return_counts_what_its_own_request_took_out_and_gave_back(shelf: Shelf) -> None:
    stocked(shelf)
    out, back = move("issue", THIN, 2, "J-1"), move("return", THIN, 2, "J-1")
    for moves in ([back, out], [out, back, back], [out, replace(back, job=""), back, back]):
        with pytest.raises(ShortShelfError):
            post(shelf, *moves)
    post(shelf, out, back, out, replace(back, job=""))
    assert (stands(shelf)[0], shelf.out()) == (7, {("drum steel", "thin"): Out(4, 4)})


def test_all_that_is_lacking_is_told_at_once_and_nothing_is_posted(shelf: Shelf) -> None:
    stocked(shelf)
    asked = [move("issue", THIN, 1), move("issue", RING, 1), move("scrap", THICK, 2)]
    with pytest.raises(ShortShelfError) as refused:
        post(shelf, *asked)
    assert [short.movement for short in refused.value.shortages] == asked[1:]
    assert [balance.part for balance in shelf.balances()] == [THIN]
    assert shelf.revision() == 3


def test_movements_of_a_request_are_worked_through_in_their_order(shelf: Shelf) -> None:
    there, gone = move("receive", RING, 2), move("issue", RING, 2, "J-1")
    with pytest.raises(ShortShelfError):
        post(shelf, gone, there)
    post(shelf, there, gone)
    assert stands(shelf, RING) == (0, 0, ())


def test_parts_that_differ_in_anything_are_lots_of_their_own(shelf: Shelf) -> None:
    parts = [
        RING, OLD, Part("drum ring", ".0600"), Part("drum ring", ".0600", bin="C1"),
        Part("drum ring", ".0600", Length(1_524_000)),
        Part("drum ring", ".0600", Length(1_524_001)),
        Part("other ring", ".0600"), Part("drum ring", ".0700"),
    ]  # fmt: skip
    post(shelf, *(move("receive", part, nth) for nth, part in enumerate(parts, 1)))
    found = {balance.part: balance.on_hand for balance in shelf.balances()}
    assert found == {part: nth for nth, part in enumerate(parts, 1)}
    assert len({balance.lot_id for balance in shelf.balances()}) == len(parts)


def test_an_average_thickness_is_kept_exactly(shelf: Shelf) -> None:
    third = Part("shim", "thin", Length(1_000_000) / 3)
    post(shelf, move("receive", third, 1))
    assert shelf.balances()[0].part == third


def test_names_in_any_language_and_with_quotes_come_back_as_they_were(shelf: Shelf) -> None:
    part = Part("Stahl 'dünn' %s", '薄い ".069"', bin="Ö/3", label="5 % ? :x")
    post(shelf, move("receive", part, 1), move("reserve", part, 1, "Müller's"))
    assert stands(shelf, part) == (1, 1, (("Müller's", 1),))
    assert shelf.verify().lots == 1


def test_the_same_request_twice_is_posted_once(shelf: Shelf) -> None:
    request = Request(
        "order 7", "mary", "came in", (move("receive", RING, 2), move("scrap", RING, 1))
    )
    first, second = shelf.post(request), shelf.post(request)
    assert (first.again, second.again) == (False, True)
    assert (first.first, first.last) == (second.first, second.last) == (1, 2)
    assert stands(shelf, RING) == (1, 0, ())


def test_a_request_that_would_now_be_short_is_still_known_as_posted(shelf: Shelf) -> None:
    request = Request("take", "mary", "", (move("issue", THIN, 4, "J-9"),))
    stocked(shelf).post(request)
    assert shelf.post(request, seen=0).again
    assert stands(shelf)[0] == 3


@pytest.mark.parametrize(
    "moves",
    [
        (move("receive", THIN, 8),),
        (move("receive", THIN, 7),),
        (
            move("receive", THIN, 7), move("reserve", THIN, 1, "J-2"),
            move("reserve", THIN, 2, "J-1"), move("scrap", THIN, 1),
        ),
    ],
    ids=["another number", "fewer movements", "more movements"],
)  # fmt: skip
def test_a_key_never_stands_for_two_things(shelf: Shelf, moves: tuple[Movement, ...]) -> None:
    stocked(shelf)
    with pytest.raises(
        OtherRequestError, match=r'"stock" was posted at .* give this request a key'
    ):
        post(shelf, *moves, key="stock")
    assert shelf.revision() == 3


def test_a_count_keeps_what_the_books_were_short_of(shelf: Shelf) -> None:
    stocked(shelf)
    post(shelf, move("count", THIN, 5), move("count", THICK, 4), move("count", THIN, 5))
    assert [entry.change for entry in shelf.history(kind="count")] == [-2, 4, 0]


def test_a_part_the_counts_deny_is_counted_and_issued_together(shelf: Shelf) -> None:
    post(shelf, move("receive", RING, 1), move("reserve", RING, 1, "J-1"))
    post(shelf, move("count", RING, 2), move("issue", RING, 1, "J-2"), seen=shelf.revision())
    assert stands(shelf, RING) == (1, 1, (("J-1", 1),))
    found, issued = shelf.history(after=2)
    assert (found.change, found.key) == (1, issued.key)


def test_what_was_looked_at_and_moved_since_is_refused_where_that_is_asked(shelf: Shelf) -> None:
    seen = stocked(shelf).revision()
    post(shelf, move("receive", RING, 1))
    post(shelf, move("count", THIN, 7), seen=seen)
    with pytest.raises(ChangedShelfError, match=r"thin 1[.]755 mm in B3 moved since"):
        post(shelf, move("count", THIN, 9), move("receive", THICK, 1), seen=seen)
    assert stands(shelf)[0] == 7


def test_history_tells_what_went_into_which_job(shelf: Shelf) -> None:
    stocked(shelf)
    post(shelf, move("issue", THIN, 2, "J-1", reserved=True), move("receive", RING, 5))
    post(shelf, move("issue", RING, 1, "J-1"), move("issue", RING, 1, "J-2"), key="rings")
    issued = shelf.history(job="J-1", kind="issue")
    assert [(entry.movement.part, entry.movement.number) for entry in issued] == [
        (THIN, 2),
        (RING, 1),
    ]
    assert [entry.number for entry in shelf.history(job="J-1")] == [3, 4, 6]
    assert [entry.number for entry in shelf.history(lot=RING.lot_id)] == [5, 6, 7]
    assert [entry.number for entry in shelf.history(key="rings")] == [6, 7]
    assert [entry.number for entry in shelf.history(after=5)] == [6, 7]
    assert shelf.history(job="J-3") == shelf.history(kind="scrap") == ()
    last = shelf.history()[-1]
    assert (last.key, last.who, last.why) == ("rings", "mary", "as asked")
    assert (last.change, last.on_hand, last.reserved) == (-1, 3, 0)


def test_the_ledger_keeps_its_order_when_the_clock_is_set_back(address: str) -> None:
    noon = datetime(2026, 3, 1, 12, tzinfo=timezone(timedelta(hours=2)))
    for days in (0, -400, 3):
        with open_shelf(address, clock=partial(noon.__add__, timedelta(days=days))) as shelf:
            post(shelf, move("receive", RING, 1), key=f"day {days}")
    with open_shelf(address) as shelf:
        entries = shelf.history()
        assert [entry.key for entry in entries] == ["day 0", "day -400", "day 3"]
        assert entries[1].time == datetime(2025, 1, 25, 10, tzinfo=UTC)
        assert {entry.time.utcoffset() for entry in entries} == {timedelta(0)}
        assert [entry.on_hand for entry in entries] == [1, 2, 3]
        shelf.verify()


@pytest.mark.parametrize(
    ("request_", "fields"),
    [
        (Request("", "", "", ()), ["key", "who", "movements"]),
        (Request("k\n", "w" * 201, "\x00", (move("count", RING, 0),)), ["key", "who", "why"]),
        (Request("k", "w", "", (move("issue", RING, 0),)), ["movement 1"]),
        (Request("k", "w", "", (move("count", RING, -1),)), ["movement 1"]),
        (Request("k", "w", "", (move("receive", RING, 1_000_001),)), ["movement 1"]),
        (Request("k", "w", "", (move("reserve", RING, 1),)), ["movement 1"]),
        (Request("k", "w", "", (move("release", RING, 1),)), ["movement 1"]),
        (Request("k", "w", "", (move("issue", RING, 1, reserved=True),)), ["movement 1"]),
        (Request("k", "w", "", (move("scrap", RING, 1, "J", reserved=True),)), ["movement 1"]),
        (Request("k", "w", "", (move("lend", RING, 1),)), ["movement 1"]),  # type: ignore[arg-type]
        (Request("k", "w", "", (move("receive", Part("", "thin"), 1),)), ["movement 1"]),
        (
            Request("k", "w", "", (
                move("receive", Part("ring", "a\ud83d"), 1), move("receive", RING, 1),
                move("receive", Part("ring", "a", bin="x" * 201), 1),
            )),
            ["movement 1", "movement 3"],
        ),
    ],
)  # fmt: skip
def test_what_no_ledger_could_take_is_refused_with_all_its_slips(
    shelf: Shelf, request_: Request, fields: list[str]
) -> None:
    with pytest.raises(InputError) as refused:
        shelf.post(request_)
    assert [problem.field for problem in refused.value.problems] == fields
    assert not isinstance(refused.value, ShelfError)
    assert shelf.revision() == 0


def test_a_backup_is_a_shelf_with_all_of_it(shelf: Shelf, tmp_path: Path) -> None:
    post(stocked(shelf), move("receive", RING, 2), move("issue", RING, 1, "J-1"))
    shelf.backup(tmp_path / "kept.db")
    with open_shelf(tmp_path / "kept.db") as kept:
        assert kept.verify() == shelf.verify()
        assert kept.balances() == shelf.balances()
        assert kept.history() == shelf.history()
        post(kept, move("issue", THIN, 1))
    assert stands(shelf)[0] == 7


def test_a_backup_never_writes_over_a_file(shelf: Shelf, tmp_path: Path) -> None:
    (tmp_path / "kept.db").write_text("mine", encoding="utf-8")
    with pytest.raises(NotAShelfError, match="is there already and is left as it is"):
        shelf.backup(tmp_path / "kept.db")
    assert (tmp_path / "kept.db").read_text(encoding="utf-8") == "mine"


def test_a_shelf_is_never_made_over_another(address: str) -> None:
    with open_shelf(address) as shelf:
        stocked(shelf)
    with pytest.raises(NotAShelfError, match="already and is left as it is"):
        create_shelf(address)
    with open_shelf(address) as shelf:
        assert shelf.verify().entries == 3


def test_where_nothing_is_there_is_no_shelf(nowhere: str) -> None:
    with (
        pytest.raises(NotAShelfError, match=r"make (one|a shelf) first"),
        open_shelf(nowhere),
    ):
        pass


ENTRY = "INSERT INTO entry VALUES"
ROGUE = "INSERT INTO request VALUES (2, 'rogue', '', 'me', '', 4, 4, '')"


@pytest.mark.parametrize(
    "statement",
    [
        *("UPDATE entry SET number = 9", "DELETE FROM entry", "UPDATE lot SET bin = 'C1'"),
        *("DELETE FROM lot", "UPDATE request SET who = 'me'", "DELETE FROM request"),
        "INSERT INTO request VALUES (1, 'again', '', 'me', '', 1, 1, '')",
        "INSERT INTO request VALUES (2, 'gap', '', 'me', '', 5, 5, '')",
        "INSERT INTO request VALUES (3, 'gap', '', 'me', '', 4, 4, '')",
        "INSERT INTO request VALUES (2, 'stock', '', 'me', '', 4, 4, '')",
        f"INSERT INTO lot VALUES ('{THIN.lot_id}', 'a', 'b', '', 'new', '', '')",
        f"{ENTRY} (4, 1, 'receive', '{THIN.lot_id}', '', 1, 1, 0, 8, 3, 0)",
    ],
)  # fmt: skip
def test_no_other_tool_alters_what_is_written(shelf: Shelf, address: str, statement: str) -> None:
    stocked(shelf)
    assert by_another_tool(address, statement) != [""]
    if not is_server(address):  # SQLite has another way to delete
        replacing = statement.replace("INSERT", "INSERT OR REPLACE")
        assert by_another_tool(address, replacing) != [""]
    assert shelf.verify().entries == 3


@pytest.mark.parametrize(
    ("entry", "taken"),
    [
        ("(4, 2, 'issue', 'LOT', '', 4, -4, 0, 3, 3, 0)", True),
        ("(4, 2, 'issue', 'LOT', '', 5, -5, 0, 2, 3, 0)", False),  # what is reserved
        ("(4, 2, 'issue', 'LOT', '', 8, -8, 0, -1, 3, 0)", False),  # more than there are
        ("(4, 2, 'issue', 'LOT', 'J-1', 3, -3, -3, 4, 0, -1)", False),  # more than it holds
        ("(4, 2, 'issue', 'LOT', 'J-1', 3, -3, -3, 4, 0, 0)", False),
        ("(4, 2, 'issue', 'LOT', '', 1, -1, -1, 6, 2, 0)", False),  # reserved for nobody
        ("(4, 2, 'issue', 'LOT', '', 1, -1, 0, 9, 3, 0)", False),  # a false balance
        ("(4, 2, 'issue', 'LOT', '', 1, -1, 0, 6, 0, 0)", False),
        ("(4, 2, 'issue', 'LOT', 'J-1', 1, -1, 0, 6, 3, 3)", False),
        ("(4, 2, 'issue', 'LOT', '', 1, -2, 0, 5, 3, 0)", False),  # a false change
        ("(4, 2, 'issue', 'LOT', '', 0, 0, 0, 7, 3, 0)", False),  # nothing
        ("(4, 2, 'lend', 'LOT', '', 1, -1, 0, 6, 3, 0)", False),
        ("(4, 2, 'count', 'LOT', '', 9, 1, 0, 8, 3, 0)", False),
        ("(4, 2, 'reserve', 'LOT', '', 1, 0, 1, 7, 4, 0)", False),
        ("(5, 2, 'issue', 'LOT', '', 1, -1, 0, 6, 3, 0)", False),  # out of its request
        ("(4, 1, 'issue', 'LOT', '', 1, -1, 0, 6, 3, 0)", False),  # into an older one
        ("(4, 2, 'receive', 'none', '', 1, 1, 0, 1, 0, 0)", False),  # of no lot
    ],
)  # fmt: skip
def test_no_other_tool_takes_a_lot_below_nothing(
    shelf: Shelf, address: str, entry: str, *, taken: bool
) -> None:
    stocked(shelf)
    said = by_another_tool(address, ROGUE, f"{ENTRY} {entry.replace('LOT', THIN.lot_id)}")
    assert said[0] == ""
    assert (said[1] == "") == taken
    with pytest.raises(DamagedShelfError, match="request 2 of"):
        shelf.verify()  # even what the tables take has no link in the chain


def test_no_other_tool_writes_an_entry_of_no_request(shelf: Shelf, address: str) -> None:
    lot = "INSERT INTO lot VALUES ('A', 'ring', 'thin', '', 'new', '', '')"
    entry = f"{ENTRY} (1, 1, 'receive', 'A', '', 1, 1, 0, 1, 0, 0)"
    said = by_another_tool(address, lot, entry)
    assert (said[0], said[1] != "") == ("", True)
    with pytest.raises(DamagedShelfError, match="lot A is not what it was written as"):
        shelf.verify()


@pytest.mark.parametrize(
    "change",
    [
        *("request SET key = 'other'", "request SET at = '2020-01-01T00:00:00.000000+00:00'"),
        *("request SET who = 'me'", "request SET why = 'because'", "request SET last = 4"),
        *("request SET link = 'f'", "lot SET family = 'drum steal'", "lot SET size = 'thick'"),
        *("lot SET thickness = '1'", "lot SET condition = 'used'", "lot SET bin = 'B2'"),
        *("lot SET label = 'x'", "entry SET job = 'J-3' WHERE seq = 3"),
        "entry SET kind = 'return' WHERE seq = 1",
        "entry SET number = 8, change = 8, on_hand = 8 WHERE seq = 1",
        "entry SET held = 1 WHERE seq = 3",
    ],
)  # fmt: skip
def test_what_was_altered_behind_the_guards_is_found(
    shelf: Shelf, address: str, change: str
) -> None:
    stocked(shelf)
    guards = unguarded(address)
    assert not any(by_another_tool(address, *guards, f"UPDATE {change}"))
    with pytest.raises(DamagedShelfError) as found:
        shelf.verify()
    assert any("guard" not in problem.sentence for problem in found.value.problems)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("UPDATE request SET why = 'because' WHERE seq = 4", "request 4 of .* is not what was wri"),
        ("UPDATE request SET link = 'f' WHERE seq = 3", "request 3 of .* is not what was written"),
        ("UPDATE entry SET on_hand = 99 WHERE seq = 6", "request 4 of .* is not what was written"),
        ("UPDATE entry SET number = 2, change = 2, on_hand = 2 WHERE seq = 4", "request 2 of"),
        ("UPDATE lot SET size = '.0700' WHERE family = 'drum ring'", "is not what it was written"),
        ("DELETE FROM lot WHERE family = 'drum ring'", "is of a lot that is not there"),
        ("DELETE FROM entry WHERE seq = 6", "request 4 has lost entries"),
        ("DELETE FROM request WHERE seq = 4", "entry 6 is of no request"),
        ("DELETE FROM request WHERE seq = 3", "request 4 does not follow request 2"),
        ("DELETE FROM request", "entry 1 is of no request"),
    ],
)
def test_a_shelf_whose_last_links_somebody_altered_is_not_opened(
    address: str, change: str, told: str
) -> None:
    with open_shelf(address) as shelf:
        stocked(shelf)
        for nth in range(1, 4):
            post(shelf, move("receive", RING, nth))
    assert not any(by_another_tool(address, *unbound(address), *unguarded(address), change))
    with pytest.raises(DamagedShelfError, match=told) as refused, open_shelf(address):
        pass
    assert all("copy it away, then bring back" in one.sentence for one in refused.value.problems)
    with open_shelf(address, look=False) as shelf, pytest.raises(DamagedShelfError):
        shelf.verify()


def test_a_last_request_that_is_gone_is_missed_by_the_link_that_was_printed(
    address: str,
) -> None:
    with open_shelf(address) as shelf:
        assert shelf.end() == (0, None)
        stocked(shelf)
        before = shelf.end()[1]
        post(shelf, move("receive", RING, 2), move("issue", RING, 1))
        entry, after = shelf.end()
        assert (entry, before and before.number, after and after.number) == (5, 1, 2)
        assert before
        assert after
        printed = [read_link(str(before)), read_link(f" {after.number} : {after.hash.upper()}")]
        assert shelf.verify(printed).requests == 2
    with all_but_the_guards(address):
        gone = ("DELETE FROM entry WHERE request = 2", "DELETE FROM request WHERE seq = 2")
        assert not any(by_another_tool(address, *unbound(address), *gone))
        by_another_tool(address, f"DELETE FROM lot WHERE id = '{RING.lot_id}'")
    with open_shelf(address) as shelf:
        assert shelf.verify().requests == 1, "nothing shows it but what was printed"
        assert shelf.verify(printed[:1]).requests == 1
        with pytest.raises(DamagedShelfError, match=f"link {after} was printed, and the ledger "
                           f"ends at link {before}: what came after it is gone"):  # fmt: skip
            shelf.verify(printed)
        post(shelf, move("receive", RING, 7))
        there = shelf.end()[1]
        with pytest.raises(DamagedShelfError, match=f"and the ledger has {there} in its place"):
            shelf.verify(printed)


@pytest.mark.parametrize(
    "text", ["", "3", "x", "0:9f2c01d7a86b53e4", "3:9f2c01d7", "3:" + "g" * 16]
)
def test_what_is_no_link_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="write it as it is printed, such as 31:9f2c01d7a86b53e4"):
        read_link(text)


def test_what_was_altered_long_ago_is_left_to_be_found_by_verify(address: str) -> None:
    with open_shelf(address) as shelf:
        stocked(shelf)
        for _ in range(LOOKED_AT):
            post(shelf, move("receive", RING, 1))
    altered = "UPDATE request SET why = 'because' WHERE seq = 1"
    assert not any(by_another_tool(address, *unguarded(address), altered))
    with open_shelf(address) as shelf:
        post(shelf, move("receive", RING, 1))
        with pytest.raises(DamagedShelfError, match=r"request 1 of .* is not what was written"):
            shelf.verify()


def test_a_shelf_of_any_length_is_opened(address: str) -> None:
    for _ in range(2 * LOOKED_AT + 2):
        with open_shelf(address) as shelf:
            post(shelf, *(move("receive", RING, 1) for _ in range(70)))
    with open_shelf(address) as shelf:
        assert shelf.verify().requests == 2 * LOOKED_AT + 2


def test_a_request_forged_with_a_link_of_its_own_breaks_the_next(
    shelf: Shelf, address: str
) -> None:
    post(stocked(shelf), move("receive", RING, 1))
    with open_shelf(address) as other:
        database = other._database  # noqa: SLF001 - rows as they are kept
        (first,), entries = sql.requests(database, 0, 1), sql.entries(database, 1, 3)
    forged = link("", first._replace(who="me"), entries, ())
    forge = f"UPDATE request SET who = 'me', link = '{forged}' WHERE seq = 1"
    assert not any(by_another_tool(address, *unguarded(address), forge))
    with pytest.raises(DamagedShelfError, match=r"request 2 of .* is not what was written"):
        shelf.verify()


def test_a_lot_that_came_with_no_request_is_found(shelf: Shelf, address: str) -> None:
    stocked(shelf)
    lot = f"('{OLD.lot_id}', '{OLD.family}', '{OLD.size}', '', 'used', '', '')"
    assert by_another_tool(address, f"INSERT INTO lot VALUES {lot}") == [""]
    with pytest.raises(
        DamagedShelfError, match=r"\(1, 3, 2, 0\) requests, entries, lots and notes are there"
    ):
        shelf.verify()


@pytest.mark.parametrize("cut", ["entry WHERE seq = 3", "entry WHERE seq = 2", "entry"])
def test_entries_cut_out_behind_the_guards_are_found(shelf: Shelf, address: str, cut: str) -> None:
    stocked(shelf)
    assert not any(by_another_tool(address, *unguarded(address), f"DELETE FROM {cut}"))
    with pytest.raises(DamagedShelfError, match="request 1 has lost entries"):
        shelf.verify()


def test_guards_that_are_gone_are_missed(shelf: Shelf, address: str) -> None:
    by_another_tool(address, *unguarded(address))
    with pytest.raises(DamagedShelfError, match="guard"):
        shelf.verify()


def test_a_lot_is_called_the_same_wherever_it_lies() -> None:
    assert THIN.lot_id == Part("drum steel", "thin", Length(1_755_140), bin="B3").lot_id
    assert RING.lot_id != OLD.lot_id
    assert len(THIN.lot_id) == len("ABCD-2345-EFGH")
