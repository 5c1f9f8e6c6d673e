"""Solves many cycles at once in HiGHS for the dual prices of a shelf's parts.

One linear program holds every scenario. The number of parts of each size on the shelf are columns
that are fixed, so the program decomposes into the scenarios, and from one shelf to the next most
of them keep their basis. Only prices rounded to integers leave this module; their user works out
exactly what they prove. Floats stay here. This is the second module that imports HiGHS.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from solver.engines.highs import quiet_highs
from solver.stock.shelf.subproblem import Cycle

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from fractions import Fraction

    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario
    from solver.stock.shelf.dual_bounds import Worths
    from solver.stock.shelf.job_cycle import Flows

NEAR = 1e-6


class Prices:
    """The live program: built once, solved for many shelves.

    Parameters
    ----------
    scenarios
        The jobs of each cycle, by kind of drum.
    drums
        For each kind, the sets of parts that serve it.
    most
        For each choice, the most parts that a shelf needs.
    reward
        The worth of a job served.
    kept
        For each choice, the cost of keeping one part, which a job that takes it saves.
    """

    def __init__(
        self, scenarios: Sequence[Scenario], drums: Sequence[Drum], most: Mapping[int, int],
        reward: int, kept: Mapping[int, int],
    ) -> None:  # fmt: skip
        import numpy as np

        self._np = np
        self.choices = sorted(most)
        self._low: list[float] = []
        self._high: list[float] = []
        self._entries: list[tuple[int, int, int]] = []
        self._gain: list[int] = []
        self._upper: list[int] = []
        self._own = {choice: self.integer(0, most[choice]) for choice in self.choices}
        self.cycles: list[Cycle] = []
        self.rows: list[dict[int, int]] = []
        """For each scenario, the row of each choice that some of its jobs draw."""
        for scenario in scenarios:
            cycle = Cycle(self, scenario, drums)
            for column, worth in cycle.worth(reward, kept).items():
                self._gain[column] = worth
            self.cycles.append(cycle)
            self.rows.append(self._stock(cycle))
        self._engine = quiet_highs()
        self._load()

    def integer(self, low: int, high: int) -> int:  # noqa: ARG002 - every lower bound is 0
        """Add a column, which may be fractional here."""
        self._gain.append(0)
        self._upper.append(high)
        return len(self._gain) - 1

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> int:
        """Add a row that keeps an expression between two bounds, either of which may be None."""
        number = len(self._low)
        self._low.append(-inf if low is None else low)
        self._high.append(inf if high is None else high)
        self._entries += [(number, column, factor) for column, factor in expression.items()]
        return number

    def _stock(self, cycle: Cycle) -> dict[int, int]:
        """Add rows that limit a cycle's draws to the parts on the shelf."""
        return {
            choice: self.row({self._own[choice]: -1, **takers}, None, 0)
            for choice, takers in sorted(cycle.drawn.items())
        }

    def _load(self) -> None:
        import highspy

        np = self._np
        rows, columns, factors = (np.array(part) for part in zip(*self._entries, strict=True))
        order = np.argsort(columns, kind="stable")
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self._gain), len(self._low)
        lp.col_cost_ = -np.array(self._gain, dtype=np.float64)  # HiGHS minimises
        lp.col_lower_ = np.zeros(len(self._gain))
        lp.col_upper_ = np.array(self._upper, dtype=np.float64)
        lp.row_lower_ = np.array(self._low, dtype=np.float64)
        lp.row_upper_ = np.array(self._high, dtype=np.float64)
        lp.a_matrix_.start_ = np.searchsorted(columns[order], np.arange(len(self._gain) + 1))
        lp.a_matrix_.index_ = rows[order].astype(np.int32)
        lp.a_matrix_.value_ = factors[order].astype(np.float64)
        self._engine.passModel(lp)

    def at(self, levels: Mapping[int, Fraction], seconds: float) -> Iterator[tuple[Worths, Flows]]:
        """Solve the program for a shelf, and yield the dual prices and the jobs of each scenario.

        Parameters
        ----------
        levels
            For each choice the number of parts, which may be fractional.
        seconds
            The time for the engine. Where it runs out, prices and jobs may be worse, or all 0.

        Yields
        ------
        prices : dict of int
            For each choice the dual price of a part, rounded to an integer.
        flows : Flows
            For each kind, gap by gap, the number of jobs that take each draw, rounded down.
        """
        np, engine = self._np, self._engine
        number = len(self.choices)
        fixed = np.array([levels.get(choice, 0) for choice in self.choices], dtype=np.float64)
        engine.changeColsBounds(number, np.arange(number, dtype=np.int32), fixed, fixed)
        engine.setOptionValue("time_limit", engine.getRunTime() + max(seconds, 0.01))
        engine.run()
        found = engine.getSolution()
        duals, values = found.row_dual, found.col_value
        if len(duals) < len(self._low):
            duals, values = np.zeros(len(self._low)), np.zeros(len(self._gain))
        for rows, cycle in zip(self.rows, self.cycles, strict=True):
            worths = {choice: max(0, round(-duals[row])) for choice, row in rows.items()}
            whole = {
                kind: [[int(values[column] + NEAR) for column in gap] for gap in gaps]
                for kind, gaps in cycle.flows.items()
            }
            yield worths, whole
