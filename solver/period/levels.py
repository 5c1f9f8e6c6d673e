"""The third door to HiGHS: the small program over a shelf's levels, whose rows grow round by round.

First it may be solved with levels that are no whole numbers, which is quick and draws the rows
near the answer; then with whole ones. Floats stay here.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from solver.unheard import unheard

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.engine import Clock

PARTS = 1_000  # a level that is no whole number is told in so many parts of one
NEAR = 1e-6
GAP = 1e-3  # of the cost: closer than this a bound is not looked for
OPTIONS: dict[str, int | float | str] = {
    "threads": 1, "parallel": "off", "random_seed": 1, "mip_rel_gap": GAP,
}  # fmt: skip


class Levels:
    """A live program: packs of each choice, and what groups of scenarios are worth at most."""

    def __init__(self, most: Sequence[int], groups: int, cost: Mapping[int, int]) -> None:
        import highspy

        with unheard():  # it greets
            self._engine: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        self._engine.silent()
        self._kinds = highspy.HighsVarType
        for option, value in OPTIONS.items():
            self._engine.setOptionValue(option, value)
        self.whole = len(most)
        for column in range(self.whole + groups):
            high = most[column] if column < self.whole else math.inf
            self._engine.addCol(cost.get(column, 0), 0, high, 0, [], [])

    def row(self, terms: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Ask that a sum lie between two bounds, either of which may be open."""
        self._engine.addRow(
            -math.inf if low is None else low, math.inf if high is None else high,
            len(terms), [*terms], [*map(float, terms.values())],
        )  # fmt: skip

    def least(self, clock: Clock, *, whole: bool) -> tuple[list[Fraction], int] | None:
        """The packs of the cheapest shelf, and a bound on every one; None where none was found."""
        engine = self._engine
        kind = self._kinds.kInteger if whole else self._kinds.kContinuous
        for column in range(self.whole):
            engine.changeColIntegrality(column, kind)
        engine.setOptionValue("time_limit", engine.getRunTime() + max(clock.left, 0.01))
        engine.run()
        values, found = engine.getSolution().col_value, engine.getInfo()
        if found.primal_solution_status != 2:  # noqa: PLR2004 - feasible
            return None
        bound = found.mip_dual_bound if whole else found.objective_function_value
        packs = [Fraction(round(value * PARTS), PARTS) for value in values[: self.whole]]
        packs = [Fraction(round(pack)) for pack in packs] if whole else packs
        return packs, math.ceil(bound - NEAR * abs(bound)) if math.isfinite(bound) else 0

    def rise(self, number: int) -> int:
        """By how much the least rises where the first row is to be so much more."""
        duals = self._engine.getSolution().row_dual
        return round(number * duals[0]) if duals else 0
