"""A batch in plain integers: jobs that draw on one stock, and the levels of a plan.

Stock is items: the entries of the shelf, and what could be bought of each size. Every job merges
lots into choices of its own, as its unit asks; so a choice stands for a pool of items, and pools
of different units may overlap. A job's own parts belong to it alone and are no items.

Lengths of all jobs are counted in one step, of which every job's grid is a whole multiple.
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

    from solver.problem.instance import Instance, LotChoice

Pool = frozenset[int]
Kept = dict[str, tuple[str, tuple[tuple[tuple[str, str], int], ...]]]
"""For each gap of an earlier plan: its layout, and how many of each size."""


@dataclass(frozen=True, slots=True)
class StockItem:
    """Parts nobody could tell apart whichever job takes them, or what can be bought of a size."""

    family: str
    size: str
    count: int
    price: int | None = None
    """Of one, in ten-thousandths."""
    pack: int = 1
    """How many are sold together."""
    bought: bool = False
    """Whether it stands for what could be bought: there are none unless an order brings them."""
    entry: str = ""
    """The entry of the shelf it is."""


@dataclass(frozen=True)
class BatchJob:
    """One rebuild among several."""

    name: str
    instance: Instance
    priority: int = 1
    pinned: bool = False
    """To be completed before any other."""
    held: bool = False
    """Held back: nothing is built."""
    kept: Kept = field(default_factory=dict)
    """What an earlier plan built of it."""


@dataclass(frozen=True)
class Batch:
    """Jobs by name, and the stock they share."""

    jobs: tuple[BatchJob, ...]
    items: tuple[StockItem, ...]
    pools: tuple[tuple[Pool, ...], ...]
    """For each job and choice the items it stands for; none for the job's own parts."""

    @cached_property
    def step(self) -> Fraction:
        """Nanometres in the step in which lengths of all jobs are added up."""
        steps = [job.instance.step for job in self.jobs]
        over = lcm(*(step.denominator for step in steps))
        return Fraction(gcd(*(int(step * over) for step in steps)) or 1, over)

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """Pinned jobs, priorities, how many; least change; the aims; cost."""
        ahead = [Level("complete", "pinned")] if any(job.pinned for job in self.jobs) else []
        ahead += [Level("complete", "priority"), Level("complete", "number")]
        ahead += [Level("keep", "kept")] if any(job.kept for job in self.jobs) else []
        aims = (level for aim in self._aims() for level in self._of(aim))
        return (*ahead, *aims, Level("cost", "cost"))

    def _aims(self) -> tuple[str, ...]:
        """The aims as the jobs order them; in their standard order where jobs differ."""
        asked = [job.instance.aims for job in self.jobs]
        if all(aims == asked[0] for aims in asked):
            return asked[0] if asked else ()
        return tuple(aim for aim in AIMS if any(aim in aims for aims in asked))

    def _of(self, aim: str) -> list[Level]:
        """The levels of an aim in any of the jobs; thin ones shifting first, then by grade."""
        found = {
            level: None for job in self.jobs for level in job.instance.levels if level.aim == aim
        }
        if aim != "thin":
            return list(found)
        return sorted(found, key=lambda level: (not level.shifts, level.grade))

    @cached_property
    def sizes(self) -> dict[tuple[str, str], tuple[int, ...]]:
        """The items of each size."""
        found: dict[tuple[str, str], list[int]] = {}
        for index, item in enumerate(self.items):
            found.setdefault((item.family, item.size), []).append(index)
        return {size: tuple(items) for size, items in found.items()}

    def scale(self, job: int, level: Level) -> int:
        """What one unit of a job's own level counts in the batch's."""
        return int(self.jobs[job].instance.step / self.step) if level.in_steps else 1

    def with_more(self, more: Mapping[int, int]) -> Batch:
        """The batch with more of some items on hand, every job's choices included."""
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


def batch_of(jobs: Iterable[BatchJob], packs: Mapping[tuple[str, str], int] | None = None) -> Batch:
    """Put jobs together in the order of their names; `packs` says how many are sold together.

    The lots of every instance must say which entry of the one shelf they are.
    """
    ordered = tuple(sorted(jobs, key=lambda job: job.name))
    making = _Items(packs or {})
    pools = tuple(tuple(map(making.pool, job.instance.choices)) for job in ordered)
    return sized(Batch(ordered, tuple(making.items), pools))


def sized(batch: Batch) -> Batch:
    """Name items that any job takes for one size alike, and price them alike.

    Units may call what lies in one bin by different sizes; the first name met is kept. Where
    prices differ the least that is stated holds, and the largest pack.
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
    """Numbers the items as they are met."""

    def __init__(self, packs: Mapping[tuple[str, str], int]) -> None:
        self.packs = packs
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
        item = StockItem(*size, 0, choice.price, self.packs.get(size, 1), bought=True)
        return self._number((size, choice.lots[0].thickness), item)

    def _number(self, key: object, item: StockItem) -> int:
        if key not in self.numbers:
            self.numbers[key] = len(self.items)
            self.items.append(item)
        return self.numbers[key]
