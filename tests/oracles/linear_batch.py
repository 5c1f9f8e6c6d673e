"""A batch with one variable for each part at each place, solved level by level with HiGHS.

Every job is put per place as `milp` puts one rebuild, behind a gate that says whether it is
complete: a row that asks for something asks for it only while the gate is 1. The plan itself is
not read back; the values of the levels are what is compared.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tests.oracles.linear_program import MilpError, PerPlace, Rows, Sum, total

if TYPE_CHECKING:
    from solver.batch import Batch
    from solver.problem.aims import Level


class PerPlaceBatch:
    """All jobs of a batch in one program."""

    def __init__(self, batch: Batch) -> None:
        self.batch = batch
        self.rows = Rows()
        self.gates = [self.rows.variable(0 if job.held else 1) for job in batch.jobs]
        self.goals: dict[Level, Sum] = {}
        self.pools: dict[frozenset[int], Sum] = {}
        for job in range(len(batch.jobs)):
            self._job(job)
        self.drawn = self._stock()

    def _job(self, job: int) -> None:
        instance = self.batch.jobs[job].instance
        if not all(gap.layouts for gap in instance.gaps):
            self.rows.row({self.gates[job]: 1}, 0, 0)
            return
        alone = PerPlace(instance)
        levels = [level for level in instance.levels if level.measure != "scarce"]
        goals = {level: alone.goal(level) for level in levels}
        drawn = [alone._drawn({choice}) for choice in range(len(instance.choices))]  # noqa: SLF001
        first = len(self.rows.most)
        for most in alone.rows.most:
            self.rows.variable(most)

        def moved(sum_: Sum) -> Sum:
            return {first + variable: factor for variable, factor in sum_.items()}

        for sum_, low, high in alone.rows.rows:
            self._gated(job, moved(sum_), low, high)
        for level, goal in goals.items():
            scaled = total(moved(goal), by=self.batch.scale(job, level))
            self.goals[level] = total(self.goals.get(level, {}), scaled)
        for choice, pool in enumerate(self.batch.pools[job]):
            if pool:
                self.pools[pool] = total(self.pools.get(pool, {}), moved(drawn[choice]))

    def _gated(self, job: int, sum_: Sum, low: float, high: float) -> None:
        gate = self.gates[job]
        if low > 0 and np.isfinite(low):
            self.rows.row(total(sum_, {gate: -int(low)}), 0)
        elif np.isfinite(low):
            self.rows.row(sum_, low)
        if high < 0 or low == high:
            self.rows.row(total(sum_, {gate: -int(high)}), high=0)
        elif np.isfinite(high):
            self.rows.row(sum_, high=high)

    def _stock(self) -> list[Sum]:
        """Fill every pool from its items, whether pools overlap or not."""
        drawn: list[Sum] = [{} for _ in self.batch.items]
        for pool, asked in self.pools.items():
            taken = {item: self.rows.variable(self.batch.items[item].count) for item in pool}
            self.rows.row(total(asked, dict.fromkeys(taken.values(), -1)), 0, 0)
            for item, variable in taken.items():
                drawn[item][variable] = 1
        for kind, sum_ in zip(self.batch.items, drawn, strict=True):
            self.rows.row(sum_, high=kind.count)
        return drawn

    def goal(self, level: Level) -> tuple[int, Sum]:
        """A constant and a sum that a level makes least."""
        jobs = self.batch.jobs
        weights = {
            "pinned": [int(job.pinned) for job in jobs],
            "priority": [job.priority for job in jobs],
            "number": [1] * len(jobs),
        }.get(level.measure)
        if weights is not None:
            return sum(weights), {g: -w for g, w in zip(self.gates, weights, strict=True)}
        if level.measure == "cost":
            priced = [
                total(sum_, by=item.price or 0)
                for item, sum_ in zip(self.batch.items, self.drawn, strict=True)
            ]
            return 0, total(*priced)
        return 0, self._scarce() if level.measure == "scarce" else self.goals.get(level, {})

    def _scarce(self) -> Sum:
        found: Sum = {}
        for items in self.batch.sizes.values():
            on_hand = sum(self.batch.items[item].count for item in items)
            steps = {self.rows.variable(): 10_000 // (on_hand - nth) for nth in range(on_hand)}
            taken = total(*(self.drawn[item] for item in items))
            self.rows.row(total(taken, dict.fromkeys(steps, -1)), 0, 0)
            found |= steps
        return found


def best_values(batch: Batch) -> tuple[int, ...]:
    """The least value of every level in order."""
    program = PerPlaceBatch(batch)
    values = []
    for level in batch.levels:
        constant, goal = program.goal(level)
        found = program.rows.least(goal)
        if found is None:
            raise MilpError("a level that was reached cannot be held")
        program.rows.row(goal, high=found[0])
        values.append(constant + found[0])
    return tuple(values)
