"""Jobs without a fit, their conditions given up by a rewrite of its own, asked of HiGHS.

The solver says what to give up; here an instance is built from what is kept. Whether anything then
fits is decided with one variable for each part at each place, and every build is seen in whole
numbers.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import inventory
from solver.problem.from_case import instance_of
from solver.problem.solution import NoFit
from solver.rebuild.fit import fit
from tests.oracles.against_brute import ready_gaps
from tests.oracles.linear_program import MilpError, PerPlace
from tests.oracles.random_jobs import random_job
from tests.oracles.values_of_builds import allowed

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from solver.explain.conditions import Condition
    from solver.problem.gaps import GridGap, GridLayout, GridPlace
    from solver.problem.instance import Instance
    from specs.models.case import Case
    from tests.oracles.random_jobs import RandomJob

UNLIMITED = 50


@dataclass(frozen=True, slots=True)
class Unfit:
    """A job that has no fit."""

    seed: int
    instance: Instance
    answer: NoFit

    @property
    def together(self) -> bool:
        """Whether each gap can be had alone, but not all of them."""
        return all(miss.status == "near" and not miss.by for miss in self.answer.alone)


def with_catalogue(case: Case) -> Instance:
    """The instance of a job that can buy every size its unit's families are made in."""
    gaps = ready_gaps(case)
    return instance_of(case, (*inventory.on_hand(case, gaps), *inventory.catalogue(case)), gaps)


@cache
def _unfit(seed: int, *, asking: bool) -> Unfit | None:
    job = random_job(seed)
    if asking and "several layouts" not in job.roads:
        return None
    case = _asking(job).case() if asking else job.case()
    answer = fit(with_catalogue(case))
    return Unfit(seed, answer.instance, answer) if isinstance(answer, NoFit) else None


def _asking(job: RandomJob) -> RandomJob:
    """The job when it asks for the last layout of every gap."""
    document = deepcopy(job.document)
    unit = document["unit"]
    for name, work in document["job"]["gaps"].items():
        gap = (unit["packs"] | unit["end plays"])[name]
        if "layouts" in gap:
            work["layout"] = [*gap["layouts"]][-1]
    return replace(job, document=document)


def unfits(seeds: Iterable[int], asking: Iterable[int]) -> Iterator[Unfit]:
    """The jobs of these seeds that have no fit, then others that ask for one layout of each gap."""
    plain = (_unfit(seed, asking=False) for seed in seeds)
    asked = (_unfit(seed, asking=True) for seed in asking)
    return (found for found in (*plain, *asked) if found)


def can_hold(instance: Instance) -> bool:
    """Whether there is any build. Raises MilpError where HiGHS is wrong about one."""
    if not all(gap.layouts for gap in instance.gaps):
        return False
    program = PerPlace(instance)
    found = program.rows.least({})
    if found is not None and not allowed(instance, program.build(found[1])):
        raise MilpError("HiGHS found a build that does not hold in whole numbers")
    return found is not None


def only(instance: Instance, kept: Collection[Condition]) -> Instance:
    """The instance that asks for these conditions and for nothing else."""
    rules = {condition.rule for condition in kept if condition.kind == "rule"}
    stocks = {condition.size for condition in kept if condition.kind == "stock"}
    short = {index for size in stocks for index in instance.sizes[size]}
    return replace(
        stocked(instance, {n: UNLIMITED for n in range(len(instance.choices)) if n not in short}),
        rules=tuple(instance.rules[nth] for nth in sorted(rules)),
        gaps=tuple(
            _gap(gap, {(c.kind, c.name) for c in kept if c.gap == index})
            for index, gap in enumerate(instance.gaps)
        ),
    )


def stocked(instance: Instance, more: Mapping[int, int]) -> Instance:
    """The instance with more on hand of what a shop would deliver."""
    choices = [
        replace(choice, count=choice.count + more.get(index, 0)) if choice.sold else choice
        for index, choice in enumerate(instance.choices)
    ]
    return replace(instance, choices=tuple(choices))


def _gap(gap: GridGap, asked: set[tuple[str, str]]) -> GridGap:
    aside = [b.layout for b in gap.barred if ("layout", b.layout.name) not in asked]
    layouts = tuple(_layout(layout, asked) for layout in (*gap.layouts, *aside))
    return replace(gap, layouts=layouts, barred=())


def _layout(layout: GridLayout, asked: set[tuple[str, str]]) -> GridLayout:
    return replace(
        layout,
        low=layout.low if ("lowest", "") in asked else None,
        high=layout.high if ("highest", "") in asked else None,
        places=tuple(
            place if ("kept", place.label) in asked else _any_part(place) for place in layout.places
        ),
    )


def _any_part(place: GridPlace) -> GridPlace:
    return replace(place, takes={**place.takes, **place.let_go}, let_go={})
