"""What a shelf notes beside its movements, and a shelf of before it could, on both databases."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

import pytest

from inventory import open_shelf, sql
from inventory.chain import LOOKED_AT, link
from inventory.movements import MOST_WRITTEN, Note, Request
from inventory.refusals import DamagedShelfError, OtherRequestError, ShelfError, ShortShelfError
from specs.errors import InputError
from specs.files.shelf_address import is_server
from tests.inventory.shelves import (
    RING,
    ROWS_1,
    THICK,
    THIN,
    all_but_the_guards,
    by_another_tool,
    make_version_1,
    move,
    post,
    unbound,
    unguarded,
)

if TYPE_CHECKING:
    from inventory import Shelf

PROMISE, LATER = Note("promise", "J-1", '{"on":"2031-04-02"}'), Note("promise", "J-1", "later")
OTHER, UNIT = Note("promise", "J-2", "薄い\nö"), Note("unit", "unit.yaml", "")


def noted(shelf: Shelf, *, every: bool = False) -> list[Note]:
    return [one.note for one in shelf.notes(every=every)]


def promised(shelf: Shelf) -> Shelf:
    """Parts, and a promise with what it reserves; a promise alone; a unit with a later promise."""
    post(shelf, move("receive", THIN, 7))
    post(shelf, move("reserve", THIN, 2, "J-1"), PROMISE, key="J-1")
    post(shelf, OTHER)
    post(shelf, UNIT, LATER)
    return shelf


def test_a_note_comes_back_as_written_with_who_wrote_it_and_when(address: str) -> None:
    noon = datetime(2031, 4, 2, 12, tzinfo=UTC)
    with open_shelf(address, clock=lambda: noon) as shelf:
        promised(shelf)
        ends = shelf.end()[1]
        first, *_, last = shelf.notes(every=True)
    assert (first.number, first.time, first.key, first.who, first.why) == (
        1, noon, "J-1", "mary", "as asked",
    )  # fmt: skip
    assert (first.note, last.note, last.number) == (PROMISE, LATER, 4)
    assert ends
    assert last.link == ends.hash


def test_the_last_note_of_a_kind_about_one_thing_stands(shelf: Shelf) -> None:
    promised(shelf)
    assert noted(shelf) == [OTHER, UNIT, LATER]
    assert noted(shelf, every=True) == [PROMISE, OTHER, UNIT, LATER]
    assert [one.note for one in shelf.notes("promise")] == [OTHER, LATER]
    assert [one.note for one in shelf.notes(about="J-1")] == [LATER]
    assert [one.note for one in shelf.notes("promise", "J-1", every=True)] == [PROMISE, LATER]
    assert shelf.notes("closed") == shelf.notes("unit", "J-1") == ()


def test_notes_alone_move_nothing_and_are_a_link_of_their_own(shelf: Shelf) -> None:
    promised(shelf)
    before, balances = shelf.end(), shelf.balances()
    receipt = shelf.post(Request("note", "mary", "", (), (PROMISE,)), seen=0)
    assert (receipt.first, receipt.last, receipt.again) == (3, 2, False)
    after = shelf.end()
    assert before[1]
    assert after[1]
    assert (after[0], after[1].number, shelf.balances()) == (2, before[1].number + 1, balances)
    post(shelf, move("issue", THIN, 1))
    assert shelf.history()[-1].number == 3
    assert shelf.verify([before[1], after[1]]).notes == 5


def test_notes_and_movements_are_posted_together_or_not_at_all(shelf: Shelf) -> None:
    promised(shelf)
    with pytest.raises(ShortShelfError):
        post(shelf, move("reserve", THIN, 6, "J-3"), Note("promise", "J-3", "all of them"))
    assert not shelf.notes("promise", "J-3")
    assert (shelf.verify().requests, shelf.revision()) == (4, 2)


@pytest.mark.parametrize(
    ("moves", "notes", "named"),
    [
        ((move("reserve", THIN, 2, "J-1"),), (), "notes"),
        ((move("reserve", THIN, 2, "J-1"),), (LATER,), "notes"),
        ((move("reserve", THIN, 2, "J-1"),), (PROMISE, UNIT), "notes"),
        ((), (PROMISE,), "movements"),
        ((move("reserve", THIN, 1, "J-1"),), (LATER,), "movements"),
    ],
)
def test_a_key_stands_for_its_notes_too(
    shelf: Shelf, moves: tuple[Note, ...], notes: tuple[Note, ...], named: str
) -> None:
    promised(shelf)
    with pytest.raises(OtherRequestError, match=f"with other {named}; give this request a key"):
        post(shelf, *moves, *notes, key="J-1")
    assert post(shelf, move("reserve", THIN, 2, "J-1"), PROMISE, key="J-1") == 2
    assert noted(shelf, every=True) == [PROMISE, OTHER, UNIT, LATER]


@pytest.mark.parametrize(
    ("note", "sentence"),
    [
        (Note("", "J-1", ""), "a note has a kind and says what it is about"),
        (Note("promise", " ", ""), "a note has a kind and says what it is about"),
        (Note("promise", "J\n1", ""), "write it in one line of at most 200 readable signs"),
        (Note("p" * 201, "J-1", ""), "write it in one line of at most 200 readable signs"),
        (Note("promise", "J-1", "a\0b"), "a note is text without the sign of number 0"),
        (Note("promise", "J-1", "a\ud83d"), "a note is text"),
        (Note("promise", "J-1", "a" * (MOST_WRITTEN + 1)), "1000001 characters; a note has at mo"),
    ],
)
def test_a_note_no_ledger_could_keep_is_refused(shelf: Shelf, note: Note, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence) as refused:
        post(shelf, UNIT, note)
    assert [problem.field for problem in refused.value.problems] == ["note 2"]
    assert not shelf.notes()


def test_the_longest_note_is_kept_and_copied(shelf: Shelf, tmp_path: Path) -> None:
    longest = Note("promise", "J-1", "ä" * MOST_WRITTEN)
    post(shelf, longest)
    shelf.backup(tmp_path / "kept.db")
    with open_shelf(tmp_path / "kept.db") as kept:
        assert noted(kept) == [longest]


def test_a_backup_has_all_notes(shelf: Shelf, tmp_path: Path) -> None:
    promised(shelf).backup(tmp_path / "kept.db")
    with open_shelf(tmp_path / "kept.db") as kept:
        assert kept.notes(every=True) == shelf.notes(every=True)
        assert kept.verify() == shelf.verify()


NOTE = "INSERT INTO note VALUES"


@pytest.mark.parametrize(
    "statement",
    [
        *("UPDATE note SET text = 'x'", "DELETE FROM note", "DELETE FROM note WHERE seq = 4"),
        f"{NOTE} (4, 4, 'promise', 'J-1', 'x')",
        f"{NOTE} (6, 4, 'promise', 'J-1', 'x')",
        f"{NOTE} (5, 3, 'promise', 'J-1', 'x')",
        f"{NOTE} (5, 5, 'promise', 'J-1', 'x')",
        f"{NOTE} (5, 4, '', 'J-1', 'x')",
        f"{NOTE} (5, 4, 'promise', '', 'x')",
        f"{NOTE} (5, 4, 'promise', 'J-1', NULL)",
    ],
)
def test_no_other_tool_alters_a_note_or_puts_one_between(
    shelf: Shelf, address: str, statement: str
) -> None:
    promised(shelf)
    assert by_another_tool(address, statement) != [""]
    if not is_server(address):
        replacing = statement.replace("INSERT", "INSERT OR REPLACE")
        assert by_another_tool(address, replacing) != [""]
    assert shelf.verify().notes == 4


ALTERED = [
    ("UPDATE note SET text = 'x' WHERE seq = 1", "request 2 of"),
    ("UPDATE note SET about = 'J-9' WHERE seq = 2", "request 3 of"),
    ("UPDATE note SET kind = 'closed' WHERE seq = 4", "request 4 of"),
    ("UPDATE note SET request = 3 WHERE seq = 1", "request 2 of"),
    ("UPDATE note SET seq = 9 WHERE seq = 4", "request 4 of"),
    ("DELETE FROM note WHERE seq = 1", "request 2 of"),
    ("DELETE FROM note WHERE seq = 3", "request 4 of"),
    ("DELETE FROM note", "request 2 of"),
    (f"{NOTE} (5, 4, 'promise', 'J-1', 'x')", "request 4 of"),
    (f"{NOTE} (5, 1, 'promise', 'J-1', 'x')", "request 1 of"),
]


@pytest.mark.parametrize(("change", "told"), ALTERED)
def test_a_note_altered_behind_the_guards_is_found(address: str, change: str, told: str) -> None:
    with open_shelf(address) as shelf:
        promised(shelf)
    with all_but_the_guards(address):
        assert by_another_tool(address, change) == [""]
    with (
        pytest.raises(DamagedShelfError, match=f"{told}.*is not what was written"),
        open_shelf(address),
    ):
        pass
    with open_shelf(address, look=False) as shelf:
        with pytest.raises(DamagedShelfError, match=f"{told}.*is not what was written"):
            shelf.verify()
        for _ in range(LOOKED_AT):
            post(shelf, UNIT)
    with open_shelf(address) as shelf, pytest.raises(DamagedShelfError, match=told):
        shelf.verify()  # what is long ago is found by working it all through


def test_a_note_of_no_request_is_found(address: str) -> None:
    with open_shelf(address) as shelf:
        promised(shelf)
    change = f"{NOTE} (5, 5, 'promise', 'J-1', 'x')"
    with all_but_the_guards(address):
        assert not any(by_another_tool(address, *unbound(address), change)[-1:])
    with pytest.raises(DamagedShelfError, match="a note is of request 5"), open_shelf(address):
        pass
    with (
        open_shelf(address, look=False) as shelf,
        pytest.raises(DamagedShelfError, match=r"\(4, 2, 1, 5\) requests, entries, lots and notes"),
    ):
        shelf.verify()


def test_what_another_tool_notes_beside_the_last_request_is_missed_by_its_link(
    shelf: Shelf, address: str
) -> None:
    promised(shelf)
    assert by_another_tool(address, f"{NOTE} (5, 4, 'promise', 'J-1', 'x')") == [""]
    with pytest.raises(DamagedShelfError, match="request 4 of"):
        shelf.verify()


def test_guards_of_notes_that_are_gone_are_missed(shelf: Shelf, address: str) -> None:
    gone = [one for one in unguarded(address) if "note" in one]
    assert not any(by_another_tool(address, *gone))
    with pytest.raises(DamagedShelfError, match="guard"):
        shelf.verify()


def test_a_request_without_notes_is_linked_as_before_there_were_notes() -> None:
    row = sql.RequestRow(1, "k", "", "mary", "", 1, 0, "")
    note = sql.NoteRow(1, 1, "promise", "J-1", "")
    assert link("", row, (), ()) == link("", row, [], [])
    assert len({link("", row, (), ()), link("", row, (), [note]), link("", row, [note], ())}) == 3  # type: ignore[list-item]


def test_a_shelf_of_version_1_is_brought_up_to_date_with_its_links_still_true(
    nowhere: str, tmp_path: Path
) -> None:
    make_version_1(nowhere)
    written = [line for line in ROWS_1.splitlines() if line.startswith("INSERT INTO request")]
    links = [line.rsplit("'", 2)[1] for line in written]
    with open_shelf(nowhere) as shelf:
        verified = shelf.verify()
        assert (verified.requests, verified.entries, verified.lots, verified.notes) == (7, 12, 4, 0)
        assert verified.link == links[-1]
        assert list(dict.fromkeys(one.link for one in shelf.history())) == links
        stood = {one.part: (one.on_hand, one.holders) for one in shelf.balances()}
        assert (stood[THIN], stood[THICK]) == ((4, ()), (3, (("J-2", 2),)))
        ring = shelf.out("J-1")["drum ring", ".0600"]
        assert (ring.issued, ring.back, ring.number) == (1, 2, 0), "more came back than went out"
        promised(shelf)
        post(shelf, move("scrap", RING, 1))
        assert shelf.verify().notes == 4
        shelf.backup(tmp_path / "kept.db")
    with open_shelf(tmp_path / "kept.db") as kept:
        assert kept.verify().requests == 12
    if not is_server(nowhere):
        (before,) = Path(nowhere).parent.glob("*.before-2")
        with open_shelf(before) as shelf:
            assert shelf.verify() == verified
        return
    count = "SELECT 1 / (SELECT (count(*) = 7)::int FROM request_before_2)"
    assert by_another_tool(nowhere, count) == [""]


def test_an_upgrade_that_fails_halfway_leaves_the_shelf_of_before(nowhere: str) -> None:
    from inventory import postgres_door, sqlite_door

    make_version_1(nowhere)
    before = b"" if is_server(nowhere) else Path(nowhere).read_bytes()
    door = postgres_door if is_server(nowhere) else sqlite_door
    broken = (door.STEPS[0], door.STEPS[1] + "\nCREATE TABLE note (n integer);\n")
    with patch.object(door, "STEPS", broken), pytest.raises(ShelfError):
        open_shelf(nowhere).__enter__()
    if is_server(nowhere):
        assert "does not exist" in by_another_tool(nowhere, "SELECT 1 FROM note")[0]
    else:
        assert Path(nowhere).read_bytes() == before
    with open_shelf(nowhere) as shelf:
        assert shelf.verify().requests == 7
        post(shelf, PROMISE)
