"""Who takes what from which entry of the shelf: the list that a reservation is made from."""

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
    """Parts that one job takes of one item."""

    job: int
    choice: int
    item: int
    count: int


def allocations(plan: Plan) -> tuple[Allocation, ...]:
    """Say what every job of a plan takes from which entry of the shelf, job by job.

    A job's own parts are not among it. Pools that overlap are filled by augmenting paths of
    bipartite matching; a plan that was judged always can be.
    """
    wanted = [
        (job, choice, batch_pool, count)
        for job, build in enumerate(plan.builds)
        if build is not None
        for choice, count in sorted(judge.drawn(plan.batch.jobs[job].instance, build).items())
        if (batch_pool := plan.batch.pools[job][choice])
    ]
    asked: Counter[frozenset[int]] = Counter()
    for _, _, pool, count in wanted:
        asked[pool] += count
    shares = share_out(asked, {n: item.count for n, item in enumerate(plan.batch.items)})
    if shares is None:
        raise AssertionError("a plan that was judged draws no more than there is")
    return tuple(
        Allocation(job, choice, item, some)
        for job, choice, pool, count in wanted
        for item, some in _split(shares[pool], count)
    )


def _split(share: Counter[int], count: int) -> Iterator[tuple[int, int]]:
    """Take so many of a pool's share, the lowest items first."""
    for item in sorted(share):
        some = min(count, share[item])
        if some:
            share[item] -= some
            count -= some
            yield item, some


def with_its_draws(plan: Plan, job: int, mine: list[Allocation]) -> Instance:
    """A job's instance with just the lots it was given, so that each part has its bin."""
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
