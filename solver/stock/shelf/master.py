"""The third door to HiGHS: the small program over a shelf's levels, whose rows grow round by round.

Its columns are packs of each choice, and what the jobs of each scenario are worth, as so many jobs.
It is solved with parts of packs and jobs; between which whole numbers some sums of packs lie, and
what the jobs of a scenario are worth at most, is said anew each time. Floats stay here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from solver.engines.silence import silent_output

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.engines.limits import Clock
    from solver.stock.shelf.rounded_cuts import Ranges, RoundedCut, Total

PARTS = 1_000_000  # what is no whole number is told in so many parts of one
NEAR = 1e-6
OPTIONS: dict[str, int | str] = {"threads": 1, "parallel": "off", "random_seed": 1}


@dataclass(frozen=True, slots=True)
class Least:
    """The cheapest shelf of the program, and a bound on every one."""

    packs: list[Fraction]
    worths: list[Fraction]
    """What the jobs of each scenario are worth as far as the rows allow."""
    bound: int


class OutOfTimeError(Exception):
    """Whether any shelf does as asked was not found out."""


class Master:
    """A live program."""

    def __init__(
        self, costs: Sequence[int], most: Sequence[int], job: int, able: Sequence[int], asked: int
    ) -> None:
        """Of each pack its cost and the most there are; how many jobs each scenario has.

        So many jobs are asked for of all scenarios, or, where none are, each that waits costs what
        a job is worth.
        """
        import highspy
        import numpy as np

        self._np, self._status = np, highspy.HighsModelStatus
        with silent_output():  # it greets
            self._engine: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        self._engine.silent()
        for option, value in OPTIONS.items():
            self._engine.setOptionValue(option, value)
        self.packs, self.scenarios, self.job = len(most), len(able), job
        self._rows: dict[Total, int] = {}
        for cost, number in zip(costs, most, strict=True):
            self._engine.addCol(cost, 0, number, 0, [], [])
        for _ in able:
            self._engine.addCol(0 if asked else -job, 0, math.inf, 0, [], [])
        self._waiting = 0 if asked else job * sum(able)
        self._engine.changeObjectiveOffset(self._waiting)
        columns = range(self.packs, self.packs + self.scenarios)
        self._asked = self._row(dict.fromkeys(columns, 1), asked, math.inf)

    def bind(self, stair: RoundedCut) -> None:
        """The jobs of a scenario are worth no more than a stair allows."""
        terms = {pack: -stair.rise * factor for pack, factor in stair.total}
        self._row({self.packs + stair.scenario: self.job, **terms}, -math.inf, stair.foot)

    def _row(self, terms: Mapping[int, int], low: float, high: float) -> int:
        self._engine.addRow(low, high, len(terms), [*terms], [*map(float, terms.values())])
        return int(self._engine.getNumRow()) - 1

    def least(self, ranges: Ranges, worths: Sequence[int], clock: Clock) -> Least | None:
        """Solve it within ranges of sums of packs, the jobs of a scenario worth so much at most.

        None where nothing meets all rows; raises OutOfTimeError where that was not found out.
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
        bound = engine.getInfo().objective_function_value
        found = [Fraction(round(value * PARTS), PARTS) for value in engine.getSolution().col_value]
        return Least(
            found[: self.packs], [self.job * worth for worth in found[self.packs :]],
            math.ceil(bound - NEAR * (1 + abs(bound) + self._waiting)),
        )  # fmt: skip

    def worth(self) -> int:
        """By how much the least rises with one job more that is asked for."""
        dual: float = self._engine.getSolution().row_dual[self._asked]
        return round(dual)
