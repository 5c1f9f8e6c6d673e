"""Random batches: jobs of one or several random units on one contested shelf.

Jobs of one unit are one random job told again with its readings moved and its own parts left out
or in; their shelf is one. A second unit may know the same shelf by other sizes, so that its jobs
merge lots differently. Every feature is a road; tests count them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

import inventory
from inventory.on_hand import set_apart, shelf_lots
from solver.batch import Batch, BatchJob, batch_of
from solver.batch.instance import sized
from solver.problem.from_case import instance_of
from specs.gaps.job_gap import JobGap, in_the_drum, lots_of
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.problem.gaps import GridGap, GridLayout
    from solver.problem.instance import Instance
    from specs.models.case import Case

MOVES = (-300, -150, -60, 0, 0, 0, 40, 120, 250)  # thousandths of a window


@dataclass(frozen=True, slots=True)
class RandomBatch:
    """A batch, and the roads it takes."""

    seed: int
    batch: Batch
    roads: frozenset[str]


def random_batch(seed: int, most: int = 5) -> RandomBatch:
    """Draw one batch of two to `most` jobs."""
    rng = Random(seed)  # noqa: S311 - no secret hangs on it
    roads: set[str] = set()
    drawn = random_job(rng.randrange(100_000))
    case = drawn.case()
    roads |= drawn.roads
    gaps = tuple(name for name in case.unit.gaps if not JobGap(case, name).missing())
    jobs = [_job(rng, case, gaps, nth, roads) for nth in range(rng.randint(2, most))]
    batch = batch_of(jobs)
    if rng.random() < 0.25:
        batch = _split_pools(rng, batch, roads)
    return RandomBatch(seed, _short(rng, batch, roads), frozenset(roads))


def _job(rng: Random, case: Case, gaps: tuple[str, ...], nth: int, roads: set[str]) -> BatchJob:
    mine = gaps if rng.random() < 0.8 else gaps[:1]
    shelf, drum = shelf_lots(case), in_the_drum(case, mine)
    lacking = set_apart(case, shelf, drum.tried)[1]
    own = (*lots_of(case, drum.own), *lots_of(case, lacking, tried=True))
    lots = (*shelf, *own, *inventory.catalogue(case))
    instance = instance_of(case, lots, mine)
    instance = replace(instance, gaps=tuple(_moved(rng, gap) for gap in instance.gaps))
    if rng.random() < 0.15:
        roads.add("another step")
        instance = _finer(instance)
    pinned = rng.random() < 0.1
    held = not pinned and rng.random() < 0.1
    roads |= {word for word, true in (("pinned", pinned), ("held", held)) if true}
    return BatchJob(f"job {nth}", instance, rng.choice([0, 1, 1, 2, 5]), pinned, held)


def _moved(rng: Random, gap: GridGap) -> GridGap:
    by = Fraction(rng.choice(MOVES), 1000)
    return replace(
        gap, layouts=tuple(replace(one, room=one.room + int(one.width * by)) for one in gap.layouts)
    )


def _finer(instance: Instance) -> Instance:
    """The same instance on a grid of half its step."""
    return replace(
        instance,
        step=instance.step / 2,
        choices=tuple(
            replace(c, thickness=c.thickness * 2, deficit=c.deficit * 2) for c in instance.choices
        ),
        gaps=tuple(
            replace(gap, layouts=tuple(map(_doubled, gap.layouts)), barred=())
            for gap in instance.gaps
        ),
    )


def _doubled(layout: GridLayout) -> GridLayout:
    places = tuple(
        replace(place, takes={choice: 2 * n for choice, n in place.takes.items()}, let_go={})
        for place in layout.places
    )
    return replace(
        layout,
        room=2 * layout.room,
        low=None if layout.low is None else 2 * layout.low,
        high=None if layout.high is None else 2 * layout.high,
        aim=2 * layout.aim,
        width=2 * layout.width,
        places=places,
    )


def _split_pools(rng: Random, batch: Batch, roads: set[str]) -> Batch:
    """Let the last job see some pools as larger, as another unit would merge lots."""
    mine = list(batch.pools[-1])
    pools = [pool for pool in mine if any(not batch.items[item].bought for item in pool)]
    if len(pools) > 1:
        one, two = rng.sample(pools, 2)
        mine[mine.index(one)] = one | two
        roads.add("pools that overlap")
    return sized(replace(batch, pools=(*batch.pools[:-1], tuple(mine))))


def _short(rng: Random, batch: Batch, roads: set[str]) -> Batch:
    """Make the shelf about as large as half of the jobs need."""
    items = []
    for item in batch.items:
        count = item.count
        if rng.random() < 0.3:
            count = rng.randint(0, item.count)
            roads.add("made short")
        items.append(replace(item, count=count, price=rng.choice([None, 10_000, 25_000])))
    return _in_step(sized(replace(batch, items=tuple(items))))


def _in_step(batch: Batch) -> Batch:
    """Let every job see as much of a choice as its items hold."""
    jobs = []
    for job, pools in zip(batch.jobs, batch.pools, strict=True):
        choices = (
            choice
            if choice.own
            else replace(choice, count=sum(batch.items[item].count for item in pool))
            for choice, pool in zip(job.instance.choices, pools, strict=True)
        )
        jobs.append(replace(job, instance=replace(job.instance, choices=tuple(choices))))
    return replace(batch, jobs=tuple(jobs))
