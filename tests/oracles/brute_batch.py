"""The best plan of a small batch by trying everything: every subset, every build of every job.

Knows the instance and the batch as data, and measures with the oracles' own measure; of the solver
it imports nothing that lists, prunes or decides.
"""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations_with_replacement, product
from typing import TYPE_CHECKING

from solver.problem.instance import GapBuild
from tests.oracles.values_of_builds import allowed, measured, used

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.batch import Batch
    from solver.problem.aims import Level
    from solver.problem.instance import Build, Instance

MOST = 60_000


class TooLargeError(Exception):
    """There is too much to try."""


def best_plan(batch: Batch) -> tuple[int, ...]:
    """The value of every level of the best plan; raises TooLargeError."""
    ways = [[None, *([] if job.held else builds(job.instance))] for job in batch.jobs]
    number = 1
    for each in ways:
        number *= len(each)
        if number > MOST:
            raise TooLargeError
    return min(
        plan_values(batch, plan) for plan in product(*ways) if enough(batch, plan) is not None
    )


def builds(instance: Instance) -> list[Build]:
    """Every build of one job that lands in all windows."""
    return list(_builds(instance))


def _builds(instance: Instance) -> Iterator[Build]:
    each = [list(_fillings(instance, index)) for index in range(len(instance.gaps))]
    number = 1
    for fillings in each:
        number *= len(fillings)
    if number > MOST:
        raise TooLargeError
    yield from (build for build in product(*each) if allowed(instance, build))


def _fillings(instance: Instance, index: int) -> Iterator[GapBuild]:
    for nth, layout in enumerate(instance.gaps[index].layouts):
        options = [
            [
                parts
                for count in range(place.least, place.most + 1)
                for parts in combinations_with_replacement(sorted(place.takes), count)
                if all(n <= instance.choices[c].count for c, n in Counter(parts).items())
            ]
            for place in layout.places
        ]
        number = 1
        for choices in options:
            number *= len(choices)
        if number > MOST:
            raise TooLargeError
        for parts in product(*options):
            taken = sum(
                place.takes[c]
                for place, here in zip(layout.places, parts, strict=True)
                for c in here
            )
            low, high, left = layout.low, layout.high, layout.room - taken
            if (low is None or low <= left) and (high is None or left <= high):
                yield GapBuild(nth, tuple(parts))


def enough(batch: Batch, plan: tuple[Build | None, ...]) -> Counter[int] | None:
    """How many of each item are drawn, found by trying; None where there are too few."""
    wanted: list[frozenset[int]] = []
    for job, build in enumerate(plan):
        if build is not None:
            for choice, count in used(batch.jobs[job].instance, build).items():
                if not batch.jobs[job].instance.choices[choice].own:
                    wanted += [batch.pools[job][choice]] * count
    return _tried(tuple(sorted(wanted, key=sorted)), tuple(item.count for item in batch.items))


@cache
def _tried(wanted: tuple[frozenset[int], ...], left: tuple[int, ...]) -> Counter[int] | None:
    if not wanted:
        return Counter()
    for item in sorted(wanted[0]):
        if left[item]:
            rest = _tried(wanted[1:], (*left[:item], left[item] - 1, *left[item + 1 :]))
            if rest is not None:
                return rest + Counter([item])
    return None


def plan_values(batch: Batch, plan: tuple[Build | None, ...]) -> tuple[int, ...]:
    """The value of every level of a plan."""
    each = [
        None
        if build is None
        else dict(zip(job.instance.levels, measured(job.instance, build), strict=True))
        for job, build in zip(batch.jobs, plan, strict=True)
    ]
    drawn = enough(batch, plan) or Counter()
    return tuple(_value(batch, each, drawn, level) for level in batch.levels)


def _value(
    batch: Batch, each: list[dict[Level, int] | None], drawn: Counter[int], level: Level
) -> int:
    left = [job for job, mine in zip(batch.jobs, each, strict=True) if mine is None]
    if level.measure in ("pinned", "priority", "number"):
        counts = {
            "pinned": [int(job.pinned) for job in left],
            "priority": [j.priority for j in left],
        }
        return sum(counts.get(level.measure, [1] * len(left)))
    if level.measure == "cost":
        return sum((batch.items[item].price or 0) * n for item, n in drawn.items())
    if level.measure == "scarce":
        return _scarce(batch, drawn)
    longer = level.measure in ("heat", "deviation")
    return sum(
        mine.get(level, 0) * (int(job.instance.step / batch.step) if longer else 1)
        for job, mine in zip(batch.jobs, each, strict=True)
        if mine is not None
    )


def _scarce(batch: Batch, drawn: Counter[int]) -> int:
    on_hand: Counter[tuple[str, str]] = Counter()
    taken: Counter[tuple[str, str]] = Counter()
    for index, item in enumerate(batch.items):
        on_hand[item.family, item.size] += item.count
        taken[item.family, item.size] += drawn[index]
    return sum(10_000 // (on_hand[size] - nth) for size, n in taken.items() for nth in range(n))
