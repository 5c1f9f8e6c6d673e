"""Builds weighed once for all that are alike in their doubt, against each weighed by itself."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from gapwright.surely import Demand, Surely
from solver import judge
from solver.patterns import list_patterns
from specs.chance import MILLION
from specs.doubt import curve, variance_of
from specs.lengths import Length
from specs.sources import terms_of
from tests.oracles.compare import posed, ready_gaps
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.task import GapBuild, Task
    from specs.case import Case


def doubtful(case: Case, random: Random) -> Case:
    """Give the parts of some families a tolerance."""
    wide = (0, 0, 4_000, 11_000, 30_000)
    families = {
        name: family.model_copy(update={"tolerance": Length(random.choice(wide))})
        for name, family in case.unit.families.items()
    }
    return replace(case, unit=case.unit.model_copy(update={"families": families}))


def by_itself(case: Case, task: Task, index: int, build: GapBuild, demand: Demand) -> bool:
    gap = task.gaps[index]
    layout = gap.layouts[build.layout]
    placed = {
        place.label: tuple(task.choices[part].lots[0] for part in parts)
        for place, parts in zip(layout.places, build.parts, strict=True)
    }
    terms = terms_of(case, gap.name, layout.name, placed)
    left = judge.gap_of(task, (build,) * (index + 1), index)
    ends = [None if end is None else end - left for end in (layout.low, layout.high)]
    low, high = (None if end is None else Length(end * task.step) for end in ends)
    if not demand.guard:
        return curve(terms).between(low, high).least * 100 >= demand.percent * MILLION
    u = float(variance_of(terms)) ** 0.5
    factor = float(demand.factor)
    if low is not None and high is not None and float((high - low).nm) < (factor + 3.29) * u:
        return False
    away = [float(room.nm) for room in (low and -low, high) if room is not None]
    return all(room >= factor * u for room in away)


def test_builds_alike_in_doubt_are_as_sure_as_each_by_itself() -> None:
    random, said = Random(4), Counter[bool]()  # noqa: S311 - seeded, for a test
    for seed in range(150):
        case = random_job(seed).case()
        if not ready_gaps(case):
            continue
        case = doubtful(case, random)
        task = posed(case)
        demand = Demand(Fraction(random.choice((60, 90, 99))), guard=random.random() < 0.3)
        surely = Surely(case, task.choices, task.step, demand)
        for index, gap in enumerate(task.gaps):
            builds = [pattern.build for pattern in list_patterns(task, gap)]
            for build in random.sample(builds, min(12, len(builds))):
                layout = gap.layouts[build.layout]
                left = judge.gap_of(task, (build,) * (index + 1), index)
                answer = surely(gap.name, layout, build, left)
                assert answer == by_itself(case, task, index, build, demand), (seed, gap.name)
                said[answer] += 1
    assert min(said.values()) >= 150
