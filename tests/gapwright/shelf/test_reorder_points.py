"""Sizes that are used up are listed, and those under their reorder points are short."""

from __future__ import annotations

import csv
import io
from collections import Counter
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gapwright.shelf.listing import on_hand_list
from gapwright.shelf.reorder import set_reorder_point
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Note, Part, Request
from inventory.naming import PartialName
from tests.inventory.shelves import DATABASES, fresh_address

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gapwright.bench import Bench

RING = ("drum ring", ".0700")


def listed(bench: Bench) -> dict[str, dict[str, object]]:
    families = bench.json("list")["families"]
    return {f"{one['family']} {size['size']}": size for one in families for size in one["sizes"]}


@pytest.mark.face
def test_a_size_under_its_reorder_point_is_short(bench: Bench) -> None:
    bench.shelf("add", *RING, "5", "--bin", "C1")
    assert bench.shelf("reorder", *RING, "4") == "drum ring .0700: reorder below 4; 5 free"
    assert "short" not in bench.shelf("list").lower()
    bench.shelf("reserve", *RING, "2", "--job", "J-7")
    told = bench.shelf("list")
    assert "  .0700: 3 free of 5  SHORT\n" in told
    assert told.endswith("\n\nshort: drum ring .0700 (3 free of 5, reorder below 4)")
    size = listed(bench)["drum ring .0700"]
    assert (size["reorder below"], size["short"], size["free"], size["on hand"]) == (4, True, 3, 5)
    assert bench.json("list")["shape"] == "gapwright shelf 2"
    assert bench.shelf("reorder", *RING, "3") == (
        "drum ring .0700: reorder below 3, 4 before; 3 free"
    )
    point = bench.json("reorder", *RING, "6")
    assert point.pop("shelf").endswith("shop.db")
    assert point == {
        "shape": "gapwright shelf reorder 1", "family": "drum ring", "size": ".0700",
        "reorder below": 6, "free": 3, "short": True,
    }  # fmt: skip
    assert bench.shelf("reorder", *RING, "0") == "drum ring .0700: no reorder point any more"
    assert bench.shelf("reorder", *RING, "0") == "drum ring .0700: has no reorder point"
    assert listed(bench)["drum ring .0700"]["reorder below"] is None
    assert "short" not in bench.shelf("list").lower()


def test_a_size_of_which_there_is_none_is_listed_for_its_history_or_reorder_point(
    bench: Bench,
) -> None:
    bench.shelf("add", *RING, "2", "--bin", "C1")
    bench.shelf("issue", *RING, "2")
    bench.shelf("reorder", "drum steel", "thick", "4")
    told = bench.shelf("list")
    assert told.splitlines()[2:] == [
        "drum ring", "  .0700: none", "", "drum steel", "  thick: none  SHORT", "",
        "short: drum steel thick (none, reorder below 4)",
    ]  # fmt: skip
    assert listed(bench)["drum ring .0700"] == {
        "size": ".0700", "on hand": 0, "free": 0, "low": False, "reorder below": None,
        "short": False, "lots": [],
    }  # fmt: skip
    assert bench.shelf("list", "drum steel").endswith("reorder below 4)")
    bench.shelf("reorder", "drum steel", "thick", "0")
    assert listed(bench).keys() == {"drum ring .0700"}


def test_a_reorder_point_is_of_the_size_that_is_meant(bench: Bench) -> None:
    lot = bench.shelf("add", *RING, "2", "--bin", "C1").rpartition(" ")[2]
    bench.shelf("reorder", "Drum Ring", "0.07", "3")
    bench.shelf("reorder", lot, "4")
    assert listed(bench)["drum ring .0700"]["reorder below"] == 4
    assert 'did you mean "drum ring"?' in bench.refused("reorder", "drum rnig", ".0700", "3")
    bench.shelf("reorder", "drum steel", "thick", "4")
    assert 'did you mean "thick"?' in bench.refused("reorder", "drum steel", "thik", "3")
    assert 'did you mean "thick"?' in bench.refused("add", "drum steel", "thik", "3")
    bench.shelf("add", "drum steel", "THICK", "9")
    assert bench.counts()["drum steel thick"] == (9, {})
    bench.shelf("reorder", "drum steel", "thik", "1", "--new")
    assert len(listed(bench)) == 3


@pytest.mark.parametrize(
    "words", [RING, (*RING, "two"), (*RING, "-1"), ("drum ring",), (*RING, "1", "2")]
)
def test_what_is_no_part_and_number_is_refused(bench: Bench, words: tuple[str, ...]) -> None:
    assert "write a family, a size and a number" in bench.refused("reorder", "--", *words)


