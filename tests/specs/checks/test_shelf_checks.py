"""Whether a shelf holds parts of its unit: every finding there is, each caused once."""

from __future__ import annotations

import pytest

from specs.checks.shelf import another_size
from specs.values.lengths import parse_length
from tests.specs.drums import DRUM, Swap, problem, problems, taken

THICK = "thick: 5"
SIZES = "write one of them, or a size with what it measured"


@pytest.mark.parametrize(
    ("swap", "told"),
    [
        (
            ("drum steel: {thick: 5", "drum stele: {thick: 5"),
            '14: shelf.drum stele: found "drum stele"; did you mean "drum steel"?',
        ),
        (
            ("drum steel: {thick: 5", "valve: {thick: 5"),
            '14: shelf.valve: found "valve"; families drawn from the shelf: drum steel, drum ring',
        ),
        (
            ("drum steel: {thick: 5", "friction: {thick: 5"),
            ('14: shelf.friction: found "friction"; families drawn from the shelf: drum steel, '
            "drum ring"),
        ),
        (
            (".0600: 1", ".0640: 1"),
            ('15: shelf.drum ring..0640: found ".0640"; the sizes of drum ring are .0600, .0700, '
            f'.0780; {SIZES}: ".0600 0.060 in"'),
        ),
        (
            (THICK, "thick: 5, .088: 1"),
            '14: shelf.drum steel..088: "thick" and ".088" are the same size; list it once',
        ),
        (
            (THICK, "thick: {count: 5, reserved: 6}"),
            "14: shelf.drum steel.thick: 6 reserved of 5; no more than there are",
        ),
        (
            (THICK, "thick: {count: 5, thickness: .0690}"),
            ("14: shelf.drum steel.thick: 0.069 in is the thickness of thin, not of thick; which "
            "is it?"),
        ),
        (
            (THICK, "thick: {count: 5, thickness: 88}"),
            ("14: shelf.drum steel.thick: 88.000 in is no thickness for a steel: did you mean "
            "88.000 thou (0.088 in)?"),
        ),
        (
            (THICK, "thick 88: 5"),
            ("14: shelf.drum steel.thick 88: 88.000 in is no thickness for a steel: did you mean "
            "88.000 thou (0.088 in)?"),
        ),
        (
            (THICK, "thick: [5, {count: 1, reserved: 2}]"),
            "14: shelf.drum steel.thick: 2 reserved of 1; no more than there are",
        ),
    ],
)  # fmt: skip
def test_a_shelf_that_is_not_right(swap: Swap, told: str) -> None:
    assert problem(DRUM, swap) == told


@pytest.mark.parametrize(
    "lots",
    [
        "thick: 0",
        "thick: {count: 5, reserved: 5}",
        "thick: {count: 5, thickness: .0870}",
        "thick: [5, {count: 2, thickness: .0871, bin: B2, lot: T-7, condition: used}]",
        "thick .0874: 2",
        ".0880: 5",
        "2.2352 mm: 5",
    ],
)
def test_a_shelf_that_is_right(lots: str) -> None:
    assert taken(DRUM, (THICK, lots)).shelf["drum steel"]


def test_a_part_that_is_between_two_sizes_is_left_to_the_hand_that_measured_it() -> None:
    family = taken(DRUM).unit.families["drum ring"]
    assert another_size(family, ".0700", parse_length("0.0700 in")) is None
    assert another_size(family, ".0700", parse_length("0.0740 in")) is None
    assert another_size(family, ".0700", parse_length("0.0780 in")) == ".0780"


def test_a_shelf_is_not_held_against_a_unit_that_is_wrong() -> None:
    told = problems(DRUM, ("kind: ring", "kind: rign"), ("thick: 5", "thikc: 5"))
    assert [line.partition(":")[0] for line in told] == ["8"]
