"""One size has one name on a shelf, and a name that is nearly a known one is doubted."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING
from unittest.mock import patch

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gapwright.shelf.names import AS_NEW
from inventory import open_shelf
from inventory.movements import Note, Request
from specs.findings import misspelt

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

RING, STEEL = ("drum ring", ".0700"), ("drum steel", "thick")
UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    drum ring: {kind: ring, sizes: {A: {thickness: .0600, mark: "1"}, B: .0700}, tolerance: .0010}
    drum steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    friction: {kind: friction, fixed: .0800}
  packs:
    low drum: {window: .060 to .080, stack: [friction, drum steel, drum ring]}
"""


def said_on_a_terminal(bench: Bench, answers: list[bool], *words: str) -> tuple[list[str], str]:
    """Run a command on a terminal and answer its questions; gives these, and what it printed."""
    asked: list[str] = []

    def confirm(question: str, *, err: bool) -> bool:
        assert err
        asked.append(question)
        return answers.pop(0)

    with (
        patch.object(click, "confirm", confirm),
        patch("gapwright.cli.shelf.on_a_terminal", return_value=True),
    ):
        verb, *more = words
        _, out, err = bench.run("shelf", verb, bench.address, *more)
    assert not answers
    return asked, out + err


def units(bench: Bench) -> list[Note]:
    with open_shelf(bench.address) as shelf:
        return [one.note for one in shelf.notes("unit", every=True)]


@pytest.mark.parametrize("size", [".070", "0.0700", "0.07", " .0700", ".07000"])
def test_a_number_written_otherwise_is_the_same_size(bench: Bench, size: str) -> None:
    bench.shelf("add", *RING, "2", "--bin", "C1")
    bench.shelf("add", RING[0].upper(), size, "1")
    bench.shelf("issue", RING[0], size, "--job", "J-7")
    bench.shelf("return", RING[0], size, "--job", "J-7")
    assert bench.counts() == {"drum ring .0700 in C1": (3, {})}
    assert len(bench.json("history", RING[0], size)["entries"]) == 4


def test_a_name_written_otherwise_is_the_same(bench: Bench) -> None:
    bench.shelf("add", *STEEL, "2")
    bench.shelf("count", "Drum  Steel", "THICK", "5")
    assert bench.counts() == {"drum steel thick": (5, {})}


def test_a_name_that_has_lots_of_its_own_is_kept(bench: Bench) -> None:
    """As on shelves from before, which kept .070 and .0700 apart."""
    with open_shelf(bench.address) as shelf:
        from inventory.movements import Movement, Part

        moves = tuple(Movement("receive", Part("drum ring", size), 1) for size in (".070", ".0700"))
        shelf.post(Request("old", "we", "", moves))
    bench.shelf("add", "drum ring", ".070", "1")
    bench.shelf("issue", "drum ring", ".0700")
    assert bench.counts() == {"drum ring .070": (2, {})}
    bench.shelf("add", "drum ring", "0.07", "1")
    assert bench.counts() == {"drum ring .070": (3, {})}, "the one with parts on hand"


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("drum steel", "thik"), 'found "thik"; did you mean "thick" or "thin"?'),
        (("drum stel", "thick"), 'found "drum stel"; did you mean "drum steel"?'),
        (("drumsteel", "thick"), 'found "drumsteel"; did you mean "drum steel"?'),
        (("drum steels", "huge"), 'found "drum steels"; did you mean "drum steel"?'),
    ],
)
def test_a_name_nearly_known_is_refused_with_the_near_names(
    bench: Bench, words: tuple[str, ...], why: str
) -> None:
    bench.shelf("add", *STEEL, "2")
    bench.shelf("add", STEEL[0], "thin", "2")
    for verb in ("add", "count", "return", "issue", "reserve", "scrap"):
        more = ["--found"] if verb == "return" else []
        told = bench.refused(verb, *words, "1", "--job", "J-7", *more)
        assert told.startswith(f"shop.db: {why}")
        assert told.endswith("--new") == (verb in ("add", "count", "return"))
    bench.shelf("add", *words, "1", "--new")
    bench.shelf("add", *words, "1")
    assert bench.counts()[" ".join(words)] == (2, {})


@pytest.mark.parametrize(
    ("known", "new"),
    [
        (("ring 1", "thin"), ("ring 2", "thin")),
        (("A ring", "thin"), ("B ring", "thin")),
        (("low drum ring", "thin"), ("high drum ring", "thin")),
        (("ring", "thin"), ("ring", "thick")),
        (("ring", ".0700"), ("ring", ".0710")),
        (("ring", ".0700"), ("ring", ".700")),
        (("ring", "2"), ("ring", "22")),
        (("inner ring", "A"), ("outer ring", "B")),
    ],
)
def test_another_name_is_taken_as_new(
    bench: Bench, known: tuple[str, str], new: tuple[str, str]
) -> None:
    bench.shelf("add", *known, "1")
    assert "a new lot" in bench.shelf("add", *new, "1")
    assert bench.counts() == {" ".join(known): (1, {}), " ".join(new): (1, {})}