def test_a_number_no_shelf_holds_and_a_lot_there_is_none_of_are_refused(bench: Bench) -> None:
    told = bench.refused("reorder", *RING, "1000001")
    assert told == "shop.db: found 1000001; write a whole number from 0 to 1000000"
    assert "found no lot" in bench.refused("reorder", "ABCD-ABCD-ABCD", "2")


def test_a_reorder_point_is_posted_once_and_with_who_and_why(bench: Bench) -> None:
    for _ in range(2):
        bench.shelf("reorder", *RING, "4", "--request", "K-1", "--why", "two weeks")
        bench.shelf("reorder", *RING, "4")
    with open_shelf(bench.address) as shelf:
        (note,) = shelf.notes(every=True)
        assert shelf.verify().notes == 1
    assert (note.key, note.who, note.why) == ("K-1", "mary", "two weeks")
    assert "a key of its own" in bench.refused("reorder", *RING, "5", "--request", "K-1")


def test_the_list_is_written_as_a_table(bench: Bench) -> None:
    bench.shelf("add", *RING, "5")
    bench.shelf("reorder", *RING, "6")
    bench.shelf("add", "=steel", "thin", "1")
    bench.shelf("issue", "=steel", "thin")
    bench.shelf("list", "--csv", str(bench.folder / "list.csv"))
    text = (bench.folder / "list.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.reader(io.StringIO(text)))
    assert rows == [
        ["family", "size", "on hand", "free", "reorder below", "short"],
        ["'=steel", "thin", "0", "0", "", "no"],
        ["drum ring", ".0700", "5", "5", "6", "yes"],
    ]


def test_a_reorder_note_of_somebody_else_is_refused_in_one_sentence(bench: Bench) -> None:
    notes = (Note("reorder", "drum ring", "4"), Note("reorder", '["a", "b"]', "many"))
    for note in notes:
        with open_shelf(bench.address) as shelf:
            shelf.post(Request(uuid4().hex, "me", "", (), (note,)))
        code, out, err = bench.run("shelf", "list", bench.address)
        assert (code, out) == (2, "")
        assert "shop.db: its note reorder on " in err
        assert "is not what gapwright writes; try `gapwright shelf verify`" in err
        assert "Traceback" not in err


FAMILIES, SIZES = ("ring", "steel"), (".0600", ".0700", "thick")
steps = st.lists(
    st.tuples(
        st.sampled_from(("reorder", "receive", "count", "reserve", "scrap")),
        st.sampled_from(FAMILIES), st.sampled_from(SIZES), st.integers(0, 5),
    ),
    max_size=25,
)  # fmt: skip


@pytest.mark.parametrize("database", DATABASES)
def test_what_is_short_is_what_a_slate_says(database: str, tmp_path: Path) -> None:
    @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
    @given(steps)
    def holds(done: list[tuple[str, str, str, int]]) -> None:
        on_hand: Counter[tuple[str, str]] = Counter()
        reserved: Counter[tuple[str, str]] = Counter()
        points: dict[tuple[str, str], int] = {}
        known = set()
        with fresh_address(database, tmp_path) as address:
            create_shelf(address)
            for kind, *size, number in done:
                at = (size[0], size[1])
                free = on_hand[at] - reserved[at]
                if kind == "reorder":
                    wanted = PartialName(*at)
                    set_reorder_point(address, wanted, number, Author("mary"))
                    points[at] = number
                    continue
                fits = {"receive": number > 0, "count": number >= reserved[at]}
                if not fits.get(kind, 0 < number <= free):
                    continue
                move = Movement(kind, Part(*at), number, "J-1" * (kind == "reserve"))  # type: ignore[arg-type]
                with open_shelf(address) as shelf:
                    shelf.post(Request(uuid4().hex, "mary", "", (move,)))
                known.add(at)
                on_hand[at] += {"receive": number, "scrap": -number}.get(kind, 0)
                on_hand[at] = number if kind == "count" else on_hand[at]
                reserved[at] += number * (kind == "reserve")
            found = on_hand_list(address).sizes
        points = {at: number for at, number in points.items() if number}
        assert {(one.family, one.size): one.free for one in found} == {
            at: on_hand[at] - reserved[at] for at in known | points.keys()
        }
        assert {(one.family, one.size) for one in found if one.short} == {
            at for at, number in points.items() if on_hand[at] - reserved[at] < number
        }

    holds()
