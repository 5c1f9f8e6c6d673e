"""Judges a plan in integers, and shares no code with the engine or the program.

`solver.problem.judge` judges every build, and refuses a level that it cannot work out. This module
judges the stock over all jobs, and every level of the batch.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.batch.flow import fill
from solver.batch.instance import seen
from solver.problem import judge
from solver.problem.gaps import RATIO

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from solver.batch.instance import Batch, Pool
    from solver.problem.aims import JobMeasure, Level
    from solver.problem.instance import Build


@dataclass(frozen=True, slots=True)
class Judged:
    """The judgement on one job's build."""

    build: Build
    faults: tuple[str, ...]
    demand: Counter[Pool]
    """The number of parts it draws from each pool."""
    values: dict[Level, int]


Known = dict[int, Judged]
"""For each job the build judged last, so that the same build is not judged twice."""


def _judged(
    batch: Batch, builds: Sequence[Build | None], known: Known | None = None
) -> list[Judged | None]:
    known = {} if known is None else known
    for job, build in enumerate(builds):
        if build is not None and (job not in known or known[job].build != build):
            known[job] = _judge(batch, job, build)
    return [None if build is None else known[job] for job, build in enumerate(builds)]


def _judge(batch: Batch, job: int, build: Build) -> Judged:
    instance = batch.jobs[job].instance
    faults = tuple(judge.faults(instance, build))
    if faults:
        return Judged(build, faults, Counter(), {})
    demand: Counter[Pool] = Counter()
    for choice, count in judge.drawn(instance, build).items():
        if not instance.choices[choice].own:
            demand[batch.pools[job][choice]] += count
    values = dict(zip(instance.levels, judge.values(instance, build), strict=True))
    return Judged(build, faults, demand, values)


def drawn_items(batch: Batch, builds: Sequence[Build | None]) -> Counter[int] | None:
    """Count the parts that all jobs draw of each item; None where the stock does not suffice."""
    return _drawn(batch, _judged(batch, builds))


def _drawn(batch: Batch, judged: Iterable[Judged | None]) -> Counter[int] | None:
    demand: Counter[Pool] = Counter()
    for one in judged:
        if one is not None:
            demand.update(one.demand)
    return fill(demand, {index: item.count for index, item in enumerate(batch.items)})


def faults(batch: Batch, builds: Sequence[Build | None], known: Known | None = None) -> list[str]:
    """List every reason why a plan cannot be carried out; empty where it can be.

    Parameters
    ----------
    batch
        The jobs and their stock.
    builds
        For each job its build; None where the job is not completed.
    known
        Judgements of earlier calls for the same batch, which this call extends.

    Returns
    -------
    list of str
        One sentence for each fault, with the name of the job where it is of one job.
    """
    if len(builds) != len(batch.jobs):
        return ["not every job is spoken of"]
    judged = _judged(batch, builds, known)
    found = []
    for job, one in zip(batch.jobs, judged, strict=True):
        if one is not None:
            found += [f"{job.name}: {fault}" for fault in one.faults]
            if job.held:
                found.append(f"{job.name}: is held back")
    if not found and _drawn(batch, judged) is None:
        found.append("the jobs draw more than there is on hand")
    return found


def values(
    batch: Batch, builds: Sequence[Build | None], known: Known | None = None
) -> tuple[int, ...]:
    """Work out the value of every level of a plan.

    Parameters
    ----------
    batch
        The jobs and their stock.
    builds
        For each job its build; None where the job is not completed.
    known
        Judgements of earlier calls for the same batch, which this call extends.

    Returns
    -------
    tuple of int
        One value for each of `batch.levels`, in their order. Lengths are in `batch.step`, costs in
        ten-thousandths of the currency.

    Raises
    ------
    AssertionError
        Where no job has a level, so that the judge cannot work it out.
    """
    judged = _judged(batch, builds, known)
    drawn = _drawn(batch, judged) or Counter()
    each = [None if one is None else one.values for one in judged]
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
            measure: JobMeasure = level.measure  # a plan's own is a type error here
            if not any(level in job.instance.levels for job in batch.jobs):
                raise AssertionError(f"{measure} is of no job, and the judge cannot work it out")
            return sum(
                mine.get(level, 0) * batch.scale(job, level)
                for job, mine in enumerate(each)
                if mine is not None
            )


def _changed(batch: Batch, job: int, build: Build | None) -> int:
    kept, instance = batch.jobs[job].kept, batch.jobs[job].instance
    if build is None:
        return len(kept)
    names = [gap.name for gap in instance.gaps]
    return sum(
        seen(instance, names.index(name), build[names.index(name)]) != was
        for name, was in kept.items()
    )


def _scarce(batch: Batch, drawn: Counter[int]) -> int:
    total = 0
    for items in batch.sizes.values():
        on_hand = sum(batch.items[item].count for item in items)
        taken = sum(drawn[item] for item in items)
        total += sum(RATIO // left for left in range(on_hand, on_hand - taken, -1))
    return total
