"""Whether a unit file fits together: every finding there is, each caused once."""

from __future__ import annotations

import pytest

from specs.values.lengths import parse_length
from tests.specs.drums import DRUM, Swap, each, problem, problems, swapped, taken

STACK = "[apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]"
WINDOW = ".060 to .080"


def unit(text: str) -> Swap:
    """More lines in the unit."""
    return ("  packs:\n", f"  {text}\n  packs:\n")


def stack(text: str) -> Swap:
    return (STACK, text)


# Families.


@each("families that are not right")
def test_a_family_that_is_not_right(old: str, new: str, told: str | list[str]) -> None:
    assert problems(DRUM, (old, new)) == ([told] if isinstance(told, str) else told)


def test_sizes_of_one_grade_next_to_each_other_are_right() -> None:
    sizes = (
        "thick: {thickness: .0880, grade: x}, mid: {thickness: .0800, grade: x}, "
        "thin: {thickness: .0690, grade: y}"
    )
    family = taken(DRUM, ("thick: .0880, thin: .0690", sizes)).unit.families["drum steel"]
    assert [size.grade for size in family.sizes.values()] == ["x", "x", "y"]


# The unit as a whole.


def test_a_unit_has_a_gap() -> None:
    bare = DRUM.replace(DRUM[DRUM.index("  packs:") : DRUM.index("shelf:")], "")
    assert (
        problem(bare) == "2: unit: the unit has no packs and no end plays; write one under `packs`"
    )


@each("beside the packs")
def test_what_is_wrong_beside_the_packs(old: str, new: str, told: str | list[str]) -> None:
    assert problems(DRUM, (old, new)) == ([told] if isinstance(told, str) else told)


# Gaps and their windows.


@each("gaps and windows that are not right")
def test_a_gap_that_is_not_right(old: str, new: str, told: str | list[str]) -> None:
    assert problems(DRUM, (old, new)) == ([told] if isinstance(told, str) else told)


@each("heat that is not right")
def test_what_is_said_of_heat_is_right(old: str, new: str, told: str | list[str]) -> None:
    assert problems(DRUM, (old, new)) == ([told] if isinstance(told, str) else told)


def test_a_pack_without_steels_has_no_heat() -> None:
    bare = ("friction, drum steel]", "friction, drum plate]"), ("apply plate, {", "{")
    heat = ("window: .060", "heat: {energy: 3 kJ, outer: 5}\n      window: .060")
    told = problems(DRUM, *bare, heat, ("[thick, thick, thick, .0780]", "[.0780]"))
    assert "11: unit.packs.low drum.heat: this pack has no steel to heat; leave `heat` out" in told


@pytest.mark.parametrize(
    ("window", "aim"),
    [
        ("{gap: at least 0, aim: .07, scale: .01}", "0.07"),
        ("{gap: at most 0, aim: -.01, scale: .01}", "-0.01"),
        ("{gap: at least .06, aim: tight, scale: .01}", "0.06"),
        ("{gap: at most .08, aim: loose, scale: .01}", "0.08"),
        ("{gap: .07 to .07, scale: .01}", "0.07"),
        ("{gap: -.010 to -.004, aim: loose}", "-0.004"),
        ("{gap: .06 to .08, aim: .06}", "0.06"),
    ],
)
def test_a_window_that_is_right_aims_where_it_says(window: str, aim: str) -> None:
    found = taken(DRUM, (WINDOW, window)).unit.packs["low drum"].window
    assert found is not None
    assert found.target == parse_length(aim, "in")
    assert found.width > parse_length("0 in")


# Layouts.

FULL = "{rank: 0, stack: [apply plate, friction, drum steel, friction, drum plate, drum ring]}"
FACT = unit("facts: {oil: {values: [old, new], default: old}}")


def layouts(full: str, other: str = FULL.replace("0", "1", 1)) -> tuple[Swap, ...]:
    written = f"      layouts:\n        full: {full}\n        other: {other}\n"
    job: Swap = ("trial: [thick, thick, thick, .0780], gap: .041", "gap: .041")
    return (f"      stack: {STACK}\n", written), job, FACT


RIGHT = "rank: 0"


