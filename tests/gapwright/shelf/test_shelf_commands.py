"""The shelf as a person at the bench works it, command by command."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.inventory.shelves import all_but_the_guards, by_another_tool, unguarded

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

RING = ("drum ring", ".0700")
MEASURED = (*RING, "1", "--measured", ".0698 in")
UNIT = """\
length: in
unit:
  families:
    drum ring: {kind: ring, sizes: {A: {thickness: .0600, mark: "1"}, B: .0700}, tolerance: .0010}
    friction: {kind: friction, fixed: .0800}
  packs:
    low drum: {window: .060 to .080, stack: [friction, drum ring]}
"""


def code_of(told: str) -> str:
    return told.rpartition("a new lot, ")[2]


@pytest.mark.face
def test_a_day_at_the_bench(bench: Bench) -> None:
    assert bench.shelf("add", *RING, "4", "--bin", "C1").startswith(
        "drum ring .0700 in C1: 4 received; 4 on hand; a new lot, "
    )
    assert bench.shelf("reserve", *RING, "2", "--job", "J-7") == (
        "drum ring .0700 in C1: 2 reserved for J-7; 4 on hand, 2 reserved"
    )
    assert bench.shelf("release", *RING, "--job", "J-7").endswith(
        "1 released from J-7; 4 on hand, 1 reserved"
    )
    assert bench.shelf("issue", *RING, "1", "--job", "J-7").endswith("1 issued to J-7; 3 on hand")
    assert bench.shelf("issue", *RING).endswith("1 issued; 2 on hand")
    assert bench.shelf("return", *RING, "--job", "J-7").endswith("1 returned from J-7; 3 on hand")
    assert bench.shelf("scrap", *RING, "--why", "bent").endswith("1 scrapped; 2 on hand")
    assert bench.shelf("count", *RING, "2").endswith("2 counted, as the books had it; 2 on hand")
    assert bench.shelf("count", *RING, "1").endswith(
        "1 counted, 1 fewer than the books had; 1 on hand"
    )
    assert bench.shelf("count", *RING, "5").endswith(
        "5 counted, 4 more than the books had; 5 on hand"
    )
    assert bench.counts() == {"drum ring .0700 in C1": (5, {})}
    scrapped = bench.entries()[6]
    assert (scrapped.who, scrapped.why) == ("mary", "bent")
    assert bench.shelf("verify").startswith(
        "shop.db: the chain holds, 10 requests, 10 entries, 1 lot\nits last link is "
    )


def test_anything_left_out_is_found_where_one_lot_can_be_meant(bench: Bench) -> None:
    bench.shelf("add", *RING, "2", "--bin", "C1", "--label", "T-7")
    bench.shelf("add", *RING, "1")
    assert bench.counts() == {"drum ring .0700 in C1": (3, {})}


def test_the_question_goes_back_where_several_lots_can_be_meant(bench: Bench) -> None:
    one = code_of(bench.shelf("add", *RING, "2", "--bin", "C1"))
    two = code_of(bench.shelf("add", *RING, "2", "--bin", "C2"))
    why = bench.refused("issue", *RING)
    assert f"drum ring .0700 in C1 ({one})" in why
    assert f"drum ring .0700 in C2 ({two})" in why
    assert "--bin" in why
    bench.shelf("issue", *RING, "--bin", "C2")
    bench.shelf("issue", two.lower())
    assert "0 free of 0 on hand" in bench.refused("issue", *RING, "--bin", "C2")
    assert "no drum ring .0700 is as said; there is drum ring .0700 in C1" in bench.refused(
        "issue", *RING, "--bin", "C9"
    )
    bench.shelf("issue", *RING, "2")
    assert bench.counts() == {}


def test_what_goes_out_is_what_was_said(bench: Bench) -> None:
    bench.shelf("add", *RING, "2")
    bench.shelf("add", *MEASURED)
    bench.shelf("add", *RING, "1", "--used")
    bench.shelf("add", *RING, "1", "--label", "T-7", "--apart")
    bench.shelf("issue", *RING, "--measured", ".0698 in")
    bench.shelf("issue", *RING, "--used")
    bench.shelf("issue", *RING, "--label", "T-7")
    assert bench.counts() == {"drum ring .0700": (2, {})}


def test_what_comes_in_is_as_sold_and_new_unless_it_is_said(bench: Bench) -> None:
    bench.shelf("add", *MEASURED)
    bench.shelf("add", *RING, "2")
    bench.shelf("add", *RING, "1", "--used")
    bench.shelf("add", *MEASURED)
    bench.shelf("issue", *RING, "--used")
    bench.shelf("return", *RING, "1", "--used")
    bench.shelf("return", *RING, "1", "--used", "--found")
    assert bench.counts() == {
        "drum ring .0700": (2, {}),
        "drum ring .0700 1.773 mm": (2, {}),
        "drum ring .0700 used": (2, {}),
    }


def test_a_lot_of_its_own_is_made_when_asked_for(bench: Bench) -> None:
    bench.shelf("add", *RING, "2", "--bin", "C1")
    assert "a new lot" in bench.shelf("add", *RING, "3", "--apart")
    assert bench.counts() == {"drum ring .0700 in C1": (2, {}), "drum ring .0700": (3, {})}


def test_a_count_asks_rather_than_count_another_lot(bench: Bench) -> None:
    bench.shelf("add", *MEASURED)
    assert "there are others" in bench.refused("count", *RING, "3")
    bench.shelf("count", *RING, "3", "--apart")
    bench.shelf("count", *MEASURED[:2], "0", *MEASURED[3:])
    assert bench.counts() == {"drum ring .0700": (3, {})}


def test_a_count_of_what_moved_since_it_was_looked_at_is_refused(bench: Bench) -> None:
    bench.shelf("add", *RING, "4")
    seen = str(bench.json("list")["entry"])
    bench.shelf("issue", *RING)
    assert "moved since it was looked at" in bench.refused("count", *RING, "4", "--seen", seen)
    bench.shelf("count", *RING, "3", "--seen", "2")


def test_a_family_misspelt_is_doubted_aloud(bench: Bench) -> None:
    bench.shelf("add", *RING, "4")
    told = bench.shelf("add", "low drum ring", ".0700", "1")
    assert told.endswith('a family new to this shelf; was "drum ring" meant?')
    assert 'did you mean "drum ring"?' in bench.refused("issue", "drum rimg", ".0700")
    assert "sizes on hand" in bench.refused("issue", "drum ring", "thick")


@pytest.mark.parametrize(
    ("verb", "words"),
    [
        ("add", (*RING, "2")),
        ("count", (*RING, "3")),
        ("reserve", (*RING, "5", "--job", "J-9")),
        ("release", (*RING, "2", "--job", "J-7")),
        ("issue", (*RING, "7", "--job", "J-7")),
        ("return", (*RING, "2", "--job", "J-7", "--found")),
        ("return", (*RING, "3", "--job", "J-8", "--found")),
        ("return", (*RING, "1", "--job", "J-8")),
        ("scrap", (*RING, "5")),
        ("issue", ("--job", "J-7")),
        ("release", ("--job", "J-7")),
        ("issue", (*RING, "9", "--found")),
    ],
)
def test_the_same_request_twice_is_posted_once(
    bench: Bench, verb: str, words: tuple[str, ...]
) -> None:
    bench.shelf("add", *RING, "8", "--bin", "C1")
    bench.shelf("reserve", *RING, "2", "--job", "J-7")
    bench.shelf("issue", *RING, "1", "--job", "J-8")
    first = bench.shelf(verb, *words, "--request", "K-1")
    posted = bench.entries()
    head, _, rest = bench.shelf(verb, *words, "--request", "K-1").partition("\n")
    assert head.startswith("posted before, ")
    assert rest == first
    assert bench.entries() == posted
    assert "a key of its own" in bench.refused("add", *RING, "1", "--request", "K-1")
    assert "a key of its own" in bench.refused("issue", "--job", "J-8", "--request", "K-1")


def test_a_part_found_that_the_counts_deny_is_corrected_and_issued_together(bench: Bench) -> None:
    bench.shelf("add", *RING, "2", "--bin", "C1")
    bench.shelf("reserve", *RING, "2", "--job", "J-7")
    assert bench.refused("issue", *RING).splitlines() == [
        "shop.db: drum ring .0700 in C1: 1 to issue, 0 free of 2 on hand; reserved: 2 for J-7",
        "shop.db: if it is in your hand all the same, issue it with --found",
    ]
    told = bench.shelf("issue", *RING, "--found")
    assert told == (
        "drum ring .0700 in C1: 3 counted, 1 more than the books had; 3 on hand, 2 reserved\n"
        "drum ring .0700 in C1: 1 issued; 2 on hand, 2 reserved"
    )
    assert [entry.key for entry in bench.entries()[-2:]] == [bench.entries()[-1].key] * 2


def test_a_return_of_more_than_went_out_is_refused_with_both_figures(bench: Bench) -> None:
    bench.shelf("add", *RING, "5", "--bin", "C1")
    assert bench.refused("return", *RING, "--job", "J-7").splitlines() == [
        "shop.db: drum ring .0700: 1 to return from J-7, none went out to it",
        "shop.db: if it is in your hand all the same, return it with --found",
    ]
    bench.shelf("issue", *RING, "2", "--job", "J-7")
    bench.shelf("return", *RING, "1", "--job", "J-7", "--used")
    assert bench.refused("return", *RING, "2", "--job", "J-7").startswith(
        "shop.db: drum ring .0700: 2 to return from J-7, 2 went out to it and 1 came back\n"
    )
    assert "1 to return from J-8, none went out" in bench.refused("return", *RING, "--job", "J-8")
    assert "2 to return, 2 went out and 1 came back" in bench.refused("return", *RING, "2")


def test_what_comes_back_and_nobody_can_explain_is_counted(bench: Bench) -> None:
    bench.shelf("add", *RING, "5", "--bin", "C1")
    bench.shelf("issue", *RING, "2", "--job", "J-7")
    assert bench.shelf("return", *RING, "3", "--job", "J-7", "--found") == (
        "drum ring .0700 in C1: 4 counted, 1 more than the books had; 4 on hand\n"
        "drum ring .0700 in C1: 2 returned from J-7; 6 on hand"
    )
    told = bench.shelf("return", *RING, "1", "--job", "J-7", "--used", "--found")
    assert told.startswith(
        "drum ring .0700 used: 1 counted, 1 more than the books had; 1 on hand; a new lot, "
    )
    bench.shelf("issue", *RING, "--used", "--job", "J-7")
    assert bench.shelf("return", *RING, "--job", "J-7", "--used", "--found") == (
        "drum ring .0700 used: 1 returned from J-7; 1 on hand"
    )


def test_what_the_counts_know_is_not_corrected(bench: Bench) -> None:
    bench.shelf("add", *RING, "2")
    assert bench.shelf("issue", *RING, "2", "--found").endswith("2 issued; 0 on hand")
    assert bench.shelf("issue", *RING, "--found").startswith("drum ring .0700: 1 counted, 1 more")
    assert "a new lot" in bench.shelf("issue", "tail shim", ".0100", "--found")


def test_a_job_takes_its_own_first(bench: Bench) -> None:
    bench.shelf("add", *RING, "5")
    bench.shelf("reserve", *RING, "2", "--job", "J-7")
    told = bench.shelf("issue", *RING, "3", "--job", "J-7").splitlines()
    assert [line.partition(": ")[2] for line in told] == [
        "2 issued to J-7; 3 on hand", "1 issued to J-7; 2 on hand",
    ]  # fmt: skip


def test_all_of_a_job_goes_out_or_back_in_one_request(bench: Bench) -> None:
    for size in (".0600", ".0700", ".0780"):
        bench.shelf("add", "drum ring", size, "2")
        bench.shelf("reserve", "drum ring", size, "--job", "J-7")
        bench.shelf("reserve", "drum ring", size, "--job", "J-8")
    bench.shelf("issue", "--job", "J-7")
    bench.shelf("release", "--job", "J-8")
    assert {on_hand for on_hand, _ in bench.counts().values()} == {1}
    assert not any(holders for _, holders in bench.counts().values())
    assert len({entry.key for entry in bench.entries()[-6:]}) == 2
    assert 'nothing is reserved for "J-7"' in bench.refused("issue", "--job", "J-7")


@pytest.mark.parametrize(
    ("verb", "words"),
    [
        ("add", ()),
        ("add", RING),
        ("add", ("drum ring",)),
        ("add", ("drum ring", " ", "2")),
        ("add", (*RING, "two")),
        ("add", (*RING, "2", "3")),
        ("add", (*RING, "-1")),
        ("count", RING),
        ("count", ("ABCD-ABCD-ABCD",)),
        ("issue", ("drum ring",)),
        ("issue", ("ABCD-ABCD-ABCD", "1", "2")),
    ],
)  # fmt: skip
def test_words_that_are_no_part_and_number_are_refused(
    bench: Bench, verb: str, words: tuple[str, ...]
) -> None:
    assert "write a family, a size and a number" in bench.refused(verb, "--", *words)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("reserve", *RING), "say for which job"),
        (("add", *RING, "0"), "write a whole number from 1"),
        (("add", *RING, "2", "--measured", ".0698"), "add --lengths in, mm or thou"),
        (("add", *RING, "2", "--measured", "1,68", "--lengths", "in"), "taken in millimetres only"),
        (("add", *RING, "2", "--measured", "66 in"), "is no thickness for a part"),
        (("add", *RING, "2", "--bin", "a\nb"), "write it in one line"),
        (("issue", "ABCD-ABCD-ABCD"), 'found no lot "ABCD-ABCD-ABCD"'),
        (("issue", *RING, "3"), "3 to issue, 2 free of 2 on hand"),
    ],
)  # fmt: skip
def test_what_no_shelf_can_take_is_refused(bench: Bench, words: tuple[str, ...], why: str) -> None:
    bench.shelf("add", *RING, "2")
    assert why in bench.refused(*words)


@pytest.mark.parametrize(
    ("words", "called"),
    [
        (("drum ring", "B", "1"), "drum ring B"),
        (("drum ring", "1", "1"), "drum ring A"),
        (("drum ring", ".0700", "1"), "drum ring B"),
        (("drum ring", ".0698", "1"), "drum ring B 1.773 mm"),
        (("drum ring", "B", "1", "--measured", "1.773 mm"), "drum ring B 1.773 mm"),
    ],
)
def test_a_size_is_called_as_the_unit_calls_it(
    bench: Bench, words: tuple[str, ...], called: str
) -> None:
    unit = bench.write("unit.yaml", UNIT)
    bench.shelf("add", *words, "--unit", unit)
    assert bench.counts() == {called: (1, {})}


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("drum rnig", "B", "1"), 'did you mean "drum ring"?'),
        (("friction", "B", "1"), "families drawn from the shelf: drum ring"),
        (("drum ring", "C", "1"), "the sizes of drum ring are"),
        (("drum ring", "B", "1", "--measured", ".0600 in"), "is the thickness of A, not of B"),
        (("drum ring", "B", "1", "--measured", "60 mm"), "is no thickness for a ring"),
    ],
)
def test_what_the_unit_does_not_know_is_refused(
    bench: Bench, words: tuple[str, ...], why: str
) -> None:
    unit = bench.write("unit.yaml", UNIT)
    assert why in bench.refused("add", *words, "--unit", unit)


def test_a_unit_file_that_is_wrong_is_told_in_full(bench: Bench) -> None:
    unit = bench.write("unit.yaml", UNIT.replace("kind: ring", "kind: rnig").replace(".080,", "x,"))
    why = bench.refused("add", *RING, "1", "--unit", unit)
    assert 'unit.yaml:4: unit.families.drum ring.kind: found "rnig"; did you mean "ring"?' in why
    assert "unit.yaml:7" in why
    none = bench.write("none.yaml", "shelf: {}")
    assert "this file holds no unit" in bench.refused("add", *RING, "1", "--unit", none)


def test_the_list_groups_by_family_and_size(bench: Bench) -> None:
    bench.shelf("add", *RING, "4", "--bin", "C2")
    bench.shelf("add", "drum ring", ".0700", "1", "--used", "--measured", ".0698 in", "--bin", "C1")
    bench.shelf("reserve", *RING, "3", "--bin", "C2", "--job", "J-7")
    bench.shelf("add", "drum steel", "thin", "1")
    bench.shelf("add", "drum steel", "thick", "2")
    bench.shelf("scrap", "drum steel", "thick", "2")
    told = bench.shelf("list", "--lengths", "in")
    codes = [line.split()[-1] for line in told.splitlines() if line.startswith("    ")]
    shown = told.replace(" " * 14, " CODE").splitlines()
    assert shown[0] == f"shop.db: 6 on hand, 3 reserved, as of entry 6, link {bench.link()}"
    assert [line.split("  ")[1] for line in shown if line.startswith("  ") and line[2] != " "] == [
        ".0700: 2 free of 5", "thick: none", "thin: 1 free",
    ]  # fmt: skip
    assert "       1  C1  0.0698 in  used  " in told
    assert "  3 for J-7" in told
    assert len(codes) == 3
    assert bench.shelf("list", "drum steel").count("\n") == 5
    assert 'did you mean "drum ring"?' in bench.refused("list", "drum rnig")


def test_the_list_marks_what_runs_low(bench: Bench) -> None:
    unit = bench.write("unit.yaml", UNIT)
    bench.shelf("add", "drum ring", "B", "2")
    bench.shelf("add", "shim", ".0100", "1")
    bench.shelf("scrap", "shim", ".0100")
    told = bench.shelf("list", "--low", "2", "--unit", unit)
    assert "  A: none  LOW" in told
    assert "  B: 2 free\n" in told
    assert told.endswith("fewer than 2 free: drum ring A, shim .0100")
    assert bench.shelf("list").endswith("\n\nshim\n  .0100: none")
    assert bench.shelf("list", "drum ring", "--low", "1").endswith("fewer than 1 free: none")


def test_history_is_told_in_order_and_as_asked(bench: Bench) -> None:
    code = code_of(bench.shelf("add", *RING, "4", "--why", "box 12"))
    bench.shelf("add", "drum ring", ".0600", "4")
    bench.shelf("add", "shim", ".0100", "4")
    bench.shelf("issue", *RING, "--job", "J-7", "--who", "joe")
    *lines, last = bench.shelf("history").splitlines()
    assert [line.split()[0] for line in lines] == ["1", "2", "3", "4"]
    assert last == f"shop.db: 4 entries; its last link is {bench.link()}"
    assert [one["entry"] for one in bench.json("history", "drum ring")["entries"]] == [1, 2, 4]
    assert [one["entry"] for one in bench.json("history", *RING)["entries"]] == [1, 4]
    assert [one["entry"] for one in bench.json("history", code)["entries"]] == [1, 4]
    (issued,) = bench.json("history", "--job", "J-7")["entries"]
    assert (issued["who"], issued["kind"], issued["change"]) == ("joe", "issue", -1)
    assert "box 12" in bench.shelf("history", code)
    assert "nothing moved that is as asked" in bench.shelf("history", "washer")


def test_who_did_it_is_asked_for_where_nobody_knows(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("GAPWRIGHT_WHO")
    monkeypatch.setattr("getpass.getuser", lambda: "login")
    bench.shelf("add", *RING, "1")
    assert bench.entries()[-1].who == "login"

    def nobody() -> str:
        raise KeyError

    monkeypatch.setattr("getpass.getuser", nobody)
    assert "say who it is: --who mary" in bench.refused("add", *RING, "1")
    bench.shelf("add", *RING, "1", "--who", "joe")


@pytest.mark.face
def test_every_shape_is_named_and_has_its_keys(bench: Bench) -> None:
    posted = bench.json("add", *RING, "4", "--measured", "1.77 mm", "--bin", "C1")
    assert posted.keys() == {"shape", "shelf", "again", "new lot", "entries"}
    assert posted["entries"][0].keys() == {
        "entry", "time", "request", "who", "why", "kind", "part", "number", "job", "of reserved",
        "change", "on hand", "reserved", "link",
    }  # fmt: skip
    part = posted["entries"][0]["part"]
    assert part["thickness"] == {"nm": 1_770_000, "shown": "1.77 mm"}
    assert part.keys() == {"code", "family", "size", "thickness", "condition", "bin", "lot"}
    told = bench.json("list", "--low", "5")
    assert told.keys() == {"shape", "shelf", "entry", "last link", "families"}
    (size,) = told["families"][0]["sizes"]
    assert size.keys() == {"size", "on hand", "free", "low", "reorder below", "short", "lots"}
    assert size["low"] is True
    assert size["lots"][0].keys() == part.keys() | {"on hand", "free", "reserved"}
    assert bench.json("verify")["entries"] == 1
    shapes = [posted["shape"], told["shape"], bench.json("history")["shape"]]
    shapes.append(bench.json("verify")["shape"])
    assert shapes == [
        "gapwright shelf posted 1", "gapwright shelf 2", "gapwright shelf history 1",
        "gapwright shelf verify 1",
    ]  # fmt: skip


def test_a_broken_chain_is_told_with_where_it_breaks(bench: Bench) -> None:
    for _ in range(3):
        bench.shelf("add", *RING, "1")
    slip = "UPDATE request SET who = 'somebody' WHERE seq = 2"
    assert not any(by_another_tool(bench.address, *unguarded(bench.address), slip))
    code, out, err = bench.run("shelf", "verify", bench.address)
    assert (code, out) == (2, "")
    assert "request 2 of " in err
    assert "is not what was written" in err


def test_every_listing_has_the_last_link_and_verify_holds_it_against_the_ledger(
    bench: Bench,
) -> None:
    assert bench.json("list")["last link"] is None
    assert "link" not in bench.shelf("list") + bench.shelf("history") + bench.shelf("verify")
    bench.shelf("add", *RING, "4")
    bench.shelf("add", *RING, "2")
    link = bench.link()
    whole = bench.json("verify")
    assert link == f"{whole['requests']}:{whole['link'][:16]}"
    assert bench.json("list")["last link"] == {"number": 2, "hash": whole["link"]}
    assert bench.json("history")["last link"] == {"number": 2, "hash": whole["link"]}
    assert bench.shelf("list").splitlines()[0].endswith(f", link {link}")
    assert bench.shelf("history").splitlines()[-1] == f"shop.db: 2 entries; its last link is {link}"
    assert bench.shelf("history", "--job", "J-9").endswith(f"; its last link is {link}")
    labels = bench.folder / "labels.html"
    bench.shelf("labels", "-o", str(labels))
    assert f"as of link {link}" in labels.read_text(encoding="utf-8")
    bench.shelf("add", *RING, "1")
    assert bench.shelf("verify", "--link", link, "--link", bench.link()).splitlines()[2:] == [
        f"it holds link {link}, as it was printed",
        f"it holds link {bench.link()}, as it was printed",
    ]
    gone = bench.link()
    with all_but_the_guards(bench.address):
        cut = ("DELETE FROM entry WHERE request = 3", "DELETE FROM request WHERE seq = 3")
        assert not any(by_another_tool(bench.address, *cut))
    assert "the chain holds, 2 requests" in bench.shelf("verify", "--link", link)
    assert bench.refused("verify", "--link", link, "--link", gone) == (
        f"shop.db: link {gone} was printed, and the ledger ends at link {link}: what came after it "
        "is gone"
    )
    assert bench.refused("verify", "--link", "2") == (
        '--link: found "2"; write it as it is printed, such as 31:9f2c01d7a86b53e4'
    )


def test_nothing_goes_on_over_a_row_that_somebody_altered(bench: Bench) -> None:
    bench.shelf("add", *RING, "4")
    bench.shelf("add", *RING, "2")
    altered = "UPDATE entry SET on_hand = 60 WHERE seq = 2"
    with all_but_the_guards(bench.address):
        assert not any(by_another_tool(bench.address, altered))
    for words in (
        ("list",), ("history",), ("add", *RING, "1"), ("issue", *RING),
        ("export", str(bench.folder / "a.csv")), ("labels", "-o", str(bench.folder / "a.html")),
    ):  # fmt: skip
        verb, *more = words
        code, out, err = bench.run("shelf", verb, bench.address, *more)
        assert (code, out) == (2, "")
        assert "request 2 of " in err
        assert "is not what was written; copy it away, then bring back a backup" in err
    code, _, err = bench.run("shelf", "verify", bench.address)
    assert (code, len(err.splitlines())) == (2, 2)
    assert "entry 2 does not follow from those before it" in err


def test_a_shelf_is_made_once_and_not_over_anything(bench: Bench) -> None:
    assert "is there already and is left as it is" in bench.refused("init")
    code, _, err = bench.run("shelf", "list", str(bench.folder / "none.db"))
    assert (code, err) == (
        2, "none.db: there is no such file; make a shelf first, or mend the name",
    )  # fmt: skip
