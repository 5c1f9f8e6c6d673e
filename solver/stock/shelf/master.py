"""Holds the master problem over a shelf's levels in HiGHS; each round adds cuts to it.

Its columns are the packs of each choice and the worth of each scenario, counted in jobs. It is
solved with fractional packs and jobs. Each solve sets anew the ranges of some sums of packs and the
upper bounds on the worth of each scenario. Floats stay here. This is the third module that imports
HiGHS.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from solver.engines.highs import quiet_highs

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.engines.limits import Clock
    from solver.stock.shelf.rounded_cuts import Ranges, RoundedCut, Total

PARTS = 1_000_000  # fractions leave in parts of this size
NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Least:
    """The cheapest shelf of the master problem, and a bound on every shelf."""

    packs: list[Fraction]
    worths: list[Fraction]
    """The worth of each scenario's jobs as far as the cuts allow."""
    bound: int


class OutOfTimeError(Exception):
    """The master problem was not solved in time."""


class Master:
    """The live master problem."""

    def __init__(
        self, costs: Sequence[int], most: Sequence[int], job: int, able: Sequence[int], wanted: int
    ) -> None:
        """Build the problem without cuts.

        Parameters
        ----------
        costs
            For each choice, the cost of a pack.
        most
            For each choice, the most packs that a shelf needs.
        job
            The worth of a job, and its cost of waiting where no number of jobs is asked for.
        able
            For each scenario, the number of jobs that some sizes could serve.
        wanted
            How many jobs of all scenarios are to be built; 0 where waiting has a cost instead.
        """
        import highspy
        import numpy as np

        self._np, self._status = np, highspy.HighsModelStatus
        self._engine = quiet_highs()
        self.packs, self.scenarios, self.job = len(most), len(able), job
        self._rows: dict[Total, int] = {}
        for cost, number in zip(costs, most, strict=True):
            self._engine.addCol(cost, 0, number, 0, [], [])
        for _ in able:
            self._engine.addCol(0 if wanted else -job, 0, math.inf, 0, [], [])
        self._waiting = 0 if wanted else job * sum(able)
        self._engine.changeObjectiveOffset(self._waiting)
        columns = range(self.packs, self.packs + self.scenarios)
        self._wanted = self._row(dict.fromkeys(columns, 1), wanted, math.inf)

    def bind(self, cut: RoundedCut) -> None:
        """Add a cut: the jobs of a scenario are worth no more than it allows."""
        terms = {pack: -cut.rise * factor for pack, factor in cut.total}
        self._row({self.packs + cut.scenario: self.job, **terms}, -math.inf, cut.foot)

    def _row(self, terms: Mapping[int, int], low: float, high: float) -> int:
        self._engine.addRow(low, high, len(terms), [*terms], [*map(float, terms.values())])
        return int(self._engine.getNumRow()) - 1

    def least(self, ranges: Ranges, worths: Sequence[int], clock: Clock) -> Least | None:
        """Find the cheapest shelf within ranges of some sums of packs.

        Parameters
        ----------
        ranges
            For some sums of packs, their lowest and highest value.
        worths
            For each scenario, an upper bound on the worth of its jobs.
        clock
            The time that is left.

        Returns
        -------
        Least, or None
            None where no shelf satisfies all rows.

        Raises
        ------
        OutOfTimeError
            Where the problem was not solved in time.
        """
        np, engine = self._np, self._engine
        if not clock.left:
            raise OutOfTimeError
        for total in ranges:
            if total not in self._rows:
                self._rows[total] = self._row(dict(total), 0, math.inf)
        for total, row in self._rows.items():
            engine.changeRowBounds(row, *map(float, ranges.get(total, (0, math.inf))))
        columns = np.arange(self.packs, self.packs + self.scenarios, dtype=np.int32)
        highest = np.array(worths, dtype=np.float64) / self.job
        engine.changeColsBounds(self.scenarios, columns, np.zeros(self.scenarios), highest)
        engine.setOptionValue("time_limit", engine.getRunTime() + max(clock.left, 0.01))
        engine.run()
        if engine.getModelStatus() == self._status.kInfeasible:
            return None
        if engine.getModelStatus() != self._status.kOptimal:
            raise OutOfTimeError
        bound = engine.getInfo().objective_function_value  # lowered below by the engine's tolerance
        found = [Fraction(round(value * PARTS), PARTS) for value in engine.getSolution().col_value]
        return Least(
            found[: self.packs], [self.job * worth for worth in found[self.packs :]],
            math.ceil(bound - NEAR * (1 + abs(bound) + self._waiting)),
        )  # fmt: skip

    def dual(self) -> int:
        """Return the rise of the optimum by one more job asked for: the dual of that row."""
        dual: float = self._engine.getSolution().row_dual[self._wanted]
        return round(dual)
