"""Lays an answer beside what brute force says, in lengths and names both understand.

The random jobs are tried out once for all tests of a run.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

import inventory
from solver.problem import judge
from solver.problem.from_case import instance_of
from solver.problem.solution import Fit, NoFit
from solver.rebuild.fit import fit
from specs.gaps.job_gap import JobGap
from tests.oracles.brute_force import LENGTHS, Brute
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.problem.gaps import LotChoice
    from solver.problem.instance import Build, Instance
    from solver.problem.solution import Answer, Miss
    from specs.models.case import Case
    from tests.oracles.brute_force import Best, Key, Named, Nearest

MOST_ASSIGNMENTS = 12_000


def ready_gaps(case: Case) -> tuple[str, ...]:
    """The gaps whose readings are there."""
    return tuple(name for name in case.unit.gaps if not JobGap(case, name).missing())


def posed(case: Case) -> Instance:
    """The instance of the gaps whose readings are there."""
    gaps = ready_gaps(case)
    return instance_of(case, inventory.on_hand(case, gaps), gaps)


def solve(case: Case) -> Answer:
    """The answer to the gaps whose readings are there."""
    return fit(posed(case))


def levels_of(instance: Instance, values: tuple[int, ...]) -> dict[Key, Fraction]:
    """The values of the levels by their names, lengths in nanometres."""
    return {
        (level.measure, level.shifts, level.grade): value
        * (instance.step if level.measure in LENGTHS else Fraction(1))
        for level, value in zip(instance.levels, values, strict=True)
    }


def named(instance: Instance, build: Build) -> Named:
    """A build by names: each gap's layout, and what lies at each place."""
    found = []
    for gap, chosen in zip(instance.gaps, build, strict=True):
        layout = gap.layouts[chosen.layout]
        places = zip(layout.places, chosen.parts, strict=True)
        parts: dict[str, tuple[object, ...]] = {
            place.label: tuple(_told(instance.choices[choice]) for choice in here)
            for place, here in places
        }
        found.append((layout.name, parts))
    return tuple(found)


def _told(choice: LotChoice) -> tuple[object, ...]:
    """All that tells a choice from others."""
    lot = choice.lots[0]
    tried = lot.tried and not lot.own
    return lot.family, lot.size, lot.thickness.nm, lot.condition, lot.own, tried


def disagreements(answer: Answer, best: Best | None) -> list[str]:
    """Everything in which an answer is not the brute force's."""
    if not isinstance(answer, Fit):
        return [] if isinstance(answer, NoFit) and best is None else [f"{answer} is not {best}"]
    if best is None or not answer.proved:
        return [f"{answer} is not {best}"]
    instance = answer.instance
    ours = levels_of(instance, answer.values)
    found = [
        f"{key}: {ours.get(key, 0)} is not {value}"
        for key, value in best.values.items()
        if ours.get(key, 0) != value
    ]
    found += [f"{key}: unknown to the oracle" for key in ours.keys() - best.values.keys()]
    if list(ours) != [key for key in best.values if key in ours]:
        found.append(f"the levels stand in another order: {list(ours)}")
    gaps = tuple(gap * instance.step for gap in answer.gaps)
    if not found and (named(instance, answer.build), gaps) != (best.build, best.gaps):
        found.append(f"{named(instance, answer.build)} is not {best.build}")
    return found


def miss_disagreements(answer: NoFit, nearest: Nearest) -> list[str]:
    """Everything in which a nearest miss is not the brute force's."""
    alone = tuple(_alone(answer.instance, miss) for miss in answer.alone)
    together = None if answer.together is None else _ratios(answer.instance, answer.together)
    found = [] if alone == nearest.alone else [f"alone: {alone} is not {nearest.alone}"]
    if together != nearest.together:
        found.append(f"together: {together} is not {nearest.together}")
    return found


def _alone(instance: Instance, miss: Miss) -> tuple[Fraction, Fraction] | None:
    assert miss.status != "unknown"
    if miss.status == "unfillable":
        return None
    return miss.by * instance.step, miss.gap * instance.step


