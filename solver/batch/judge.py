"""Judges a plan in plain integers. Shares no code with the engine or the program.

Every build is judged by `solver.judge`; here the stock is, over all jobs, and every level.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver import judge
from solver.batch.earlier import seen
from solver.batch.flow import fill
from solver.task import scarcity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.batch.problem import Batch
    from solver.level import Level
    from solver.task import Build


def drawn_items(batch: Batch, builds: Sequence[Build | None]) -> Counter[int] | None:
    """How many of each item the jobs draw together; None where there are not enough."""
    asked: Counter[frozenset[int]] = Counter()
    for job, build in enumerate(builds):
        if build is not None:
            for choice, count in judge.drawn(batch.jobs[job].task, build).items():
                pool = batch.pools[job][choice]
                if not batch.jobs[job].task.choices[choice].own:
                    asked[pool] += count
    return fill(asked, {index: item.count for index, item in enumerate(batch.items)})


def faults(batch: Batch, builds: Sequence[Build | None]) -> list[str]:
    """Name everything that keeps a plan from being carried out; empty when it can be."""
    if len(builds) != len(batch.jobs):
        return ["not every job is spoken of"]
    found = []
    for job, build in zip(batch.jobs, builds, strict=True):
        if build is not None:
            found += [f"{job.name}: {fault}" for fault in judge.faults(job.task, build)]
            if job.held:
                found.append(f"{job.name}: is held back")
    if not found and drawn_items(batch, builds) is None:
        found.append("the jobs draw more than there is on hand")
    return found


def values(batch: Batch, builds: Sequence[Build | None]) -> tuple[int, ...]:
    """The value of every level, in order."""
    drawn = drawn_items(batch, builds) or Counter()
    each = [
        None
        if build is None
        else dict(zip(job.task.levels, judge.values(job.task, build), strict=True))
        for job, build in zip(batch.jobs, builds, strict=True)
    ]
    return tuple(_value(batch, builds, each, drawn, level) for level in batch.levels)


def _value(  # noqa: PLR0911 - one a measure
    batch: Batch,
    builds: Sequence[Build | None],
    each: list[dict[Level, int] | None],
    drawn: Counter[int],
    level: Level,
) -> int:
    left = [job for job, build in zip(batch.jobs, builds, strict=True) if build is None]
    match level.measure:
        case "pinned":
            return sum(job.pinned for job in left)
        case "priority":
            return sum(job.priority for job in left)
        case "number":
            return len(left)
        case "kept":
            return sum(_changed(batch, job, build) for job, build in enumerate(builds))
        case "scarce":
            return _scarce(batch, drawn)
        case "cost":
            return sum((batch.items[item].price or 0) * count for item, count in drawn.items())
        case _:
            return sum(
                mine.get(level, 0) * batch.scale(job, level)
                for job, mine in enumerate(each)
                if mine is not None
            )


def _changed(batch: Batch, job: int, build: Build | None) -> int:
    kept, task = batch.jobs[job].kept, batch.jobs[job].task
    if build is None:
        return len(kept)
    names = [gap.name for gap in task.gaps]
    return sum(
        seen(task, names.index(name), build[names.index(name)]) != was for name, was in kept.items()
    )


def _scarce(batch: Batch, drawn: Counter[int]) -> int:
    return sum(
        scarcity(sum(batch.items[i].count for i in items), sum(drawn[i] for i in items))
        for items in batch.sizes.values()
    )
