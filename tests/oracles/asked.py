"""Random jobs with what brute force says of them, worked out once for all tests of a run."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from solver.problem import judge
from solver.problem.solution import Fit, NoFit
from tests.oracles.compare import brute_of, disagreements, miss_disagreements
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.problem.solution import Answer
    from specs.models.case import Case
    from tests.oracles.brute_shapes import Best, Nearest


@dataclass(frozen=True, slots=True)
class Asked:
    """A job with what brute force says of it."""

    seed: int
    roads: frozenset[str]
    case: Case
    best: Best | None
    nearest: Nearest | None


@cache
def ask(seed: int) -> Asked | None:
    """Draw a job and try everything; nothing where that would take too long."""
    job = random_job(seed)
    case = job.case()
    brute = brute_of(case)
    if brute is None:
        return None
    best = brute.best()
    return Asked(seed, job.roads, case, best, None if best else brute.nearest())


def differences(asked: Asked, answer: Answer) -> list[str]:
    """Everything in which an answer is not what brute force says."""
    found = disagreements(answer, asked.best)
    if isinstance(answer, NoFit) and asked.nearest is not None:
        found += miss_disagreements(answer, asked.nearest)
    if isinstance(answer, Fit):
        found += judge.faults(answer.instance, answer.build)
    return [f"seed {asked.seed}: {sentence}" for sentence in found]


def roads_of(asked: Asked, answer: Answer) -> set[str]:
    """The roads that only an answer shows."""
    if isinstance(answer, NoFit):
        return _without_fit(answer)
    assert isinstance(answer, Fit)
    drawn = ("shared part", "several layouts", "shims", "kept part", "trial build", "averaged")
    found = {"fit"} | {f"fit, {road}" for road in drawn if road in asked.roads}
    if answer.instance.rules:
        found.add("fit, rule")
    if _contested(answer):
        found.add("fit, contested stock")
    if _stays(answer):
        found.add("fit, all stays as it is")
    return found


def _without_fit(answer: NoFit) -> set[str]:
    near = [miss for miss in answer.alone if miss.status == "near"]
    if not near:
        return {"no fit", "cannot be filled"}
    together = not any(miss.by for miss in near)
    return {"no fit", "each alone, not together" if together else "misses alone"}


def _contested(answer: Fit) -> bool:
    """Whether two gaps draw the last part of some choice."""
    each = [judge.drawn(answer.instance, answer.build, gap) for gap in range(len(answer.build))]
    holders = Counter(choice for drawn in each for choice in drawn)
    total = judge.drawn(answer.instance, answer.build)
    return any(
        holders[choice] > 1 and count == answer.instance.choices[choice].count
        for choice, count in total.items()
    )


def _stays(answer: Fit) -> bool:
    """Whether nothing changes of a build that is in the unit."""
    pairs = zip(answer.instance.gaps, answer.build, strict=True)
    chosen = [gap.layouts[build.layout] for gap, build in pairs]
    known = any(place.now for layout in chosen for place in layout.places)
    change = [
        value
        for level, value in zip(answer.instance.levels, answer.values, strict=True)
        if level.measure == "change"
    ]
    return known and change == [0]
