"""Assigns each job of a plan the entries of the shelf that it takes parts from.

The reservation of a batch is made from this list.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.batch.flow import share_out
from solver.problem import judge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.batch.planning import Plan
    from solver.problem.instance import Instance


@dataclass(frozen=True, slots=True)
class Allocation:
    """The parts that one job takes from one item of the batch."""

    job: int
    choice: int
    item: int
    count: int


def allocations(plan: Plan) -> tuple[Allocation, ...]:
    """List the parts that every job of a plan takes from each entry of the shelf, job by job.

    Parts that belong to a job alone are not listed.

    Parameters
    ----------
    plan
        A plan that `solver.batch.judge` has accepted.

    Returns
    -------
    tuple of Allocation
        In the order of the jobs, then of their choices; the items of a pool with lower numbers
        first.

    Raises
    ------
    AssertionError
        Where the plan draws more than there is, which a judged plan never does.

    Notes
    -----
    Pools that overlap are filled by augmenting paths of bipartite matching (`solver.batch.flow`).
    """
    wanted = [
        (job, choice, batch_pool, count)
        for job, build in enumerate(plan.builds)
        if build is not None
        for choice, count in sorted(judge.drawn(plan.batch.jobs[job].instance, build).items())
        if (batch_pool := plan.batch.pools[job][choice])
    ]
    demand: Counter[frozenset[int]] = Counter()
    for _, _, pool, count in wanted:
        demand[pool] += count
    shares = share_out(demand, {n: item.count for n, item in enumerate(plan.batch.items)})
    if shares is None:
        raise AssertionError("a plan that was judged draws no more than there is")
    return tuple(
        Allocation(job, choice, item, some)
        for job, choice, pool, count in wanted
        for item, some in _split(shares[pool], count)
    )


def _split(share: Counter[int], count: int) -> Iterator[tuple[int, int]]:
    """Take `count` parts of a pool's share, from the items with lower numbers first."""
    for item in sorted(share):
        some = min(count, share[item])
        if some:
            share[item] -= some
            count -= some
            yield item, some


def with_its_draws(plan: Plan, job: int, mine: list[Allocation]) -> Instance:
    """Return a job's instance with only the lots allocated to it, so that each part names its bin.

    Parameters
    ----------
    plan
        The plan that the allocations belong to.
    job
        The job's index in the batch.
    mine
        The allocations of this job alone, as `allocations` lists them.

    Returns
    -------
    Instance
        The job's instance; each lot of a choice that was allocated counts the parts allocated.
    """
    instance = plan.batch.jobs[job].instance
    given: dict[int, Counter[str]] = {}
    for draw in mine:
        given.setdefault(draw.choice, Counter())[plan.batch.items[draw.item].entry] += draw.count
    choices = (
        choice
        if index not in given
        else replace(
            choice,
            lots=tuple(
                replace(lot, count=given[index][lot.entry])
                for lot in choice.lots
                if given[index][lot.entry]
            ),
        )
        for index, choice in enumerate(instance.choices)
    )
    return replace(instance, choices=tuple(choices))
