"""A batch written out per position, the way a peer would be given it: all jobs in one program.

Every job is written as `benchmarks.positions` writes one, behind a column that says whether it is
complete. Only jobs without shared parts and without rules: the floors timed here have no others.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from benchmarks.positions import Positions, Terms
from solver.problem.gaps import RATIO

if TYPE_CHECKING:
    from solver.batch import Batch
    from solver.problem.aims import Level


class BatchPositions:
    """All jobs of a batch in one program."""

    def __init__(self, batch: Batch) -> None:
        self.batch = batch
        self.whole: list[bool] = []
        self.most: list[float] = []
        self.rows: list[tuple[Terms, float, float]] = []
        self.sums: dict[Level, Terms] = {}
        self.pools: dict[frozenset[int], Terms] = {}
        self.complete = [self._column(1, whole=True) for _ in batch.jobs]
        for job in range(len(batch.jobs)):
            self._job(job)
        for pool, drawn in self.pools.items():
            self.rows.append((drawn, 0, sum(batch.items[item].count for item in pool)))
        self.levels = [self._level(level) for level in batch.levels]

    def _column(self, most: float, *, whole: bool) -> int:
        self.whole.append(whole)
        self.most.append(most)
        return len(self.most) - 1

    def _job(self, job: int) -> None:
        instance = self.batch.jobs[job].instance
        alone = Positions(instance)
        first = len(self.most)
        self.whole += alone.whole
        self.most += alone.most

        def moved(terms: Terms) -> Terms:
            return {first + column: amount for column, amount in terms.items()}

        for terms, low, high in alone.rows:
            if low == high == 1:  # one layout of a gap: of a job that is left, none
                self.rows.append((moved(terms) | {self.complete[job]: -1}, 0, 0))
            else:
                self.rows.append((moved(terms), low, high))
        for level, terms in zip(instance.levels, alone.levels, strict=True):
            if level.measure != "scarce":
                by = self.batch.scale(job, level)
                scaled = {column: amount * by for column, amount in moved(terms).items()}
                self.sums.setdefault(level, {}).update(scaled)
        for choice, terms in alone.drawn.items():
            self.pools.setdefault(self.batch.pools[job][choice], {}).update(moved(terms))

    def _level(self, level: Level) -> tuple[int, Terms]:
        """A constant and what is added up."""
        if level.measure == "priority":
            weights = [job.priority for job in self.batch.jobs]
            return sum(weights), {z: -w for z, w in zip(self.complete, weights, strict=True)}
        if level.measure == "number":
            return len(self.complete), dict.fromkeys(self.complete, -1)
        if level.measure == "cost":
            return 0, self._cost()
        return 0, self._scarce() if level.measure == "scarce" else self.sums.get(level, {})

    def _drawn(self, items: tuple[int, ...]) -> Terms:
        mine = frozenset(items)
        pools = (drawn for pool, drawn in self.pools.items() if pool <= mine)
        return {column: amount for drawn in pools for column, amount in drawn.items()}

    def _cost(self) -> Terms:
        total: Terms = {}
        for items in self.batch.sizes.values():
            price = self.batch.items[items[0]].price or 0
            total |= {column: amount * price for column, amount in self._drawn(items).items()}
        return total

    def _scarce(self) -> Terms:
        total: Terms = {}
        for items in self.batch.sizes.values():
            on_hand = sum(self.batch.items[item].count for item in items)
            costs = [RATIO // (on_hand - nth) for nth in range(on_hand)]
            steps = {self._column(1, whole=False): cost for cost in costs}
            self.rows.append((self._drawn(items) | dict.fromkeys(steps, -1), -inf, 0))
            total |= steps
        return total
