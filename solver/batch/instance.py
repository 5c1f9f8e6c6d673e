"""Holds a batch in integers: jobs that draw on one stock, and the levels of a plan.

The stock consists of items: the entries of the shelf, and the parts of each size that could be
bought. Every job merges lots into choices of its own, as its unit asks. So a choice stands for a
pool of items, and pools of different units may overlap. Parts that belong to one job alone are no
items.

Lengths of all jobs are counted in one step; every job's own step is a whole multiple of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from math import gcd, lcm
from typing import TYPE_CHECKING

from solver.problem.aims import Level
from specs.models.aims import AIMS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.problem.gaps import LotChoice
    from solver.problem.instance import GapBuild, Instance

Pool = frozenset[int]
Seen = tuple[str, tuple[tuple[tuple[str, str], int], ...]]
"""What is seen of the build of a gap: its layout, and the number of its parts of each size."""
Kept = dict[str, Seen]
"""What is seen of each gap of an earlier plan."""


@dataclass(frozen=True, slots=True)
class StockItem:
    """Parts that are interchangeable for every job, or the parts of one size that can be bought."""

    family: str
    size: str
    count: int
    price: int | None = None
    """Of one part, in ten-thousandths of the currency."""
    pack: int = 1
    """The number of parts sold together."""
    bought: bool = False
    """Whether it stands for parts to be bought; it counts none until an order adds some."""
    entry: str = ""
    """The name of its entry on the shelf."""


@dataclass(frozen=True)
class BatchJob:
    """One rebuild of a batch."""

    name: str
    instance: Instance
    priority: int = 1
    pinned: bool = False
    """Whether it is to be completed before any job that is not pinned."""
    held: bool = False
    """Whether it is held back, so that nothing is built for it."""
    kept: Kept = field(default_factory=dict)
    """Its gaps as an earlier plan built them."""


@dataclass(frozen=True)
class Batch:
    """Jobs in the order of their names, and the stock they share."""

    jobs: tuple[BatchJob, ...]
    items: tuple[StockItem, ...]
    pools: tuple[tuple[Pool, ...], ...]
    """For each job and choice its pool of items; empty for the job's own parts."""

    @cached_property
    def step(self) -> Fraction:
        """The length in nanometres of the step in which lengths of all jobs are added up."""
        steps = [job.instance.step for job in self.jobs]
        over = lcm(*(step.denominator for step in steps))
        return Fraction(gcd(*(int(step * over) for step in steps)) or 1, over)

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """The levels to minimise, in order.

        First completeness: pinned jobs, priorities, number of jobs. Then the difference from an
        earlier plan, the aims, and the cost.
        """
        ahead = [Level("complete", "pinned")] if any(job.pinned for job in self.jobs) else []
        ahead += [Level("complete", "priority"), Level("complete", "number")]
        ahead += [Level("keep", "kept")] if any(job.kept for job in self.jobs) else []
        aims = (level for aim in self._aims() for level in self._of(aim))
        return (*ahead, *aims, Level("cost", "cost"))

    def _aims(self) -> tuple[str, ...]:
        """Return the aims in the jobs' order; in their standard order where jobs differ."""
        stated = [job.instance.aims for job in self.jobs]
        if all(aims == stated[0] for aims in stated):
            return stated[0] if stated else ()
        return tuple(aim for aim in AIMS if any(aim in aims for aims in stated))

    def _of(self, aim: str) -> list[Level]:
        """Return the levels of an aim in any job; of `thin` the shifting ones first, by grade."""
        found = {
            level: None for job in self.jobs for level in job.instance.levels if level.aim == aim
        }
        if aim != "thin":
            return list(found)
        return sorted(found, key=lambda level: (not level.shifts, level.grade))

    @cached_property
    def sizes(self) -> dict[tuple[str, str], tuple[int, ...]]:
        """For each family and size, the indices of its items."""
        found: dict[tuple[str, str], list[int]] = {}
        for index, item in enumerate(self.items):
            found.setdefault((item.family, item.size), []).append(index)
        return {size: tuple(items) for size, items in found.items()}

    def scale(self, job: int, level: Level) -> int:
        """Return the factor from a job's own unit on a level to the unit of the batch."""
        return int(self.jobs[job].instance.step / self.step) if level.in_steps else 1

    def with_more(self, more: Mapping[int, int]) -> Batch:
        """Return the batch with more of some items on hand, in the jobs' choices too.

        Parameters
        ----------
        more
            For each item, by its index, the number of parts to add.
        """
        items = tuple(
            replace(item, count=item.count + more.get(index, 0))
            for index, item in enumerate(self.items)
        )
        jobs = tuple(
            replace(job, instance=_stocked(job.instance, pools, more))
            for job, pools in zip(self.jobs, self.pools, strict=True)
        )
        return replace(self, items=items, jobs=jobs)


