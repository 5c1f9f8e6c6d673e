"""Which part a person means, which parts a listed build holds, which of them are the job's own."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from specs.gaps.job_gap import JobGap, in_the_drum, lots_of
from specs.models.job import Job
from specs.parts.lookup import (
    ListedBuild,
    NamedPart,
    PartError,
    find_size,
    list_build,
    selective,
)
from specs.values.lengths import LengthUnit, parse_length, show
from tests.specs.drums import DRUM, Swap, problem, taken

if TYPE_CHECKING:
    from specs.models.lot import Lot

SHIMS = """\
length: mm
unit:
  families:
    plate: {kind: pressure plate, fixed: 4.00}
    ring:
      kind: ring
      tolerance: 0.02
      sizes:
        A: {thickness: 1.48 to 1.52, mark: "1"}
        B: {thickness: 1.55, mark: "2"}
        C: {thickness: 1.56, mark: red}
        D: {thickness: 1.80, mark: red}
    shim: {kind: shim, sizes: [0.10, 0.25]}
    washer: {kind: washer, sizes: {W: 1.20, X: 1.40}}
  shared parts:
    hub washer: {family: washer}
  packs:
    drum:
      window: 0.5 to 0.9
      layouts:
        bare: {rank: 0, stack: [plate, ring]}
        shimmed: {rank: 1, stack: [plate, {part: shim, how many: 1 to 3}, ring]}
  end plays:
    front: {window: 0.1 to 0.3, stack: [hub washer, {part: shim, how many: 0 to 2}]}
    rear: {window: 0.1 to 0.3, stack: [{part: hub washer, factor: -1}, plate]}
shelf: {}
job:
  gaps:
    drum: {gap: 0.7, trial: {layout: shimmed, parts: [[0.10, 0.25], B]}}
    front: {gap: 0.2, trial: [X, []]}
