"""The door to HiGHS: a mixed integer program of whole numbers, made least level after level.

HiGHS works in floating point. Of the duals of its linear relaxation a bound is made in whole
numbers: with the duals rounded to y, any x within its bounds has

    c x = y (A x) + (c - y A) x  >=  sum of y times the row's bound + sum of d times the column's

so no error of HiGHS can make that bound too high. A column whose d lifts it above the best value
known cannot be in any plan as good, and is fixed for all levels that follow, since these hold
this level. floats stay in this file.
"""

from __future__ import annotations

import math
import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from solver.engine import CONSTANT, Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from solver.engine import Clock, Status

OPEN = 2**62
GAP = 0.99  # levels are whole numbers: less than one apart is equal
ROOM = 61  # bits of exact arithmetic
NEAR = 1e-6
SHORT = 400  # entries of a row that ties few columns: one component, one job
NEARBY = (0, 10)  # how much of the program a first search leaves open
FEASIBLE = 2
FEW = 500  # a search from the last basis that takes longer is slower than a new one
OPTIONS = {
    "threads": 1, "random_seed": 1, "mip_abs_gap": GAP, "mip_rel_gap": 0.0, "parallel": "off",
}  # fmt: skip


class Highs:
    """A live program: rows and columns are only added, objectives are exchanged."""

    def __init__(self) -> None:
        import highspy
        import numpy

        self._np = numpy
        self._highspy = highspy
        self._low: Any = numpy.zeros(0, dtype=numpy.int64)
        self._high: Any = numpy.zeros(0, dtype=numpy.int64)
        self._ends: list[tuple[int, int]] = []
        """Of the columns that came since the last search."""
        self._whole: list[bool] = []
        self._rows: list[tuple[Mapping[int, int], int | None, int | None]] = []
        self._linear: Any = None
        self._mixed: Any = None
        self._loaded = 0
        self._held: list[tuple[Any, Any, Any]] = []
        self._sides: list[tuple[Any, Any]] = []
        self._by_column: Any = None
        self._starts: Any = None
        self._values: tuple[int, ...] = ()

    # What the program is made of.

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return len(self._whole)

    def shut(self, variable: int) -> bool:
        """Whether it is proved that a column is 0 in every plan as good as the levels held."""
        return bool(variable < len(self._high) and self._high[variable] <= 0)

    def boolean(self) -> int:
        """Add a column that is 0 or 1."""
        return self.integer(0, 1)

    def integer(self, low: int, high: int) -> int:
        """Add a whole number between two bounds."""
        self._whole.append(True)
        return self._column(low, high)

    def amount(self, low: int, high: int) -> int:
        """Add a number that is whole by itself wherever the others are."""
        self._whole.append(False)
        return self._column(low, high)

    def _column(self, low: int, high: int) -> int:
        self._ends.append((low, high))
        return len(self._whole) - 1

    def one_of(self, variables: Iterable[int]) -> None:
        """Ask that exactly one of some booleans be true."""
        self.row(dict.fromkeys(variables, 1), 1, 1)

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Ask that an expression lie between two bounds, either of which may be open."""
        constant = expression.get(CONSTANT, 0)
        terms = {variable: factor for variable, factor in expression.items() if variable >= 0}
        ends = (None if end is None else end - constant for end in (low, high))
        self._rows.append((terms, *ends))

    # The search.

    def suggest(self, values: tuple[int, ...]) -> None:
        """Begin the next search from these values, which must keep every row."""
        self._values = values

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        """Make an expression least until proved or out of time; Ctrl-C ends it early."""
        constant = expression.get(CONSTANT, 0)
        terms = {v: f for v, f in expression.items() if v >= 0 and f}
        unit = math.gcd(*terms.values()) or 1
        cost = self._np.zeros(self.columns, dtype=self._np.int64)
        for variable, factor in terms.items():
            cost[variable] = factor // unit
        try:
            outcome = self._least(cost, clock)
        except KeyboardInterrupt:
            status: Status = "feasible" if self._values else "unknown"
            outcome = Outcome(status, self._values, -OPEN)
        exact = None if outcome.exact is None else outcome.exact * unit + constant
        return Outcome(outcome.status, outcome.values, outcome.bound * unit + constant, exact)

    def _least(self, cost: Any, clock: Clock) -> Outcome:
        self._load()
        best = self._worth(cost) if self._values else None
        if not self._relaxed(cost, clock):
            return Outcome("infeasible", (), 0)
        exact = self._bound(cost, best)
        if best is not None and exact >= best:
            return Outcome("optimal", self._values, best, exact)
        outcome = self._searched(cost, exact, clock)
        if outcome.values:
            self._bound(cost, self._worth(cost))
        return outcome

    def _load(self) -> None:
        """Give the engine the program, or the rows that came since."""
        np = self._np
        if self._linear is None:
            self._linear, self._mixed = self._made(), self._made()
        if self._ends:
            self._widen()
        rows = self._rows[self._loaded :]
        self._loaded = len(self._rows)
        if not rows:
            return
        starts = np.cumsum([0, *(len(terms) for terms, _, _ in rows)], dtype=np.int32)
        index = np.fromiter((v for terms, _, _ in rows for v in terms), dtype=np.int32)
        factors = np.fromiter((f for terms, _, _ in rows for f in terms.values()), dtype=np.int64)
        lows = np.array([-math.inf if low is None else low for _, low, _ in rows])
        highs = np.array([math.inf if high is None else high for _, _, high in rows])
        for engine in (self._linear, self._mixed):
            engine.addRows(
                len(rows), lows, highs, len(index), starts[:-1], index, factors.astype(np.float64)
            )
        self._held.append((np.repeat(np.arange(len(rows)), np.diff(starts)), index, factors))
        self._sides.append((lows, highs))
        self._by_column = None

    def _made(self) -> Any:
        with _unheard():
            engine = self._highspy.Highs()
        engine.silent()
        engine.HandleUserInterrupt = True
        for option, value in OPTIONS.items():
            engine.setOptionValue(option, value)
        return engine

    def _widen(self) -> None:
        """Give both engines the columns that came since."""
        np, before = self._np, len(self._low)
        low, high = (np.array(ends, dtype=np.int64) for ends in zip(*self._ends, strict=True))
        self._low, self._high = np.append(self._low, low), np.append(self._high, high)
        number = len(self._ends)
        self._ends = []
        empty = np.zeros(number, dtype=np.int32), np.zeros(0, dtype=np.int32), np.zeros(0)
        ends = low.astype(np.float64), high.astype(np.float64)
        for engine in (self._linear, self._mixed):
            engine.addCols(number, np.zeros(number), *ends, 0, *empty)
        which = before + np.flatnonzero(self._whole[before:]).astype(np.int32)
        kinds = np.full(len(which), self._highspy.HighsVarType.kInteger.value, dtype=np.uint8)
        self._mixed.changeColsIntegrality(len(which), which.astype(np.int32), kinds)
        self._by_column = None

    def _worth(self, cost: Any) -> int:
        return int(cost @ self._np.array(self._values, dtype=self._np.int64))

    def _run(self, engine: Any, cost: Any, clock: Clock) -> Any:
        """Let the engine search in a thread of its own, so that Ctrl-C is heard."""
        np = self._np
        number = len(cost)
        engine.changeColsCost(
            number, np.arange(number, dtype=np.int32), cost.astype(np.float64)
        )
        engine.setOptionValue("time_limit", engine.getRunTime() + max(clock.left, 0.01))
        search = engine.startSolve()
        while not engine.wait(0.1)[0]:
            pass
        search.join()
        return engine.getModelStatus()

    def _relaxed(self, cost: Any, clock: Clock) -> bool:
        """Solve the linear relaxation; False where it is infeasible."""
        ended = self._highspy.HighsModelStatus
        self._linear.setOptionValue("simplex_iteration_limit", FEW)
        status = self._run(self._linear, cost, clock)
        if status == ended.kIterationLimit:
            self._linear.clearSolver()
            self._linear.setOptionValue("simplex_iteration_limit", 2**31 - 1)
            status = self._run(self._linear, cost, clock)
        return status != self._highspy.HighsModelStatus.kInfeasible

    def _bound(self, cost: Any, best: int | None) -> int:
        """A lower bound in whole numbers; what lifts it above the best is fixed for good."""
        np = self._np
        duals = np.array(self._linear.getSolution().row_dual)
        if len(duals) != len(self._rows):
            duals = np.zeros(len(self._rows))
        rows, columns, factors = self._matrix()
        lows, highs = (np.concatenate(sides) for sides in zip(*self._sides, strict=True))
        side = np.where(duals > 0, lows, highs)
        duals = np.where(np.isfinite(side), duals, 0.0)
        side = np.where(np.isfinite(side), side, 0.0)
        slopes = cost - np.bincount(columns, factors * duals[rows], len(cost))
        far = np.maximum(np.abs(self._low), np.abs(self._high))
        size = np.abs(duals * side).sum() + (np.abs(slopes) * far).sum() + np.abs(duals).sum() + 1
        bits = min(40, ROOM - 2 - math.ceil(math.log2(size)))
        if bits < 0:
            return -OPEN
        whole = np.rint(duals * 2.0**bits).astype(np.int64)
        side = np.where(whole > 0, lows, highs)
        whole = np.where(np.isfinite(side), whole, 0)
        side = np.where(np.isfinite(side), side, 0).astype(np.int64)
        ends = np.concatenate(([0], np.cumsum(factors * whole[rows])))  # wraps, differences do not
        slope = (cost << bits) - (ends[self._starts[1:]] - ends[self._starts[:-1]])
        least = np.where(slope > 0, self._low, self._high)
        total = int((whole * side).sum()) + int((slope * least).sum())
        if best is not None:
            self._fix(total, slope, best << bits)
        return -(-total >> bits)

    def _matrix(self) -> tuple[Any, Any, Any]:
        """All rows as entries in the order of columns."""
        np = self._np
        if self._by_column is None:
            first = np.cumsum([0, *(len(lows) for lows, _ in self._sides)])
            rows = np.concatenate([r + n for (r, _, _), n in zip(self._held, first, strict=False)])
            columns = np.concatenate([index for _, index, _ in self._held])
            factors = np.concatenate([f for _, _, f in self._held])
            order = np.argsort(columns, kind="stable")
            self._by_column = rows[order], columns[order], factors[order]
            self._starts = np.searchsorted(columns[order], np.arange(len(self._low) + 1))
        return self._by_column

    def _fix(self, total: int, slope: Any, best: int) -> None:
        """Fix the columns of which one more, or one less, would pass the best."""
        np = self._np
        free = (self._high > self._low) & np.array(self._whole)
        down = free & (slope > best - total)
        up = free & (-slope > best - total)
        self._high = np.where(down, self._low, self._high)
        self._low = np.where(up, self._high, self._low)
        moved = np.flatnonzero(down | up).astype(np.int32)
        ends = (side[moved].astype(np.float64) for side in (self._low, self._high))
        low, high = ends
        for engine in (self._linear, self._mixed):
            engine.changeColsBounds(len(moved), moved, low, high)

    def _searched(self, cost: Any, exact: int, clock: Clock) -> Outcome:
        """Search whole numbers: near the relaxed values first, then everywhere."""
        np = self._np
        relaxed = np.array(self._linear.getSolution().col_value)
        whole = np.array(self._whole)
        if len(relaxed) == len(whole) and exact > -OPEN:
            split = whole & (np.abs(relaxed - np.rint(relaxed)) > NEAR)
            if not split.any() and self._holds(np.rint(relaxed)):
                self._values = tuple(map(int, np.rint(relaxed)))
                if self._worth(cost) <= exact:
                    return Outcome("optimal", self._values, exact, exact)
            for share in NEARBY:
                outcome = self._mixed_search(cost, exact, clock, self._far(relaxed, split, share))
                if outcome.values and self._worth(cost) <= exact:
                    return Outcome("optimal", outcome.values, exact, exact)
        return self._mixed_search(cost, exact, clock, np.zeros(0, dtype=np.int32))

    def _holds(self, values: Any) -> bool:
        """Whether values keep every row, in whole numbers."""
        np = self._np
        rows, columns, factors = self._matrix()
        whole = values.astype(np.int64)
        sums = np.zeros(self._loaded, dtype=np.int64)
        np.add.at(sums, rows, factors * whole[columns])
        lows, highs = (np.concatenate(sides) for sides in zip(*self._sides, strict=True))
        return bool((sums >= lows).all() and (sums <= highs).all())

    def _far(self, relaxed: Any, split: Any, share: int) -> Any:
        """The columns to leave out: not used, and not in a short row with a split one.

        Of the other short rows one in `share` stays open too.
        """
        np = self._np
        rows, columns, _ = self._matrix()
        short = np.bincount(rows, minlength=self._loaded) <= SHORT
        touched = np.zeros(self._loaded, dtype=bool)
        touched[rows[split[columns]]] = True
        if share:
            touched[::share] = True
        near = np.zeros(len(split), dtype=bool)
        near[columns[(touched & short)[rows]]] = True
        near |= relaxed > NEAR
        if self._values:
            near |= np.array(self._values) > 0
        near |= ~np.array(self._whole) | (self._high <= self._low)
        return np.flatnonzero(~near).astype(np.int32)

    def _mixed_search(self, cost: Any, exact: int, clock: Clock, aside: Any) -> Outcome:
        """Search with some columns set aside, from the best values known."""
        status = self._highspy.HighsModelStatus
        low, high = (ends[aside].astype(self._np.float64) for ends in (self._low, self._high))
        self._mixed.changeColsBounds(len(aside), aside, low, low)
        if self._values:
            start = self._highspy.HighsSolution()
            start.col_value = [float(value) for value in self._values]
            self._mixed.setSolution(start)
        try:
            ended = self._run(self._mixed, cost, clock)
            found = self._mixed.getInfo()
            if found.primal_solution_status == FEASIBLE:
                self._values = tuple(map(round, self._mixed.getSolution().col_value))
        finally:
            self._mixed.changeColsBounds(len(aside), aside, low, high)
        if ended == status.kInfeasible and not len(aside):
            return Outcome("infeasible", (), 0)
        if not self._values:
            return Outcome("unknown", (), exact)
        best = self._worth(cost)
        bound = exact if len(aside) else max(exact, self._rounded(found.mip_dual_bound))
        done = "optimal" if ended == status.kOptimal and best <= bound else "feasible"
        return Outcome(done, self._values, min(bound, best), exact)

    @staticmethod
    def _rounded(bound: float) -> int:
        return math.ceil(bound - NEAR) if math.isfinite(bound) else -OPEN


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep off standard output what the engine prints of itself before it can be told not to."""
    sys.stdout.flush()
    kept, nothing = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nothing, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nothing)
