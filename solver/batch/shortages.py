"""Explains each job that a plan does not complete: parts it lacks, and gaps that could be built."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.batch.judge import drawn_items
from solver.explain.conditions import can_hold
from solver.explain.ways_out import cheapest
from solver.problem.solution import Miss, NoFit
from solver.rebuild.nearest_miss import nearest_miss

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.batch.planning import Plan
    from solver.engines.limits import Clock
    from solver.problem.instance import Instance


@dataclass(frozen=True, slots=True)
class Lacking:
    """The reasons why one job is not completed."""

    job: int
    short: tuple[tuple[int, int], ...] = ()
    """What is lacking beyond what the other jobs leave, cheapest to buy in whole packs: choices,
    each with the number that is lacking."""
    buildable: tuple[str, ...] = ()
    """Gaps that could be built together from the parts left over."""
    misses: tuple[Miss, ...] = ()
    """How near each gap comes by itself, where the whole stock could not complete the job."""
    known: bool = True
    """Whether there was time to find them."""


def lacking(plan: Plan, clock: Clock) -> Iterator[Lacking]:
    """Explain every job of a plan that is neither completed nor held back.

    Parameters
    ----------
    plan
        The plan.
    clock
        The time for all jobs; for a job that comes too late only `known=False` is said.

    Yields
    ------
    Lacking
        One explanation for each such job, in the order of the jobs.
    """
    left = _left(plan)
    for job, build in enumerate(plan.builds):
        if build is not None or plan.batch.jobs[job].held:
            continue
        if clock.left:
            yield _lacking(plan, job, left, clock)
        else:
            yield Lacking(job, known=False)


def _left(plan: Plan) -> dict[int, int]:
    drawn = drawn_items(plan.batch, plan.builds) or Counter()
    return {n: item.count - drawn[n] for n, item in enumerate(plan.batch.items)}


def _lacking(plan: Plan, job: int, left: dict[int, int], clock: Clock) -> Lacking:
    instance = plan.batch.jobs[job].instance
    choices = (
        choice if choice.own else replace(choice, count=sum(left[item] for item in pool))
        for choice, pool in zip(instance.choices, plan.batch.pools[job], strict=True)
    )
    remains = replace(instance, choices=tuple(choices))
    misses: tuple[Miss, ...] = ()
    if job in plan.unbuildable:
        near = nearest_miss(instance, clock)
        misses = near.alone if isinstance(near, NoFit) else ()
    return Lacking(job, cheapest(remains, clock), _buildable(remains, clock), misses)


def _buildable(instance: Instance, clock: Clock) -> tuple[str, ...]:
    """Return gaps that can be built together, adding one after the other in the unit's order."""
    taken: list[int] = []
    for gap in range(len(instance.gaps)):
        if can_hold(_only(instance, [*taken, gap]), clock) == "optimal":
            taken.append(gap)
    return tuple(instance.gaps[gap].name for gap in taken)


def _only(instance: Instance, gaps: list[int]) -> Instance:
    """Return an instance of some gaps; rules over the whole job apply to these gaps alone."""
    rules = (
        replace(rule, gap=gaps.index(rule.gap) if rule.gap >= 0 else -1)
        for rule in instance.rules
        if rule.gap in (*gaps, -1) and (rule.gap >= 0 or rule.kind in ("never", "at most"))
    )
    return replace(instance, gaps=tuple(instance.gaps[gap] for gap in gaps), rules=tuple(rules))
