"""What one job may draw on: the shelf less what is spoken for, and the job's own parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory import on_hand, on_hand_together
from inventory.on_hand import shelf_lots
from specs.values.lengths import parse_length, show
from tests.specs.drums import DRUM, Swap, taken

if TYPE_CHECKING:
    from collections.abc import Iterable

    from specs.models.lot import Lot

STEELS = "{thick: 5, thin: 2}"
RINGS = "{.0600: 1, .0700: 1, .0780: 2}"


def shelf(steels: str) -> list[tuple[str, str, int]]:
    """The lots of steels: size, thickness and count."""
    lots = shelf_lots(taken(DRUM, (STEELS, steels), (RINGS, "{}")))
    return [(lot.size, show(lot.thickness, "in"), lot.count) for lot in lots]


@pytest.mark.parametrize(
    ("written", "lots"),
    [
        ("{thick: 5, thin: 2}", [("thick", "0.088 in", 5), ("thin", "0.069 in", 2)]),
        ("{thick: {count: 5, reserved: 2}}", [("thick", "0.088 in", 3)]),
        ("{thick: {count: 5, reserved: 5}, thin: 0}", []),
        (
            "{thick: [2, {count: 1, thickness: .0877}, {count: 4, reserved: 4}]}",
            [("thick", "0.088 in", 2), ("thick", "0.0877 in", 1)],
        ),
        ("{.0880: 5}", [("thick", "0.088 in", 5)]),
        ("{thick .0874: 2}", [("thick", "0.0874 in", 2)]),
        ("{thick .0874: {count: 2, thickness: .0875}}", [("thick", "0.0875 in", 2)]),
        ("{}", []),
        ("{thick: []}", []),
    ],
)  # fmt: skip
def test_a_lot_is_what_is_there_and_not_spoken_for(
    written: str, lots: list[tuple[str, str, int]]
) -> None:
    assert shelf(written) == lots


@pytest.mark.parametrize(
    ("written", "measured"),
    [
        ("{thick: 2}", False),
        ("{thick: {count: 2, thickness: .0875}}", True),
        ("{thick: {count: 2, thickness: .0880}}", True),
        ("{thick .0874: 2}", True),
        ("{thick .0880: 2}", False),
    ],
)
def test_a_lot_was_measured_where_its_thickness_is_written(written: str, measured: bool) -> None:  # noqa: FBT001
    (lot,) = shelf_lots(taken(DRUM, (STEELS, written), (RINGS, "{}")))
    assert lot.measured == measured


def test_a_lot_keeps_its_bin_its_label_and_its_condition() -> None:
    written = "{thick: {count: 1, bin: B2, lot: T-7, condition: used}, thin: 1}"
    one, other = shelf_lots(taken(DRUM, (STEELS, written), (RINGS, "{}")))
    assert (one.family, one.bin, one.lot, one.condition, one.own) == (
        "drum steel", "B2", "T-7", "used", False,
    )  # fmt: skip
    assert (other.bin, other.lot, other.condition, other.own) == ("", "", "new", False)


OF_THE_UNIT: Swap = ("gap: .041", "gap: .041, trial parts: of this unit")


def test_the_jobs_own_parts_come_after_those_of_the_shelf() -> None:
    lots = on_hand(taken(DRUM, OF_THE_UNIT), ("low drum",))
    assert [(lot.size, lot.count, lot.own) for lot in lots] == [
        ("thick", 5, False), ("thin", 2, False), (".0600", 1, False), (".0700", 1, False),
        (".0780", 2, False), ("thick", 3, True), (".0780", 1, True),
    ]  # fmt: skip
    assert all(lot.condition == "used" for lot in lots if lot.own)


def test_the_parts_of_a_gap_that_waits_stay_where_they_are() -> None:
    assert not [lot for lot in on_hand(taken(DRUM), ()) if lot.own]


def test_a_part_as_measured_is_on_hand_as_measured() -> None:
    measured: Swap = ("[thick, thick,", "[thick .0874, thick .0874,")
    lots = on_hand(taken(DRUM, measured, OF_THE_UNIT), ("low drum",))
    own = [lot for lot in lots if lot.own]
    assert [(lot.size, lot.thickness, lot.count) for lot in own] == [
        ("thick", parse_length("0.0874 in"), 2),
        ("thick", parse_length("0.0880 in"), 1),
        (".0780", parse_length("0.0780 in"), 1),
    ]


def standing(lots: Iterable[Lot]) -> list[tuple[str, str, int, str]]:
    """The steels among some lots: size, thickness, count and where they are."""
    words = {(False, False): "shelf", (False, True): "tried", (True, True): "lacking"}
    return [
        (lot.size, show(lot.thickness, "in"), lot.count, words[lot.own, lot.tried])
        for lot in lots
        if lot.family == "drum steel"
    ]


def test_jobs_planned_together_draw_on_the_same_lots() -> None:
    one, two = taken(DRUM), taken(DRUM, ("[thick, thick,", "[thin, thin,"))
    for lots in on_hand_together([(one, ("low drum",)), (two, ("low drum",))]):
        assert standing(lots) == [
            ("thick", "0.088 in", 5, "shelf"),
            ("thin", "0.069 in", 2, "shelf"),
        ]


def test_a_part_measured_in_a_trial_build_is_no_part_as_sold_for_any_job() -> None:
    """Two of the five thick ones were measured, one in each of two drums, to the same length."""
    drums = [taken(DRUM, ("[thick, thick,", f"[thick, thick {at},")) for at in (".0874", ".0874")]
    gaps = ("low drum",)
    one, two, three = on_hand_together([(case, gaps) for case in (*drums, taken(DRUM))])
    sold = [("thick", "0.088 in", 3, "shelf"), ("thin", "0.069 in", 2, "shelf")]
    mine, yours = ("thick", "0.0874 in", 1, "tried"), ("thick", "0.0874 in", 1, "shelf")
    assert standing(one) == [*sold, mine, yours]
    assert standing(two) == [*sold, yours, mine]
    assert standing(three) == [*sold, yours, yours]
    entries = [[lot.entry for lot in lots if not lot.own] for lots in (one, two, three)]
    assert entries[0] == entries[1] == entries[2]
    assert len({*entries[0]}) == len(entries[0])


def test_a_measured_part_that_the_shelf_lacks_is_the_drums() -> None:
    """Of two thick ones the first drum has one measured; the second looks for two in vain."""
    trial: Swap = ("[thick, thick,", "[thick .0874, thick .0875,")
    case = taken(DRUM, (STEELS, "{thick: 2}"), trial)
    one, two = on_hand_together([(case, ("low drum",)), (case, ("low drum",))])
    sold, measured = ("thick", "0.088 in", 1, "shelf"), ("thick", "0.0874 in", 1)
    more = ("thick", "0.0875 in", 1, "lacking")
    assert standing(one) == [sold, (*measured, "tried"), more]
    assert standing(two) == [sold, (*measured, "shelf"), (*measured, "lacking"), more]
