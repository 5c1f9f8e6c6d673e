"""One rebuild: the best build by the ordered aims, proved; or no fit, and how near it comes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.builds.counts import counts_block
from solver.builds.dominance import undominated
from solver.builds.enumeration import TooManyError
from solver.builds.ideal_point import guesses
from solver.builds.patterns import Pattern, list_patterns, pattern_block
from solver.engines.cp_sat import Clock, Limits, Program
from solver.problem import judge
from solver.problem.solution import Answer, Fit, Undecided
from solver.rebuild.model import Descent, Model, descend
from solver.rebuild.nearest_miss import nearest_miss
from specs.errors import InputError, JudgeError, Problem

if TYPE_CHECKING:
    from solver.builds.dominance import Listed
    from solver.problem.instance import Gap, Task


def fit(task: Task, limits: Limits | None = None) -> Answer:
    """Choose the parts of one rebuild.

    Raises JudgeError where the engine's answer does not hold in plain integers.
    """
    clock = Clock(limits or Limits())
    return searched(task, clock) or nearest_miss(task, clock)


def searched(task: Task, clock: Clock) -> Fit | Undecided | None:
    """The best build, or nothing where it is proved that there is none.

    Raises JudgeError where the engine's answer does not hold in plain integers.
    """
    patterns = [listed(task, gap) for gap in task.gaps]
    if [] in patterns:
        return None
    found = _descended(task, patterns, clock)
    if found.status == "infeasible":
        return None
    if found.build is None:
        return Undecided(task)
    return judged(task, found)


def _descended(task: Task, patterns: Listed, clock: Clock) -> Descent:
    """Descend from the boldest guess that holds; the last guess is none."""
    for kept in guesses(task, patterns):
        found = descend(model_of(task, undominated(task, kept)), clock)
        if found.status != "infeasible":
            break
    return found


def judged(task: Task, found: Descent) -> Fit:
    """Take an answer of the engine only after it was judged in plain integers."""
    build = found.build
    if build is None:
        raise JudgeError("there is no build to judge")
    wrong = judge.faults(task, build)
    if wrong:
        raise JudgeError(f"the engine's build is not allowed: {'; '.join(wrong)}")
    values = judge.values(task, build)
    proved = found.status == "proved"
    if proved and values != found.values[: len(values)]:
        raise JudgeError(f"the engine says {found.values}, plain integers say {values}")
    gaps = tuple(judge.gap_of(task, build, index) for index in range(len(build)))
    return Fit(task, build, gaps, values, found.bounds[: len(values)], proved)


def listed(task: Task, gap: Gap) -> list[Pattern] | None:
    """A gap's patterns, or None where they are too many to list.

    Raises InputError where each is to be weighed, so that they must be listed.
    """
    if task.weighs:
        return weighable(task, gap)
    try:
        return list_patterns(task, gap)
    except TooManyError:
        return None


def weighable(task: Task, gap: Gap) -> list[Pattern]:
    """A gap's patterns, to be weighed one by one; raises InputError where they are too many."""
    try:
        return list_patterns(task, gap)
    except TooManyError:
        sentence = (
            f"{gap.name} has too many builds to work out how sure each is; keep some of its parts "
            "(`keep` in the job), or put lots together that measured nearly the same"
        )
        raise InputError(Problem(sentence)) from None


def model_of(task: Task, patterns: list[list[Pattern] | None]) -> Model:
    """Put a job into a program: gaps with patterns by their patterns, the others by counts."""
    program = Program()
    blocks = [
        counts_block(task, gap, program) if mine is None else pattern_block(task, mine, program)
        for gap, mine in zip(task.gaps, patterns, strict=True)
    ]
    return Model(task, program, blocks)