@pytest.mark.parametrize(
    ("full", "told"),
    [
        (("rank: 0, ", ""), ": give each layout a `rank`, 0 for the best"),
        ((FULL, "{rank: 0, stack: []}"), ".stack: a stack has at least one place"),
        ((FULL, "{rank: 0}"), ".stack: this key is missing; write it with a value"),
        ((RIGHT, "rank: 0, only if: {air: on}"), '.only if.air: found "air"; facts: oil'),
        ((RIGHT, "rank: 0, only if: {oil: odl}"), '.only if.oil: found "odl"; did you mean "old"?'),
        (
            (RIGHT, "rank: 0, window: .07 to .07"),
            ".window: a window without width states a `scale` to compare with",
        ),
        ((RIGHT, "rank: 0, space: gpa"), '.space: found "gpa"; did you mean "gap"?'),
        (
            ("drum ring", "drum rign"),
            '.stack.6: found "drum rign"; did you mean "drum ring"?',
        ),
    ],
)
def test_a_layout_that_is_not_right(full: Swap, told: str) -> None:
    found = problem(DRUM, *layouts(swapped(FULL, full)))
    assert found.partition(": ")[2] == f"unit.packs.low drum.layouts.full{told}"


def test_layouts_that_are_right_and_a_window_of_the_gap_told_once() -> None:
    assert taken(DRUM, *layouts(FULL.replace("rank: 0", "rank: 0, only if: {oil: [old, new]}")))
    wrong = problem(DRUM, *layouts(FULL), (WINDOW, ".07 to .07"))
    assert wrong.startswith("12: unit.packs.low drum.window: a window without width")


def test_a_layout_without_a_window_of_its_own_or_the_gaps() -> None:
    none: Swap = (f"      window: {WINDOW}\n", "")
    own = FULL.replace("rank: 0", f"rank: 0, window: {WINDOW}")
    assert problem(DRUM, *layouts(own), none) == (
        "14: unit.packs.low drum.layouts.other: this stack has no window; write `window` here or "
        "for the whole gap"
    )


# Places.

END_PLAY = "end plays: {front: {window: .01 to .03, stack: [%s]}}"
SHIM: Swap = ("    friction:", "    shim: {kind: shim, sizes: [.010]}\n    friction:")


@each("places that are not right")
def test_a_place_that_is_not_right(old: str, new: str, told: str | list[str]) -> None:
    assert problems(DRUM, (old, new)) == ([told] if isinstance(told, str) else told)


@pytest.mark.parametrize("groove", [".0780 to .080", "at least .060", "at most .060"])
def test_a_groove_that_one_size_fits_is_right(groove: str) -> None:
    place = f"{{part: drum ring, groove: {groove}}}"
    assert taken(DRUM, ("drum plate, drum ring]", f"drum plate, {place}]"))


@pytest.mark.parametrize("count", ["0", "3 to 1", "x", "-1", "1 to 100", "[1, 2]", "0 to 0"])
def test_how_many_shims_may_lie_somewhere(count: str) -> None:
    where = "{part: shim, how many: %s}"
    found = problem(DRUM, SHIM, unit(END_PLAY % where % count))
    assert found.startswith("10: unit.end plays.front.stack.1.how many: found ")
    for right, pair in (("3", (3, 3)), ("0 to 3", (0, 3)), ("1-2", (1, 2))):
        case = taken(DRUM, SHIM, unit(END_PLAY % where % right))
        assert case.unit.end_plays["front"].stack[0].how_many == pair


def test_a_shared_part_is_one_part() -> None:
    shared = unit("shared parts: {hub: {family: shim}}")
    several = problem(DRUM, SHIM, unit(END_PLAY % "{part: hub, how many: 0 to 2}"), shared)
    assert several.endswith("only shims and spacers of the shelf may be stacked")
    twice = problem(DRUM, SHIM, unit(END_PLAY % "hub, hub"), shared)
    assert twice.endswith('.stack: "hub" is one part and lies here twice; name a family')
    gone = problem(
        DRUM, SHIM, unit(END_PLAY % "hub"), (shared[0], shared[1].replace("shim", "shm"))
    )
    assert gone.endswith('unit.shared parts.hub.family: found "shm"; did you mean "shim"?')


def test_a_steel_belongs_in_a_pack() -> None:
    found = problem(DRUM, unit(END_PLAY % "drum steel"))
    assert found == (
        "9: unit.end plays.front.stack.1: a steel belongs in a pack; call it a spacer or a "
        "washer here"
    )


def test_a_groove_is_for_rings_of_its_form() -> None:
    other = problem(
        DRUM, ("friction, drum plate", "friction, {part: drum plate, groove: .1 to .2}")
    )
    assert other == "12: unit.packs.low drum.stack.4.groove: only a ring sits in a groove"
    formed = ("kind: ring,", "kind: ring, form: bevelled,")
    flat = "{part: drum ring, groove: {takes: .06 to .08, form: flat}}"
    cut = problem(DRUM, formed, ("plate, drum ring]", f"plate, {flat}]"))
    assert cut.endswith(".groove: cut for a flat ring; this family is bevelled")