def _stocked(instance: Instance, pools: tuple[Pool, ...], more: Mapping[int, int]) -> Instance:
    return instance.with_more(
        {choice: sum(more.get(item, 0) for item in pool) for choice, pool in enumerate(pools)}
    )


def batch_of(jobs: Iterable[BatchJob]) -> Batch:
    """Make a batch of jobs, in the order of their names.

    Parameters
    ----------
    jobs
        The jobs. Every lot of their instances must name its entry of the one shelf.

    Returns
    -------
    Batch
        The jobs, the items of their common stock, and the pools of their choices.
    """
    ordered = tuple(sorted(jobs, key=lambda job: job.name))
    making = _Items()
    pools = tuple(tuple(map(making.pool, job.instance.choices)) for job in ordered)
    return sized(Batch(ordered, tuple(making.items), pools))


def sized(batch: Batch) -> Batch:
    """Give items that any job treats as one size the same name, price and pack.

    Units may call the parts in one bin by different sizes; the first name met is kept. Where prices
    differ the lowest stated one holds, and the largest pack.
    """
    home = list(range(len(batch.items)))
    pools = {pool for pools in batch.pools for pool in pools if pool}
    alike = [*batch.sizes.values(), *sorted(map(sorted, pools))]
    for together in alike:
        merged = {home[item] for item in together}
        home = [min(merged) if at in merged else at for at in home]
    found = []
    for index, item in enumerate(batch.items):
        mates = [batch.items[other] for other, at in enumerate(home) if at == home[index]]
        prices = [mate.price for mate in mates if mate.price is not None]
        found.append(
            replace(
                item,
                family=mates[0].family,
                size=mates[0].size,
                price=min(prices, default=None),
                pack=max(mate.pack for mate in mates),
            )
        )
    return replace(batch, items=tuple(found))


class _Items:
    """Numbers the items in the order in which they are met."""

    def __init__(self) -> None:
        self.items: list[StockItem] = []
        self.numbers: dict[object, int] = {}

    def pool(self, choice: LotChoice) -> Pool:
        if choice.own:
            return frozenset()
        size = (choice.family, choice.size)
        found = [
            self._number(lot.entry, StockItem(*size, lot.count, choice.price, entry=lot.entry))
            for lot in choice.lots
            if lot.entry
        ]
        if choice.sold:
            found.append(self._bought(choice))
        return frozenset(found)

    def _bought(self, choice: LotChoice) -> int:
        size = (choice.family, choice.size)
        item = StockItem(*size, 0, choice.price, choice.pack, bought=True)
        return self._number((size, choice.lots[0].thickness), item)

    def _number(self, key: object, item: StockItem) -> int:
        if key not in self.numbers:
            self.numbers[key] = len(self.items)
            self.items.append(item)
        return self.numbers[key]


def seen(instance: Instance, gap: int, built: GapBuild) -> Seen:
    """Return a gap's layout, and the number of its parts of each size."""
    return instance.gaps[gap].layouts[built.layout].name, tuple(
        sorted(instance.counts(built).items())
    )
