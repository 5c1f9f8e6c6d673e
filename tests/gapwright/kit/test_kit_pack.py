"""Packing kits as a person asks for it, on each database: once, whole, and told what is short."""

from __future__ import annotations

import json
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

import pytest

from gapwright.kit.packing import Packing, pack_kits
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from inventory.kits import KitDemand, drawn
from inventory.movements import Balance, Movement, Part, Request
from inventory.refusals import ChangedShelfError, OtherRequestError, ShelfError, ShortKitError
from specs.errors import InputError
from specs.files.read import read_kit
from tests.gapwright.kit.test_kit_words import KIT
from tests.inventory.shelves import DATABASES, fresh_address, move, post

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory import Shelf
    from specs.models.case import Case
    from tests.gapwright.bench import Bench

PARTS = {
    Part("steel", "thick", bin="B1"): 4, Part("ring", "A"): 3, Part("ring", "C"): 2,
    Part("friction", "std", bin="F1"): 3, Part("hub washer", "1"): 1,
}  # fmt: skip


def stock(shelf: Shelf) -> None:
    post(shelf, *(move("receive", part, number) for part, number in PARTS.items()))


@pytest.fixture(params=DATABASES)
def address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    with fresh_address(request.param, tmp_path) as address:
        create_shelf(address)
        with open_shelf(address) as shelf:
            stock(shelf)
        yield address


@pytest.fixture
def case(tmp_path: Path) -> Case:
    file = tmp_path / "kit.yaml"
    file.write_text(KIT, encoding="utf-8")
    return read_kit(file)


def left(address: str) -> dict[str, int]:
    with open_shelf(address) as shelf:
        return {f"{b.part.family} {b.part.size}": b.on_hand for b in shelf.balances()}


def test_two_kits_leave_in_one_request_and_once(address: str, case: Case) -> None:
    said = Author("mary", key="run-7")
    packed = pack_kits(Packing(case, 2), address, said)
    assert not packed.posted.again
    after = {"steel thick": 2, "ring A": 1, "ring C": 0, "friction std": 1, "hub washer 1": 1}
    assert left(address) == after
    assert {entry.key for entry in packed.posted.entries} == {"run-7"}
    assert packed.posted.entries[0].why == "packed 2 x overhaul kit"
    again = pack_kits(Packing(case, 2), address, said)
    assert again.posted.again
    assert again.posted.entries == packed.posted.entries
    assert left(address) == after


def test_the_same_key_for_another_kit_is_refused(address: str, case: Case) -> None:
    pack_kits(Packing(case), address, Author("mary", key="run-7"))
    before = left(address)
    for other in (Packing(case, 2), Packing(case, 1, ("washers",)), Packing(case, job="J-1")):
        with pytest.raises(OtherRequestError, match="run-7"):
            pack_kits(other, address, Author("mary", key="run-7"))
    assert left(address) == before


def test_a_short_shelf_gives_nothing(address: str, case: Case) -> None:
    before = left(address)
    with pytest.raises(ShortKitError) as short:
        pack_kits(Packing(case, 3, ("washers",)), address, Author("mary"))
    assert short.value.problems[0].sentence == (
        "short of 3 x ring C (2 on hand), 3 x hub washer 1 (1 on hand); nothing was drawn"
    )
    assert left(address) == before


def test_what_is_put_in_by_hand_is_not_asked_of_the_shelf(address: str, case: Case) -> None:
    packed = pack_kits(Packing(case, 2, by_hand=("friction",)), address, Author("mary"))
    assert packed.by_hand == {("friction", ""): 2}
    assert left(address)["friction std"] == 3