def test_what_a_part_measured_is_no_name_of_a_size(bench: Bench) -> None:
    bench.shelf("add", *RING, "2")
    told = bench.refused("add", RING[0], ".0699", "1")
    assert told == (
        'shop.db: found ".0699"; is it drum ring .0700? write the size, and what it measured with '
        '--measured ".0699"; if it is new all the same, say so: --new'
    )
    bench.shelf("add", RING[0], ".0699", "1", "--new")
    assert bench.counts() == {"drum ring .0700": (2, {}), "drum ring .0699": (1, {})}


def test_on_a_terminal_it_is_asked(bench: Bench) -> None:
    bench.shelf("add", *STEEL, "2")
    bench.shelf("add", STEEL[0], "thin", "2")
    asked, told = said_on_a_terminal(bench, [True], "add", STEEL[0], "thik", "3")
    assert asked == ["thick?"]
    assert told == "drum steel thick: 3 received; 5 on hand"
    asked, told = said_on_a_terminal(bench, [True, False, True], "issue", "drum stel", "thik")
    assert asked == ["drum steel?", "thick?", "thin?"]
    assert told == "drum steel thin: 1 issued; 1 on hand"
    before = bench.entries()
    asked, told = said_on_a_terminal(bench, [False, False], "add", STEEL[0], "thik", "3")
    assert "did you mean" in told
    assert bench.entries() == before


def test_the_question_is_answered_as_any_of_click(bench: Bench) -> None:
    """The prompt itself: [y/N], on standard error, and no is what Enter says."""
    from click.testing import CliRunner

    from gapwright.cli.shelf import shelf as commands

    bench.shelf("add", *STEEL, "2")
    for answer, code in (("y\n", 0), ("\n", 1)):
        with patch("gapwright.cli.shelf.on_a_terminal", return_value=True):
            words = ["add", bench.address, STEEL[0], "thik", "1"]
            done = CliRunner().invoke(commands, words, input=answer)
        assert done.stderr.startswith("thick? [y/N]: ")
        assert done.exit_code == code
    assert bench.counts() == {"drum steel thick": (3, {})}


@pytest.mark.parametrize(
    ("size", "called"),
    [("B", "B"), (".0700", "B"), ("0.07 in", "B"), ("1.778 mm", "B"), ("1", "A"), ("b", "B")],
)
def test_a_shelf_remembers_the_unit_it_was_used_with(bench: Bench, size: str, called: str) -> None:
    unit = bench.write("unit.yaml", UNIT)
    bench.shelf("add", "drum steel", "thin", "1", "--unit", unit)
    bench.shelf("add", "drum ring", size, "2")
    assert bench.counts()[f"drum ring {called}"] == (2, {})


def test_names_of_a_remembered_unit_are_asked_about(bench: Bench) -> None:
    unit = bench.write("unit.yaml", UNIT)
    bench.shelf("add", "drum ring", "B", "1", "--unit", unit)
    for more in ((), ("--unit", unit)):
        told = bench.refused("add", "drum steel", "thik", "1", *more)
        assert 'found "thik"; did you mean "thick" or "thin"?' in told
        told = bench.refused("add", "drum stell", "thick", "1", *more)
        assert 'found "drum stell"; did you mean "drum steel"?' in told
        asked, told = said_on_a_terminal(bench, [True], "add", "drum steel", "thik", "1", *more)
        assert asked == ["thick?"]
    assert bench.counts()["drum steel thick"] == (2, {})
    assert "is it drum ring B? write the size" in bench.refused("add", "drum ring", ".0693", "1")
    bench.shelf("add", "drum ring", "C", "1")
    assert bench.counts()["drum ring C"] == (1, {})


def test_a_shelf_that_has_a_size_by_another_name_keeps_it(bench: Bench) -> None:
    bench.shelf("add", "drum ring", ".0700", "1")
    unit = bench.write("unit.yaml", UNIT)
    bench.shelf("add", "drum ring", "A", "1", "--unit", unit)
    bench.shelf("add", "drum ring", "B", "1", "--unit", unit)
    bench.shelf("add", "drum ring", "B", "1")
    assert bench.counts() == {"drum ring .0700": (3, {}), "drum ring A": (1, {})}