def test_two_places_have_two_names() -> None:
    again = "[apply plate, {repeat: 3, of: [friction, {part: drum steel, name: one}]}, friction, "
    found = problems(DRUM, stack(f"{again}drum plate, drum ring]"))
    assert found == ['12: unit.packs.low drum.stack: two places are called "one"; name them apart']


# Faces.

ONE_SIDED: Swap = ("fixed: .0800", "fixed: .0800, lined: one side")


NO_TRIAL: Swap = ("trial: [thick, thick, thick, .0780], gap: .041", "gap: .041")
ALLOW = "; if that is right, write `smooth faces may meet: yes` in its layout"


@pytest.mark.parametrize(
    ("places", "where", "met"),
    [
        ("friction, friction", 2, "two lined faces meet: friction on friction"),
        (
            "drum ring, drum steel, drum steel",
            3,
            "two smooth faces meet: drum steel on drum steel" + ALLOW,
        ),
        (
            "apply plate, drum plate",
            2,
            "two smooth faces meet: apply plate on drum plate" + ALLOW,
        ),
    ],
)
def test_two_lined_faces_or_two_smooth_ones_do_not_meet(places: str, where: int, met: str) -> None:
    found = problem(DRUM, stack(f"[{places}]"), NO_TRIAL)
    assert found == f"12: unit.packs.low drum.stack.{where}: {met}"


def test_a_ring_has_no_face_a_lining_runs_on() -> None:
    places = "[drum ring, friction, drum ring, drum steel, drum ring, drum ring]"
    assert taken(DRUM, stack(places), NO_TRIAL)


def test_smooth_faces_meet_where_the_layout_allows_it_and_lined_ones_never() -> None:
    smooth = FULL.replace("rank: 0", "rank: 0, smooth faces may meet: yes")
    assert taken(DRUM, *layouts(smooth.replace("friction, ", "", 1)))
    lined = problem(DRUM, *layouts(smooth.replace("friction, ", "friction, friction, ", 1)))
    assert lined.endswith("two lined faces meet: friction on friction")


LEFT = "{part: friction, lining faces: piston}"
RIGHTWARD = "{part: friction, lining faces: ring}"


def test_a_part_lined_on_one_side_says_where_its_lining_looks() -> None:
    assert problem(DRUM, ONE_SIDED, stack("[friction, drum ring]"), NO_TRIAL) == (
        "12: unit.packs.low drum.stack.1: lined on one side: say which end its `lining faces`"
    )
    assert taken(DRUM, ONE_SIDED, stack(f"[drum steel, {LEFT}, {LEFT}, drum ring]"), NO_TRIAL)
    assert taken(DRUM, ONE_SIDED, stack(f"[{RIGHTWARD}, drum steel, {LEFT}]"), NO_TRIAL)


@pytest.mark.parametrize(
    ("places", "kind"),
    [
        (f"{RIGHTWARD}, {LEFT}", "lined"),
        (f"{LEFT}, {RIGHTWARD}", "smooth"),
        (f"{LEFT}, drum steel", "smooth"),
        (f"drum steel, {RIGHTWARD}", "smooth"),
    ],
)
def test_each_side_of_a_part_lined_on_one_side_has_its_face(places: str, kind: str) -> None:
    found = problem(DRUM, ONE_SIDED, stack(f"[{places}, drum ring]"), NO_TRIAL)
    assert f".stack.2: two {kind} faces meet" in found


def test_a_friction_without_lining_is_a_smooth_plate() -> None:
    found = problems(DRUM, ("fixed: .0800", "fixed: .0800, lined: no"))
    assert len(found) == 5
    assert all("two smooth faces meet" in line for line in found)


# Rules.


@each("rules that are not right")
def test_a_rule_has_one_of_its_two_forms(old: str, new: str, told: str | list[str]) -> None:
    assert problems(DRUM, (old, new)) == ([told] if isinstance(told, str) else told)


def test_rules_that_are_right() -> None:
    rules = (
        "{with: drum ring / .0600, never: drum steel/thin}, {with: drum ring, must: drum steel}, "
        "{count: drum steel, at least: 1, at most: 3, in: low drum, preference: yes, because: x}"
    )
    assert len(taken(DRUM, unit(f"rules: [{rules}]")).unit.rules) == 3
    least = taken(DRUM, unit("rules: [{count: drum steel, at least: 0}]")).unit.rules
    assert least[0].at_least == 0