"""


def find(text: str, unit: LengthUnit | None = "mm") -> tuple[str, str]:
    part = find_size("ring", taken(SHIMS).unit.families["ring"], text, unit)
    return part.size, show(part.thickness, "mm")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("A", ("A", "1.50 mm")),
        ("1", ("A", "1.50 mm")),
        ("2", ("B", "1.55 mm")),
        ("1.50", ("A", "1.50 mm")),
        ("1,80 mm", ("D", "1.80 mm")),
        ("1.47", ("A", "1.47 mm")),
        ("1.55", ("B", "1.55 mm")),
        ("1.56", ("C", "1.56 mm")),
        ("0.0709 in", ("D", "1.801 mm")),
        ("A 1.49", ("A", "1.49 mm")),
        ("A 1.90", ("A", "1.90 mm")),
        ("2 1.553 mm", ("B", "1.553 mm")),
    ],
)
def test_a_part_is_told_by_name_mark_or_thickness(text: str, found: tuple[str, str]) -> None:
    assert find(text) == found


@pytest.mark.parametrize(
    "text",
    [
        "E",
        "red",
        "1.6",
        "1.54",
        "1.535",
        "1.555",
        "",
        " ",
        "1.50 A",
        "A B",
        "nan",
        "A nan",
        "1.50 in",
    ],
)
def test_a_part_that_could_be_none_or_several_is_asked_for(text: str) -> None:
    with pytest.raises(PartError) as caught:
        find(text)
    assert str(caught.value) == (
        f'found "{text}"; the sizes of ring are A 1.50 mm, B 1.55 mm, C 1.56 mm, D 1.80 mm; write '
        'one of them, or a size with what it measured: "A 1.50 mm"'
    )


def test_a_bare_thickness_needs_a_unit_but_a_size_called_by_its_thickness_does_not() -> None:
    family = taken(DRUM).unit.families["drum ring"]
    assert find_size("drum ring", family, ".0700", None).size == ".0700"
    with pytest.raises(PartError):
        find_size("drum ring", family, ".070", None)
    assert find_size("drum ring", family, ".070", "in").size == ".0700"
    assert find_size("drum ring", family, "1.778 mm", None).size == ".0700"


# A build, listed.


def build(gap: str, text: str) -> ListedBuild:
    case = taken(SHIMS, (SHIMS.partition("  gaps:\n")[2], f"    {gap}: {{trial: {text}}}\n"))
    parts = JobGap(case, gap).trial
    assert parts is not None
    return list_build(case.unit, case.unit.gaps[gap], parts, "mm")


def shown(listed: ListedBuild) -> dict[str, list[str]]:
    return {
        label: [f"{part.size} {show(part.thickness, 'mm')}" for part in parts]
        for label, parts in listed.parts.items()
    }


def test_a_listed_build_names_the_parts_that_are_chosen_and_leaves_the_fixed_ones_out() -> None:
    listed = build("drum", "{layout: shimmed, parts: [[0.10, 0.10 0.11], A 1.51]}")
    assert listed.layout == "shimmed"
    assert shown(listed) == {"shim": ["0.10 0.10 mm", "0.10 0.11 mm"], "ring": ["A 1.51 mm"]}
    assert shown(build("front", "[W, []]")) == {"hub washer": ["W 1.20 mm"], "shim": []}


@pytest.mark.parametrize(
    ("word", "parts"),
    [
        ("none", {"shim": [], "ring": []}),
        ("thinnest", {"shim": ["0.10 0.10 mm"], "ring": ["A 1.50 mm"]}),
        ("thickest", {"shim": ["0.25 0.25 mm"], "ring": ["D 1.80 mm"]}),
    ],
)
def test_a_trial_build_may_be_a_word(word: str, parts: dict[str, list[str]]) -> None:
    assert shown(build("drum", f"{{layout: shimmed, parts: {word}}}")) == parts


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[A]", "say which layout it is: {layout: ..., parts: [...]} with one of bare, shimmed"),
        ("{layout: shimed, parts: [A]}", 'found "shimed"; did you mean "shimmed"?'),
        ("{layout: x, parts: [A]}", 'found "x"; its layouts: bare, shimmed'),
        ("{layout: bare, parts: [A, B]}", "found 2 parts; the stack takes 1 in this order: ring"),
        ("{layout: bare, parts: []}", "found 0 parts; the stack takes 1 in this order: ring"),
        ("{layout: shimmed, parts: [[], A]}", "found 0 parts for shim; it takes 1 to 3"),
        ("{layout: bare, parts: [[A, B]]}", "found 2 parts for ring; it takes 1 to 1"),
        ("{layout: shimmed, parts: [0.10, E]}", 'found "E"; the sizes of ring are A 1.50 mm'),
        ("{layout: bare, parts: trial}", 'found "trial"; list the parts from the first end'),
        ("{layout: bare, parts: thin}", 'found "thin"; list the parts from the first end'),
    ],
)
def test_a_build_that_does_not_match_its_stack(text: str, told: str) -> None:
    own = "{layout: shimmed, parts: [[0.10, 0.25], B]}"
    found = problem(SHIMS, (own, text))
    assert found.startswith(f"29: job.gaps.drum.trial: {told}")


# Which build is meant.


def meant(job: str, *swaps: Swap) -> tuple[object, object]:
    case = taken(DRUM, ("trial: [thick, thick, thick, .0780], gap: .041", job), *swaps)
    gap = JobGap(case, "low drum")
    trial, now = gap.trial, gap.now
    return trial and trial.parts, now and now.parts


BUILT = (("thick",), ("thin",), ("thin",), (".0700",))
AS_TRIAL: Swap = ("      window", "      trial: thinnest\n      window")


def test_the_trial_build_and_the_one_that_is_in() -> None:
    listed = "[thick, thin, thin, .0700]"
    assert meant("gap: .041") == (None, None)
    assert meant(f"gap: .041, trial: {listed}") == (BUILT, None)
    assert meant(f"gap: .041, now: {listed}") == (None, BUILT)
    assert meant(f"gap: .041, trial: {listed}, now: trial") == (BUILT, BUILT)
    assert meant(f"gap: .041, trial: old, now: {listed}") == (BUILT, BUILT)
    assert meant("gap: .041", AS_TRIAL) == ("thinnest", None)
    assert meant("gap: .041, trial: none", AS_TRIAL) == ("none", None)
    old = (AS_TRIAL[0], AS_TRIAL[1].replace("thinnest", "old"))
    assert meant("gap: .041", old) == (None, None)
    assert meant(f"gap: .041, now: {listed}", old) == (BUILT, BUILT)
    nothing = replace(taken(DRUM), job=Job.model_validate({}))
    assert JobGap(nothing, "low drum").trial is JobGap(nothing, "low drum").now is None


def test_the_places_that_are_chosen_are_numbered_where_a_part_lies_more_than_once() -> None:
    case = taken(DRUM)
    layout = case.unit.gaps["low drum"].arrangements["stack"]
    assert [*selective(case.unit, layout)] == [
        (2, "drum steel 1"), (4, "drum steel 2"), (6, "drum steel 3"), (9, "drum ring"),
    ]  # fmt: skip
    of_it = "{repeat: 3, of: [friction, drum steel]}"
    apart = "friction, drum steel, friction, {part: drum steel, name: last}, friction, drum steel"
    named = taken(DRUM, (of_it, apart)).unit.gaps["low drum"].arrangements["stack"]
    assert named.labels[1:7] == (
        "friction 1", "drum steel 1", "friction 2", "last", "friction 3", "drum steel 2",
    )  # fmt: skip


# The job's own parts.


def own(text: str, *gaps: str, swaps: tuple[Swap, ...] = ()) -> Counter[tuple[str, str, str]]:
    case = taken(text, *swaps)
    drum = in_the_drum(case, gaps)
    lots: tuple[Lot, ...] = lots_of(case, drum.own + drum.tried)
    assert all(lot.own and lot.condition == "used" and not lot.bin for lot in lots)
    found = Counter({(lot.family, lot.size, show(lot.thickness, "mm")): lot.count for lot in lots})
    assert len(found) == len(lots)
    return found


def test_the_parts_of_the_trial_build_are_on_hand_for_this_job() -> None:
    assert own(SHIMS, "drum", "front") == {
        ("shim", "0.10", "0.10 mm"): 1,
        ("shim", "0.25", "0.25 mm"): 1,
        ("ring", "B", "1.55 mm"): 1,
        ("washer", "X", "1.40 mm"): 1,
    }
    assert own(SHIMS, "front") == {("washer", "X", "1.40 mm"): 1}
    assert own(SHIMS, "rear") == own(SHIMS) == {}


def test_a_part_that_a_gap_names_in_both_builds_is_one_part() -> None:
    both: Swap = ("gap: .041", "gap: .041, now: [thick, thin, thin, .0780]")
    assert own(DRUM, "low drum", swaps=(both,)) == {
        ("drum steel", "thick", "2.235 mm"): 3,
        ("drum steel", "thin", "1.753 mm"): 2,
        ("drum ring", ".0780", "1.981 mm"): 1,
    }


def test_a_shared_part_that_two_gaps_name_is_one_part() -> None:
    rear: Swap = ("    front: {gap", "    rear: {gap: 0.2, now: [X]}\n    front: {gap")
    other: Swap = (rear[0], rear[1].replace("X", "W"))
    assert own(SHIMS, "front", "rear", swaps=(rear,)) == {("washer", "X", "1.40 mm"): 1}
    assert own(SHIMS, "front", "rear", swaps=(other,)) == {
        ("washer", "X", "1.40 mm"): 1,
        ("washer", "W", "1.20 mm"): 1,
    }


def test_a_trial_build_that_is_a_word_is_made_of_the_shops_own_parts() -> None:
    word: Swap = ("[thick, thick, thick, .0780]", "thinnest")
    assert own(DRUM, "low drum", swaps=(word,)) == {}


def test_a_part_as_measured_is_a_part_of_its_own() -> None:
    part = NamedPart("drum steel", "thick", parse_length("0.0877 in"))
    assert part != NamedPart("drum steel", "thick", parse_length("0.0880 in"))
    measured: Swap = ("[thick, thick, thick", "[thick .0877, thick 87.7 thou, thick")
    assert own(DRUM, "low drum", swaps=(measured,)) == {
        ("drum steel", "thick", "2.228 mm"): 2,
        ("drum steel", "thick", "2.235 mm"): 1,
        ("drum ring", ".0780", "1.981 mm"): 1,
    }
