"""Kits drawn from a shelf, on each database: whole or not at all, and never below nothing."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import TYPE_CHECKING

import pytest

from inventory.kits import KitDemand, drawn, is_drawn
from inventory.movements import Balance, Part, Request
from inventory.refusals import ShortKitError
from specs.models.unit import Unit
from tests.inventory.shelves import move, post

if TYPE_CHECKING:
    from inventory import Shelf

UNIT = Unit.model_validate(
    {
        "families": {
            "steel": {"kind": "steel", "sizes": {"thick": "2.0 mm", "thin": "1.6 mm"}},
            "ring": {"kind": "ring", "sizes": {"A": {"thickness": "1.5 mm", "mark": "7"}}},
            "friction": {"kind": "friction", "fixed": "1.7 mm"},
        }
    }
)
THICK, MORE = Part("steel", "thick", bin="B1"), Part("steel", "thick", bin="B2")
USED = Part("steel", "thick", condition="used", bin="A1")
RING, FRICTION, GASKET = Part("ring", "7"), Part("friction", "std"), Part("gasket", "one")
KIT = {("steel", "thick"): 3, ("ring", "A"): 1, ("friction", ""): 2, ("gasket", ""): 1}


def kits(count: int = 1) -> KitDemand:
    return KitDemand(UNIT, Counter({size: n * count for size, n in KIT.items()}), "kit")


def stocked(shelf: Shelf, thick: int = 2) -> None:
    counts = ((THICK, thick), (MORE, 5), (USED, 9), (RING, 2), (FRICTION, 4), (GASKET, 2))
    post(shelf, *(move("receive", part, number) for part, number in counts))


def drawn_from(shelf: Shelf, drawing: KitDemand, key: str) -> None:
    shelf.post(Request(key, "mary", "", drawn(drawing, shelf.balances(), shelf.name)))


def on_hand(shelf: Shelf) -> dict[Part, int]:
    return {balance.part: balance.on_hand for balance in shelf.balances()}


def test_a_kit_is_taken_bin_by_bin_in_one_request(shelf: Shelf) -> None:
    stocked(shelf)
    drawn_from(shelf, kits(), "k-1")
    assert on_hand(shelf) == {THICK: 0, MORE: 4, USED: 9, RING: 1, FRICTION: 2, GASKET: 1}
    entries = shelf.history(key="k-1")
    assert {(entry.movement.kind, entry.movement.job) for entry in entries} == {("issue", "kit")}
    assert is_drawn(kits(), (entry.movement for entry in entries))
    assert not is_drawn(kits(2), (entry.movement for entry in entries))
    shelf.verify()


def test_all_that_is_short_is_one_sentence_and_nothing_is_taken(shelf: Shelf) -> None:
    stocked(shelf)
    post(shelf, move("reserve", MORE, 4, "J-1"), move("scrap", GASKET, 2))
    before = on_hand(shelf)
    with pytest.raises(ShortKitError) as refused:
        drawn_from(shelf, kits(2), "k-1")
    (problem,) = refused.value.problems
    assert problem.sentence == (
        "short of 6 x steel thick (3 new and free of 16 on hand), 2 x gasket (none on hand); "
        "nothing was drawn"
    )
    assert on_hand(shelf) == before
    assert not shelf.history(key="k-1")


def test_what_a_shelf_never_kept_is_told_apart(shelf: Shelf) -> None:
    post(shelf, move("receive", MORE, 5), move("receive", FRICTION, 2))
    with pytest.raises(ShortKitError) as refused:
        drawn_from(shelf, kits(), "k-1")
    assert str(refused.value).endswith(
        "short of 1 x ring A (not kept on this shelf), 1 x gasket (not kept on this shelf); "
        'nothing was drawn; what this shelf does not keep: --by-hand "ring"'
    )


def test_kits_are_drawn_until_one_is_short_and_nothing_falls_below(shelf: Shelf) -> None:
    """Kits of random sizes from random shelves, beside counts kept on the fingers."""
    rng = Random(9)  # noqa: S311 - no secret hangs on it
    drawn_, refused = 0, 0
    parts = (THICK, MORE, RING, FRICTION, GASKET)
    names = dict(
        zip(parts, [("steel", "thick")] * 2 + [("ring", "A"), ("friction", ""), ("gasket", "")],
            strict=True)
    )  # fmt: skip
    post(shelf, move("receive", USED, 50), *(move("receive", part, 1) for part in parts))
    for nth in range(60):
        post(shelf, *(move("receive", part, rng.randint(1, 4)) for part in rng.sample(parts, 3)))
        if rng.random() < 0.3:
            held = next(one for one in shelf.balances() if one.part == MORE)
            if held.free:
                post(shelf, move("reserve", MORE, rng.randint(1, held.free), f"J-{nth}"))
        free = Counter[tuple[str, str]]()
        for one in shelf.balances():
            if one.part in names:
                free[names[one.part]] += one.free
        before, drawing = on_hand(shelf), kits(rng.randint(1, 2))
        try:
            drawn_from(shelf, drawing, f"k-{nth}")
        except ShortKitError as short:
            refused += 1
            lacks = {(one.family, one.size): one.free for one in short.short}
            assert lacks == {s: free[s] for s, n in drawing.wanted.items() if free[s] < n}
            assert on_hand(shelf) == before
            continue
        drawn_ += 1
        assert drawing.wanted <= free
        after = on_hand(shelf)
        taken = Counter[tuple[str, str]]()
        for part in parts:
            taken[names[part]] += before[part] - after[part]
        assert taken == drawing.wanted
        assert after[USED] == 50
        assert all(one.on_hand >= one.reserved >= 0 for one in shelf.balances())
    assert min(drawn_, refused) > 8
    shelf.verify()


def test_a_lot_that_is_called_what_the_unit_does_not_know_is_let_be() -> None:
    strange = Balance(Part("steel", "medium"), "X", 9, 0)
    with pytest.raises(ShortKitError, match="3 x steel thick \\(not kept on this shelf\\)"):
        drawn(kits(), [strange], "shop.db")