def _ratios(instance: Instance, build: Build) -> tuple[int, int]:
    """The largest miss of a build in ten-thousandths of its window, and their sum."""
    ratios = []
    for gap, chosen in zip(instance.gaps, build, strict=True):
        layout = gap.layouts[chosen.layout]
        places = zip(layout.places, chosen.parts, strict=True)
        left = layout.room - sum(place.takes[c] for place, here in places for c in here)
        under = 0 if layout.low is None else layout.low - left
        over = 0 if layout.high is None else left - layout.high
        ratios.append(-(-10_000 * max(0, under, over) // layout.width))
    return max(ratios), sum(ratios)


def brute_of(case: Case) -> Brute | None:
    """The brute force of a job; nothing where it would take too long."""
    brute = Brute(case, ready_gaps(case))
    number = 1
    for gap in brute.gaps:
        number *= max(1, len(brute.fillings(gap)))
        if number > MOST_ASSIGNMENTS:
            return None
    return brute


@dataclass(frozen=True, slots=True)
class TriedJob:
    """A job with what brute force says of it."""

    seed: int
    roads: frozenset[str]
    case: Case
    best: Best | None
    nearest: Nearest | None


@cache
def tried_job(seed: int) -> TriedJob | None:
    """Draw a job and try everything; nothing where that would take too long."""
    job = random_job(seed)
    case = job.case()
    brute = brute_of(case)
    if brute is None:
        return None
    best = brute.best()
    return TriedJob(seed, job.roads, case, best, None if best else brute.nearest())


def differences(tried: TriedJob, answer: Answer) -> list[str]:
    """Everything in which an answer is not what brute force says."""
    found = disagreements(answer, tried.best)
    if isinstance(answer, NoFit) and tried.nearest is not None:
        found += miss_disagreements(answer, tried.nearest)
    if isinstance(answer, Fit):
        found += judge.faults(answer.instance, answer.build)
    return [f"seed {tried.seed}: {sentence}" for sentence in found]


def roads_of(tried: TriedJob, answer: Answer) -> set[str]:
    """The roads that only an answer shows."""
    if isinstance(answer, NoFit):
        return _without_fit(answer)
    assert isinstance(answer, Fit)
    drawn = (
        "shared part", "several layouts", "shims", "kept part", "trial build", "averaged",
        "always replaced", "wears by", "wear limit of a size", "worn part that is not chosen",
        "other linings tried", "trial parts of this unit", "trial parts from the shelf",
        "nearest", "proud", "left out", "parts going in",
    )  # fmt: skip
    found = {"fit"} | {f"fit, {road}" for road in drawn if road in tried.roads}
    if answer.instance.rules:
        found.add("fit, rule")
    drawn_of = judge.drawn(answer.instance, answer.build)
    if any(lot.tried for choice in drawn_of for lot in answer.instance.choices[choice].lots):
        found.add("fit, a part of the trial build")
    if _contested(answer):
        found.add("fit, contested stock")
    if _short_of_band(answer):
        found.add("fit, near a limit")
    if _kept_clear(answer):
        found.add("fit, kept clear of a limit")
    if _stays(answer):
        found.add("fit, all stays as it is")
    return found


def _without_fit(answer: NoFit) -> set[str]:
    near = [miss for miss in answer.alone if miss.status == "near"]
    if not near:
        return {"no fit", "cannot be filled"}
    together = not any(miss.by for miss in near)
    return {"no fit", "each alone, not together" if together else "misses alone"}


def _short_of_band(answer: Fit) -> bool:
    """Whether a gap cannot keep clear of its limits."""
    levels = zip(answer.instance.levels, answer.values, strict=True)
    return any(level.measure == "near limits" and value for level, value in levels)


def _kept_clear(answer: Fit) -> bool:
    """Whether another build would be best if gaps were not kept clear of their limits."""
    rest = tuple(aim for aim in answer.instance.aims if aim != "safe")
    if len(rest) == len(answer.instance.aims):
        return False
    other = fit(replace(answer.instance, aims=rest))
    return isinstance(other, Fit) and other.build != answer.build


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