def test_a_unit_is_noted_when_it_changed_and_only_by_what_posts(bench: Bench) -> None:
    unit = bench.write("unit.yaml", UNIT)
    bench.shelf("list", "--unit", unit)
    assert not units(bench)
    bench.refused("issue", "drum ring", "B", "--unit", unit)
    assert not units(bench), "nothing is noted of what was refused"
    bench.shelf("add", "drum ring", "B", "1", "--unit", unit)
    bench.shelf("issue", "drum ring", "B", "--unit", unit)
    (note,) = units(bench)
    assert note.about == "Harrow 4"
    assert json.loads(note.text) == {
        "length": "in",
        "families": {
            "drum ring": {"A": ["0.06 in", "0.059 in", "0.061 in", "1"],
                          "B": ["0.07 in", "0.069 in", "0.071 in", ""]},
            "drum steel": {"thick": ["0.088 in"] * 3 + [""], "thin": ["0.069 in"] * 3 + [""]},
            "friction": {},
        },
    }  # fmt: skip
    unit = bench.write("unit.yaml", UNIT.replace("B: .0700", "C: .0780"))
    sheet = bench.write("in.csv", "family,size,count\ndrum ring,C,4\n")
    bench.shelf("import", sheet, "--mode", "add", "--unit", unit, "--dry-run")
    assert len(units(bench)) == 1
    bench.shelf("import", sheet, "--mode", "add", "--unit", unit)
    assert [one.about for one in units(bench)] == ["Harrow 4", "Harrow 4"]
    nameless = bench.write("nameless.yaml", UNIT.replace("  name: Harrow 4\n", ""))
    bench.shelf("add", "drum ring", "B", "1", "--unit", nameless)
    assert units(bench)[-1].about == "nameless.yaml"


def test_a_file_of_counts_is_read_by_the_known_names(bench: Bench) -> None:
    bench.shelf("add", *RING, "2", "--bin", "C1")
    bench.shelf("add", *STEEL, "2")
    sheet = bench.write(
        "in.csv", "family,size,count,bin\ndrum ring,.070,4,C1\ndrum steel,thick,1,\n"
    )
    bench.shelf("import", sheet, "--mode", "count", "--request", "K-1")
    assert bench.counts() == {"drum ring .0700 in C1": (4, {}), "drum steel thick": (1, {})}
    again = bench.shelf("import", sheet, "--mode", "count", "--request", "K-1")
    assert "was posted before" in again
    sheet = bench.write("in.csv", "family,size,count\ndrum steel,thik,4\ndrum rings,.0700,1\n")
    told = bench.refused("import", sheet, "--mode", "add").splitlines()
    assert told == [
        f'in.csv:2: found "thik"; did you mean "thick"? {AS_NEW}',
        f'in.csv:3: found "drum rings"; did you mean "drum ring"? {AS_NEW}',
    ]
    bench.shelf("import", sheet, "--mode", "add", "--new")
    assert bench.counts()["drum steel thik"] == (4, {})
    sheet = bench.write("in.csv", "family,size,count\ndrum ring,.0700,4\ndrum ring,.07,1\n")
    assert "is listed in line 2 already" in bench.refused("import", sheet, "--mode", "add")


def test_a_note_that_is_no_unit_is_refused_in_one_sentence(bench: Bench) -> None:
    for text in ("", "[]", '{"families": {"a": {"b": 3}}, "length": "in"}', '{"families": []}'):
        with open_shelf(bench.address) as shelf:
            shelf.post(Request(f"note {text}", "me", "", (), (Note("unit", "Harrow 4", text),)))
        told = bench.refused("add", *RING, "1")
        assert told == (
            "shop.db: its note unit on Harrow 4 is not what gapwright writes; "
            "try `gapwright shelf verify`"
        )


words = st.text("abcdefgh", min_size=4, max_size=9)


@given(words, st.data())
def test_a_slip_of_one_letter_is_known(word: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(word) - 2))
    slips = {
        word[:at] + word[at + 1 :], word[:at] + word[at + 1] + word[at] + word[at + 2 :],
        word[:at] + "z" + word[at:],
    } - {word}  # fmt: skip
    for slip in slips:
        assert misspelt(slip, [word]) == (word,)
        assert misspelt(f"drum {slip}", [f"drum {word}"]) == (f"drum {word}",)
        assert misspelt(f"drum {slip} 2", [f"drum {word} 3"]) == ()


@given(words, words)
def test_words_with_nothing_in_common_are_no_slips(one: str, other: str) -> None:
    assert misspelt(one, [other.translate(str.maketrans("abcdefgh", "stuvwxyz"))]) == ()
