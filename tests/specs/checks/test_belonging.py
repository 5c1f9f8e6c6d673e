"""What belongs together is never mixed: refused before any solving, and never chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gapwright.fit.service import fit_case
from solver.problem.solution import Fit
from specs.errors import InputError
from specs.gaps.job_gap import JobGap
from tests.specs.drums import DRUM, problem, taken

if TYPE_CHECKING:
    from tests.specs.drums import Swap

WOULD = "would: the spring goes solid before the pack is pressed"
SETS: Swap = (
    "  packs:\n",
    f"""\
  facts: {{oil: {{values: [old, new]}}}}
  belongs together:
    piston and spring:
      sets:
        deep: {{piston height: 1.315 ± .002, piston spring: nine turns}}
        shallow: {{piston height: 1.190 ± .002, piston spring: [twelve turns, short wound]}}
      {WOULD}
    ring and oil:
      sets:
        one: {{oil: old, drum ring: [.0600, .0700], friction: .079 to .081}}
        two: {{oil: new, drum ring: .0780, friction: .090 to .092}}
      would: the ring turns
  packs:
""",
)
GAP = "  gaps:\n"


def job(*lines: str) -> Swap:
    return (GAP, "".join(f"  {line}\n" for line in lines) + GAP)


@pytest.mark.parametrize(
    ("height", "spring", "right"),
    [
        ("1.315", "nine turns", True), ("1.317", "Nine  turns", True),
        ("1.190", "twelve turns", True), ("30.2 mm", "short wound", True),
        ("1.315", "twelve turns", False), ("1.188", "nine turns", False),
        ("1.317", "short wound", False),
    ],
)  # fmt: skip
def test_two_piston_heights_take_each_its_own_spring_and_never_the_others(
    height: str, spring: str, *, right: bool
) -> None:
    found = job(f"found: {{piston height: {height}, piston spring: {spring}}}")
    if right:
        assert isinstance(fit_case(taken(DRUM, SETS, found)).answer, Fit)
        return
    said = problem(DRUM, SETS, found)
    height_of_set = "1.315" if spring == "nine turns" else "1.190"
    assert f"piston spring {spring} goes with piston height {height_of_set} ± .002" in said
    assert f"piston height here is {height}: the spring goes solid" in said
    assert "job.found.piston spring" in said


def test_a_height_of_no_set_is_refused_with_those_there_are() -> None:
    said = problem(DRUM, SETS, job("found: {piston height: 1.250}"))
    assert said.endswith('found "1.250"; piston height is 1.315 ± .002 or 1.190 ± .002')
    said = problem(DRUM, SETS, job("found: {piston hight: 1.250}"))
    assert said.endswith('found "piston hight"; did you mean "piston height"?')


def test_a_part_kept_in_or_built_that_belongs_elsewhere_is_refused() -> None:
    old = job("facts: {oil: old}")
    trial = "{trial: [thick, thick, thick, .0780], gap: .041}"
    assert isinstance(fit_case(taken(DRUM, SETS, old)).answer, Fit)  # tried with, not built of
    for more in (
        "now: trial", "keep: {drum ring: .0780}",
        "as built: {at: .068, parts: [thin, thick, thick, .0780]}",
    ):  # fmt: skip
        swap = (trial, trial[:-1] + f", {more}}}")
        said = problem(DRUM, SETS, old, swap)
        assert "drum ring .0780 goes with oil new, and oil here is old: the ring turns" in said
    said = problem(DRUM, SETS, old, job("parts: {friction: .091}"))
    assert "friction 0.091 in goes with oil new, and oil here is old" in said


def test_what_is_chosen_is_of_the_set_that_is_left() -> None:
    for oil, rings in (("old", {".0600", ".0700"}), ("new", {".0780"})):
        answer = fit_case(taken(DRUM, SETS, job(f"facts: {{oil: {oil}}}"))).answer
        ring = answer.instance.gaps[0].layouts[0].places[-1]
        allowed = {answer.instance.choices[c].size for c in ring.takes}
        assert allowed == rings


STACK = "[apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]"
CASTINGS: Swap = (
    "  packs:\n",
    """\
  belongs together:
    castings:
      sets:
        early: {casting: A, low drum: full}
        late: {casting: B, low drum: cut}
      would: the plate bows
  packs:
""",
)
LAYOUTS: Swap = (
    f"      stack: {STACK}\n",
    f"""\
      layouts:
        full: {{rank: 0, stack: {STACK}}}
        cut: {{rank: 1, stack: {STACK}}}
""",
)


def test_a_layout_of_another_set_is_set_aside_with_what_it_would_do() -> None:
    tried: Swap = ("{trial: [thick, thick, thick, .0780], gap", "{gap")
    case = taken(DRUM, CASTINGS, LAYOUTS, tried, job("found: {casting: B}"))
    assert JobGap(case, "low drum").barred == ["full: casting is B (the plate bows)"]
    said = problem(
        DRUM, CASTINGS, LAYOUTS, (tried[0], "{layout: full, gap"), job("found: {casting: B}")
    )
    assert "low drum full goes with casting A, and casting here is B: the plate bows" in said


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("piston spring: nine turns}", "x: 1}", "say what"),
        ("oil: old, drum", "oil: odd, drum", 'found "odd"; did you mean "old"?'),
        (".0600, .0700]", ".0600, .0701]", 'found ".0701"; did you mean'),
        (f"      {WOULD}\n", "", "this key is missing"),
        (
            "oil: old, drum ring", "drum steel: thin, oil: old, drum ring",
            "drum steel and drum ring are both chosen by a solve",
        ),
    ],
)  # fmt: skip
def test_sets_that_are_not_whole_are_refused(old: str, new: str, said: str) -> None:
    swap: Swap = (SETS[0], SETS[1].replace(old, new))
    with pytest.raises(InputError) as error:
        taken(DRUM, swap)
    assert said in str(error.value)
