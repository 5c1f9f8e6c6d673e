"""What one job may draw on when the shelf is a ledger."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory import create_shelf, on_hand, open_shelf
from inventory.movements import Balance, Part
from inventory.on_hand import ledger_lots, shelf_lots
from specs.errors import InputError
from specs.values.lengths import parse_length, show
from tests.inventory.shelves import move, post
from tests.specs.drums import DRUM, taken

if TYPE_CHECKING:
    from pathlib import Path

STEELS, RINGS = "{thick: 5, thin: 2}", "{.0600: 1, .0700: 1, .0780: 2}"


def balance(part: Part, on_hand: int, *holders: tuple[str, int]) -> Balance:
    return Balance(part, part.lot_id, on_hand, sum(number for _, number in holders), holders)


def lots(*balances: Balance) -> list[tuple[str, str, int]]:
    """The lots a job named `job` may draw on: size, thickness and count."""
    found = ledger_lots(taken(DRUM), balances)
    return [(lot.size, show(lot.thickness, "in"), lot.count) for lot in found]


def test_a_ledger_gives_the_lots_a_shelf_file_gives(tmp_path: Path) -> None:
    written = "{thick: [{count: 5, reserved: 2, bin: B2}, {count: 1, thickness: .0877}], thin: 2}"
    thick, measured, thin = (
        Part("drum steel", "thick", bin="B2"),
        Part("drum steel", "thick", parse_length("0.0877 in")),
        Part("drum steel", "thin"),
    )
    create_shelf(tmp_path / "shelf.db")
    with open_shelf(tmp_path / "shelf.db") as shelf:
        post(
            shelf, move("receive", thick, 5), move("reserve", thick, 2, "another"),
            move("receive", measured, 1), move("receive", thin, 2),
        )  # fmt: skip
        balances = shelf.balances()
    case = taken(DRUM, (STEELS, written), (RINGS, "{}"))
    asked = sorted(ledger_lots(case, balances), key=str)
    given = sorted(shelf_lots(case), key=str)
    facts = "family", "size", "thickness", "measured", "count", "condition", "own", "bin", "lot"
    assert [[getattr(lot, fact) for fact in facts] for lot in asked] == [
        [getattr(lot, fact) for fact in facts] for lot in given
    ]
    assert {lot.id for lot in asked} == {one.lot_id for one in balances}


@pytest.mark.parametrize(
    ("part", "measured"),
    [
        (Part("drum steel", "thick"), False),
        (Part("drum steel", "thick", parse_length("0.0877 in")), True),
        (Part("drum steel", "thick", parse_length("0.0880 in")), True),
        (Part("drum steel", "thick 0.0877 in"), True),
        (Part("drum steel", "thick 0.0880 in"), False),
    ],
)
def test_a_lot_was_measured_where_its_thickness_is_known(part: Part, measured: bool) -> None:  # noqa: FBT001
    """As a shelf file has it: by a thickness of its own, or by a size written with another."""
    (lot,) = ledger_lots(taken(DRUM), [balance(part, 1)])
    assert lot.measured == measured


def test_what_is_reserved_for_this_job_is_on_hand_for_it_and_for_no_other() -> None:
    thick = Part("drum steel", "thick")
    held, free = ("thick", "0.088 in", 1), ("thick", "0.088 in", 2)
    assert lots(balance(thick, 5, ("another", 2), ("job", 1))) == [held, free]
    assert lots(balance(thick, 2, ("another", 2))) == []


def test_parts_this_unit_does_not_know_are_not_for_it() -> None:
    strange = [
        Part("case ring", ".0600"), Part("drum steel", "middling"), Part("apply plate", ".1000"),
        Part("drum steel", "0.0500 in"), Part("friction", "thick"),
    ]  # fmt: skip
    assert lots(*(balance(part, 3) for part in strange)) == []


@pytest.mark.parametrize(
    ("size", "thickness"),
    [
        (".0600", "0.060 in"),
        (".0600 in", "0.060 in"),
        ("0.0600 in", "0.060 in"),
        ("60 thou", "0.060 in"),
        (".0600 .0598 in", "0.0598 in"),
    ],
)
def test_a_size_may_be_its_name_or_a_length_with_its_unit(size: str, thickness: str) -> None:
    assert lots(balance(Part("drum ring", size), 1)) == [(".0600", thickness, 1)]


def test_a_bare_length_that_is_no_name_is_never_guessed() -> None:
    assert lots(balance(Part("drum ring", "0.0600"), 1)) == []


def test_a_lot_called_one_size_and_measuring_another_is_asked_about() -> None:
    part = Part("drum steel", "thick", parse_length("0.0690 in"))
    with pytest.raises(InputError, match=r"0.069 in is the thickness of thin, not of thick; which"):
        lots(balance(part, 1))


def test_a_lot_keeps_what_it_is_reserved_and_found_by() -> None:
    part = Part("drum steel", "thick", condition="used", bin="B2", label="T-7")
    (lot, *own) = on_hand(taken(DRUM), ("low drum",), [balance(part, 1)])
    assert (lot.id, lot.bin, lot.lot, lot.condition) == (part.lot_id, "B2", "T-7", "used")
    assert own
    assert all(lot.own and not lot.id for lot in own)