def test_many_who_pack_at_once_never_take_more_than_there_is(address: str, case: Case) -> None:
    """Two kits are on the shelf and six people want one."""
    got: list[int] = []
    refused: list[ShelfError] = []

    def pack(nth: int) -> None:
        try:
            pack_kits(Packing(case), address, Author(f"p{nth}"))
            got.append(nth)
        except ShelfError as error:
            refused.append(error)

    people = [Thread(target=pack, args=(nth,)) for nth in range(6)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert len(got) == 2
    assert len(refused) == 4
    assert left(address)["ring C"] == 0
    with open_shelf(address) as shelf:
        shelf.verify()


def test_parts_taken_under_its_hands_are_looked_for_in_other_bins(
    address: str, case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_shelf(address) as shelf:
        post(shelf, move("receive", Part("ring", "C", bin="Z"), 1))
    taken = iter([Part("ring", "C")])

    def meanwhile(*asked: object) -> tuple[Movement, ...]:
        movements = drawn(*asked)  # type: ignore[arg-type]
        for part in taken:
            with open_shelf(address) as other:
                request = Request("theirs", "joe", "", (Movement("issue", part, 2),))
                other.post(request)
            break
        return movements

    monkeypatch.setattr("gapwright.kit.packing.drawn", meanwhile)
    pack_kits(Packing(case), address, Author("mary"))
    assert left(address)["ring C"] == 0
    assert left(address)["steel thick"] == 3


@pytest.mark.parametrize("more", [2, 0])
def test_the_same_key_by_two_at_once_is_drawn_once(
    address: str, case: Case, monkeypatch: pytest.MonkeyPatch, more: int
) -> None:
    """Between the look and the post somebody else posts this request, from the same lots or not."""
    said, first = Author("mary", key="run-7"), iter([True])
    with open_shelf(address) as shelf:
        if more:
            post(shelf, move("receive", Part("ring", "C", bin="0"), more))

    def meanwhile(
        drawing: KitDemand, balances: tuple[Balance, ...], name: str
    ) -> tuple[Movement, ...]:
        for _ in first:
            pack_kits(Packing(case, 2), address, said)
            with open_shelf(address) as shelf:
                balances = shelf.balances()
        return drawn(drawing, balances, name)

    monkeypatch.setattr("gapwright.kit.packing.drawn", meanwhile)
    packed = pack_kits(Packing(case, 2), address, said)
    assert packed.posted.again
    with open_shelf(address) as shelf:
        assert sum(entry.movement.kind == "issue" for entry in shelf.history()) == 4
        rings = (one.on_hand for one in shelf.balances() if one.part.size == "C")
        assert sum(rings) == more


def test_a_shelf_that_never_rests_is_told(
    address: str, case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    much = Part("ring", "C")
    greedy = (Movement("issue", much, 99, "overhaul kit"),)
    monkeypatch.setattr("gapwright.kit.packing.drawn", lambda *_: greedy)
    with pytest.raises(ChangedShelfError, match="moves all the time; nothing was drawn"):
        pack_kits(Packing(case), address, Author("mary"))


@pytest.fixture
def kit(bench: Bench) -> str:
    with open_shelf(bench.address) as shelf:
        stock(shelf)
    return bench.write("kit.yaml", KIT)


@pytest.mark.face
def test_what_was_drawn_is_told_bin_by_bin(bench: Bench, kit: str) -> None:
    words = ("kit", "pack", kit, "--shelf", bench.address, "--request", "run-7")
    code, out, err = bench.run(*words)
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        "1 x overhaul kit: 4 parts drawn for overhaul kit",
        "  1 x steel thick in B1   3 left",
        "  1 x ring A              2 left",
        "  1 x ring C              1 left",
        "  1 x friction std in F1  2 left",
    ]
    again = bench.run(*words)
    assert again[0] == 0
    assert "; nothing was posted twice\n" in again[1]
    told = json.loads(bench.run(*words, "--json")[1])
    assert told["shape"] == "gapwright kit pack 1"
    assert told["posted"]["shape"] == "gapwright shelf posted 1"
    assert told["posted"]["again"] is True
    assert [one["number"] for one in told["posted"]["entries"]] == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--by-hand", "ringg"), '--by-hand: found "ringg"; did you mean "ring"?'),
        (("--with", "washer"), 'found "washer"; did you mean "washers"?'),
        (
            ("--by-hand", "steel", "--by-hand", "ring", "--by-hand", "friction"),
            "all of the kit is put in by hand; nothing is left to draw",
        ),
        (("--count", "3"), "shop.db: short of 3 x ring C (2 on hand); nothing was drawn"),
        (("--count", "0"), "0 is not in the range"),
    ],
)
def test_what_is_wrong_is_one_sentence_and_nothing_is_posted(
    bench: Bench, kit: str, more: tuple[str, ...], says: str
) -> None:
    before = bench.entries()
    code, out, err = bench.run("kit", "pack", kit, "--shelf", bench.address, *more)
    assert (code, out) == (2, "")
    assert says in err
    assert bench.entries() == before


def test_a_shelf_file_is_no_ledger(bench: Bench, kit: str) -> None:
    shelf = bench.write("shelf.yaml", "shelf: {ring: {A: 1}}\n")
    code, _, err = bench.run("kit", "pack", kit, "--shelf", shelf)
    assert code == 2
    assert "shelf.yaml: is no ledger: gapwright shelf init shop.db" in err
    with pytest.raises(InputError, match=r"none\.db"):
        pack_kits(Packing(read_kit(Path(kit))), str(bench.folder / "none.db"), Author("mary"))
