"""Which layouts a job's facts allow, in which order, with which window, and how places count."""

from __future__ import annotations

import pytest

from specs.gaps.job_gap import JobGap
from specs.models.gaps import Arrangement
from specs.models.layouts import fact_of
from specs.values.lengths import show
from specs.values.repeated_places import step_of
from tests.specs.drums import DRUM, Swap, problem, taken

STACK = "[apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]"
UNIT: Swap = (
    "unit:\n",
    """\
unit:
  facts:
    oil: {values: [old, new], default: old}
    air: {values: [on, off], default: on}
""",
)
LAYOUTS: Swap = (
    f"      stack: {STACK}\n",
    f"""\
      layouts:
        cut: {{rank: 2, stack: {STACK}, only if: {{oil: new}}, because: it bows}}
        full: {{rank: 0, stack: {STACK}, only if: {{oil: [old, new], air: on}}}}
        spare: {{rank: 1, stack: {STACK}, window: .070 to .090}}
        again: {{rank: 1, stack: {STACK}}}
""",
)
JOB: Swap = ("{trial: [thick, thick, thick, .0780], gap: .041}", "{gap: .041}")


def allowed(facts: str = "{}", layout: str = "") -> list[str]:
    own = (JOB[0], JOB[1] if not layout else f"{{gap: .041, layout: {layout}}}")
    case = taken(DRUM, UNIT, LAYOUTS, own, ("job:\n", f"job:\n  facts: {facts}\n"))
    return [*JobGap(case, "low drum").layouts]


def test_the_best_ranked_layout_comes_first_and_equals_by_name() -> None:
    assert allowed() == ["full", "again", "spare"]
    assert allowed("{oil: new}") == ["full", "again", "spare", "cut"]
    assert allowed("{air: off}") == ["again", "spare"]
    assert allowed("{oil: new, air: off}") == ["again", "spare", "cut"]


def test_a_job_may_ask_for_one_layout() -> None:
    assert allowed(layout="spare") == ["spare"]
    assert allowed(layout="cut") == []
    assert allowed("{oil: new}", layout="cut") == ["cut"]


def test_a_layout_that_is_not_allowed_says_why() -> None:
    case = taken(DRUM, UNIT, LAYOUTS, JOB, ("job:\n", "job:\n  facts: {air: off}\n"))
    assert JobGap(case, "low drum").barred == ["cut: oil is old (it bows)", "full: air is off"]
    assert [fact_of(case, name) for name in ("oil", "air")] == ["old", "off"]
    assert JobGap(taken(DRUM), "low drum").barred == []


def test_a_layout_has_its_own_window_or_the_gaps() -> None:
    gap = taken(DRUM, UNIT, LAYOUTS, JOB).unit.gaps["low drum"]
    lows = {name: one.window.gap.low for name, one in gap.arrangements.items()}
    assert {name: low and show(low, "in") for name, low in lows.items()} == {
        "cut": "0.060 in", "full": "0.060 in", "spare": "0.070 in", "again": "0.060 in",
    }  # fmt: skip
    with pytest.raises(ValueError, match="without a window"):
        _ = Arrangement("full", (), gap.space, None).window


def test_the_only_layout_of_a_plain_stack_is_called_stack() -> None:
    plain = taken(DRUM)
    assert [*JobGap(plain, "low drum").layouts] == ["stack"]
    assert [*plain.unit.gaps["low drum"].arrangements] == ["stack"]


def test_repeated_places_are_written_out_and_found_again_in_the_file() -> None:
    written = ["apply plate", {"repeat": "3", "of": ["friction", "drum steel"]}, "drum ring"]
    stack = taken(DRUM).unit.packs["low drum"].stack
    assert [place.part for place in stack[:5]] == [
        "apply plate", "friction", "drum steel", "friction", "drum steel",
    ]  # fmt: skip
    assert len(stack) == 10
    assert [step_of(written, place) for place in range(9)] == [
        (0,), (1, "of", 0), (1, "of", 1), (1, "of", 0), (1, "of", 1), (1, "of", 0), (1, "of", 1),
        (2,), (),
    ]  # fmt: skip
    assert step_of([{"repeat": "2", "of": "friction"}, "drum ring"], 1) == (0, "of")
    assert step_of([{"repeat": "x", "of": ["friction"]}, "drum ring"], 1) == (1,)


def test_one_part_may_be_repeated_and_a_stack_has_at_most_ninety_nine_places() -> None:
    one: Swap = (STACK, "[{repeat: 99, of: {part: drum ring, name: one}}]")
    many: Swap = (STACK, "[{repeat: 2, of: drum ring}, friction]")
    job: Swap = (JOB[0], "{gap: .041}")
    assert [place.part for place in taken(DRUM, many, job).unit.packs["low drum"].stack] == [
        "drum ring", "drum ring", "friction",
    ]  # fmt: skip
    plain: Swap = (STACK, "[" + ", ".join(["drum ring"] * 100) + "]")
    assert problem(DRUM, plain).endswith("found a list; a stack has at most 99 places")
    longest: Swap = (one[0], one[1].replace(", name: one", ""))
    assert len(taken(DRUM, longest, job).unit.packs["low drum"].stack) == 99
