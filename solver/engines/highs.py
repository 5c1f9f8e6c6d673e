"""Wraps HiGHS: a mixed integer program over integers, minimised level after level.

HiGHS works in floating point; `solver.engines.integer_rows` proves its answers in integers or does
not. Each level begins with the linear relaxation. Where its vertex is integer, the level is solved.
Otherwise integers are searched near it first, and only then everywhere: first with every column
held that shares no short row with a fractional one, then with those of them held that are unused.
Columns that are proved to be 0 in every plan as good are fixed for all further levels, because
these hold this level. HiGHS and numpy are imported when the first program is made. Floats stay in
this module.
"""

from __future__ import annotations

import math
import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from solver.engines.expressions import CONSTANT
from solver.engines.limits import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from solver.engines.integer_rows import IntegerBound, Row
    from solver.engines.limits import Clock, Status

OPEN = 2**62
NEAR = 1e-6
FEASIBLE = 2
FEW = 500  # a search from the last basis that takes longer is slower than a new one
SHORT = 400  # entries of a row that ties few columns: one component, one job
NEARBY = (0, 10)  # short rows left open by the wider searches: split ones, then every 10th too
REPEATABLE: dict[str, int | str] = {"threads": 1, "parallel": "off", "random_seed": 1}
LESS_THAN_ONE = 0.99  # apart: levels are whole numbers, so these are equal
Array = Any  # of numpy, which is imported when the first program is made


class Highs:
    """A live program: rows and columns are only added, objectives are exchanged."""

    def __init__(self) -> None:
        import highspy
        import numpy as np

        from solver.engines.integer_rows import Matrix

        self._np = np
        self._status = highspy.HighsModelStatus
        self._highspy = highspy
        self._low: Array = np.zeros(0, dtype=np.int64)
        self._high: Array = np.zeros(0, dtype=np.int64)
        self._ends: list[tuple[int, int]] = []
        """The bounds of the columns added since the last search."""
        self._whole: list[bool] = []
        self._rows: list[Row] = []
        """The rows added since the last search."""
        self._matrix = Matrix()
        self._linear, self._mixed = self._made(), self._made()
        self._values: tuple[int, ...] = ()
        self._scale = 1, 0

    # Columns and rows.

    @property
    def name(self) -> str:
        """The engine and its version."""
        return f"HiGHS {self._linear.version()}"

    @property
    def columns(self) -> int:
        """The number of columns."""
        return len(self._whole)

    def shut(self, variable: int) -> bool:
        """Return whether a column is proved to be 0 in every plan as good on the levels held."""
        return bool(variable < len(self._high) and self._high[variable] <= 0)

    def boolean(self) -> int:
        """Add a column that is 0 or 1, and return its index."""
        return self.integer(0, 1)

    def integer(self, low: int, high: int) -> int:
        """Add an integer column between two bounds, and return its index."""
        return self._column(low, high, whole=True)

    def amount(self, low: int, high: int) -> int:
        """Add a column that is an integer wherever the others are, and return its index."""
        return self._column(low, high, whole=False)

    def _column(self, low: int, high: int, *, whole: bool) -> int:
        self._whole.append(whole)
        self._ends.append((low, high))
        return len(self._whole) - 1

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Add the constraint that an expression lies between two bounds; None is open."""
        constant = expression.get(CONSTANT, 0)
        terms = {variable: factor for variable, factor in expression.items() if variable >= 0}
        least, most = (None if end is None else end - constant for end in (low, high))
        self._rows.append((terms, least, most))

    # The search.

    def suggest(self, values: tuple[int, ...]) -> None:
        """Start the next search from these values, which satisfy every row."""
        self._values = values

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        """Minimise an expression until it is proved or time runs out; Ctrl-C ends it early."""
        constant = expression.get(CONSTANT, 0)
        terms = {v: f for v, f in expression.items() if v >= 0 and f}
        unit = math.gcd(*terms.values()) or 1
        cost = self._np.zeros(self.columns, dtype=self._np.int64)
        for variable, factor in terms.items():
            cost[variable] = factor // unit
        self._scale = unit, constant
        try:
            outcome = self._least(cost, clock)
        except KeyboardInterrupt:
            clock.limits.watch.stop()
            status: Status = "feasible" if self._values else "unknown"
            outcome = Outcome(status, self._values, -OPEN)
        exact = None if outcome.exact is None else outcome.exact * unit + constant
        return Outcome(outcome.status, outcome.values, outcome.bound * unit + constant, exact)

    def _least(self, cost: Array, clock: Clock) -> Outcome:
        self._load()
        best = self._value(cost) if self._values else None
        if not self._relaxed(cost, clock):
            return Outcome("infeasible", (), 0)
        bound = self._bound(cost)
        exact = -OPEN if bound is None else bound.value
        if best is not None:
            self._tell(best, exact, clock)
            self._fix(bound, best)
            if exact >= best:
                return Outcome("optimal", self._values, best, exact)
        outcome = self._searched(cost, exact, clock)
        if outcome.values:
            self._fix(self._bound(cost), self._value(cost))
        return outcome

    def _tell(self, best: int, exact: int, clock: Clock) -> None:
        unit, constant = self._scale
        found, least = best * unit + constant, exact * unit + constant
        clock.limits.watch.words += f": found {found}, cannot be below {least}"

    def _load(self) -> None:
        """Pass the columns and rows added since the last search to both engines."""
        from solver.engines.integer_rows import entries

        if self._ends:
            self._widen()
        if not self._rows:
            return
        more, number = entries(self._rows), len(self._rows)
        self._rows = []
        self._matrix.add(more)
        factors = more.factors.astype(self._np.float64)
        for engine in (self._linear, self._mixed):
            engine.addRows(
                number, more.low, more.high, len(factors), more.starts[:-1], more.columns, factors
            )

    def _widen(self) -> None:
        np, before = self._np, len(self._low)
        low, high = (np.array(ends, dtype=np.int64) for ends in zip(*self._ends, strict=True))
        self._low, self._high = np.append(self._low, low), np.append(self._high, high)
        number = len(self._ends)
        self._ends = []
        empty = np.zeros(number, dtype=np.int32), np.zeros(0, dtype=np.int32), np.zeros(0)
        ends = low.astype(np.float64), high.astype(np.float64)
        for engine in (self._linear, self._mixed):
            engine.addCols(number, np.zeros(number), *ends, 0, *empty)
        which = (before + np.flatnonzero(self._whole[before:])).astype(np.int32)
        kind = self._highspy.HighsVarType.kInteger.value
        kinds = np.full(len(which), kind, dtype=np.uint8)
        self._mixed.changeColsIntegrality(len(which), which, kinds)

    def _made(self) -> Any:  # noqa: ANN401 - the engine's own
        engine = quiet_highs(mip_rel_gap=0.0, mip_abs_gap=LESS_THAN_ONE)
        engine.HandleUserInterrupt = True
        return engine

    def _value(self, cost: Array) -> int:
        return int(cost @ self._np.array(self._values, dtype=self._np.int64))

    def _run(self, engine: Any, cost: Array, clock: Clock) -> Any:  # noqa: ANN401 - the engine's own
        """Let the engine search in another thread, so that this one handles Ctrl-C."""
        np = self._np
        everywhere = np.arange(len(cost), dtype=np.int32)
        engine.changeColsCost(len(cost), everywhere, cost.astype(np.float64))
        engine.setOptionValue("time_limit", engine.getRunTime() + max(clock.left, 0.01))
        try:
            engine.startSolve()
            while not engine.wait(0.1)[0]:
                if clock.limits.watch.stopped:
                    engine.cancelSolve()
        except KeyboardInterrupt:
            engine.cancelSolve()
            engine.wait()
            raise
        return engine.getModelStatus()

    def _relaxed(self, cost: Array, clock: Clock) -> bool:
        """Solve the linear relaxation; False where it is infeasible."""
        self._linear.setOptionValue("simplex_iteration_limit", FEW)
        status = self._run(self._linear, cost, clock)
        if status == self._status.kIterationLimit:
            self._linear.clearSolver()
            self._linear.setOptionValue("simplex_iteration_limit", 2**31 - 1)
            status = self._run(self._linear, cost, clock)
        return bool(status != self._status.kInfeasible)

    def _bound(self, cost: Array) -> IntegerBound | None:
        duals = self._linear.getSolution().row_dual
        return self._matrix.bound(cost, self._low, self._high, duals)

    def _fix(self, bound: IntegerBound | None, best: int) -> None:
        """Tighten the bounds of columns whose further steps would exceed the best value."""
        if bound is None:
            return
        np = self._np
        room = (best << bound.bits) - bound.total
        free = (self._high > self._low) & np.array(self._whole)
        steps = np.where(bound.slope, room // np.maximum(np.abs(bound.slope), 1), OPEN)
        down = free & (bound.slope > 0) & (steps < self._high - self._low)
        up = free & (bound.slope < 0) & (steps < self._high - self._low)
        self._high = np.where(down, self._low + steps, self._high)
        self._low = np.where(up, self._high - steps, self._low)
        moved = np.flatnonzero(down | up).astype(np.int32)
        low, high = (ends[moved].astype(np.float64) for ends in (self._low, self._high))
        for engine in (self._linear, self._mixed):
            engine.changeColsBounds(len(moved), moved, low, high)

    def _searched(self, cost: Array, exact: int, clock: Clock) -> Outcome:
        """Search integers near the relaxed values first, then everywhere."""
        np = self._np
        relaxed = np.array(self._linear.getSolution().col_value)
        if len(relaxed) == self.columns and exact > -OPEN:
            rounded = np.rint(relaxed).astype(np.int64)
            split = np.array(self._whole) & (np.abs(relaxed - rounded) > NEAR)
            if not split.any() and self._matrix.holds(rounded):
                self._take(tuple(map(int, rounded)), cost)
            for aside, held in self._nearby(relaxed, rounded, split):
                if self._values and self._value(cost) <= exact:
                    return Outcome("optimal", self._values, exact, exact)
                self._mixed_search(cost, exact, clock, aside, held)
            if self._values and self._value(cost) <= exact:
                return Outcome("optimal", self._values, exact, exact)
        nothing = np.zeros(0, dtype=np.int32)
        return self._mixed_search(cost, exact, clock, nothing, nothing)

    def _nearby(
        self, relaxed: Array, rounded: Array, split: Array
    ) -> Iterator[tuple[Array, Array]]:
        """Yield the columns that each search near the relaxed values holds, and at which values.

        The narrowest search betters values that are known; a first one is looked for more widely.
        """
        np = self._np
        if split.any() and self._values:
            near = self._matrix.beside(split, SHORT, 0) | ~np.array(self._whole)
            aside = np.flatnonzero(~near).astype(np.int32)
            yield aside, rounded[aside]
        for every in NEARBY:
            aside = self._far(relaxed, split, every)
            yield aside, self._low[aside]

    def _take(self, values: tuple[int, ...], cost: Array) -> None:
        """Keep values that are better than those known; out of time an engine may return worse."""
        known = self._values
        self._values = values
        if known and self._value(cost) >= int(cost @ self._np.array(known, dtype=self._np.int64)):
            self._values = known

    def _far(self, relaxed: Array, split: Array, every: int) -> Array:
        """Return the columns to leave out: unused, and in no short row with a fractional one."""
        np = self._np
        near = self._matrix.beside(split, SHORT, every)
        near |= (relaxed > NEAR) | ~np.array(self._whole) | (self._high <= self._low)
        if self._values:
            near |= np.array(self._values) > 0
        return np.flatnonzero(~near).astype(np.int32)

    def _mixed_search(
        self, cost: Array, exact: int, clock: Clock, aside: Array, held: Array
    ) -> Outcome:
        """Search with some columns held, from the best values known where these agree."""
        np = self._np
        low, high = (ends[aside].astype(np.float64) for ends in (self._low, self._high))
        at = held.astype(np.float64)
        self._mixed.changeColsBounds(len(aside), aside, at, at)
        if self._values and (np.array(self._values)[aside] == held).all():
            start = self._highspy.HighsSolution()
            start.col_value = [float(value) for value in self._values]
            self._mixed.setSolution(start)
        try:
            ended = self._run(self._mixed, cost, clock)
            found = self._mixed.getInfo()
            if found.primal_solution_status == FEASIBLE:
                self._take(tuple(map(round, self._mixed.getSolution().col_value)), cost)
        finally:
            self._mixed.changeColsBounds(len(aside), aside, low, high)
        if ended == self._status.kInfeasible and not len(aside):
            return Outcome("infeasible", (), 0)
        if not self._values:
            return Outcome("unknown", (), exact)
        best = self._value(cost)
        least = found.mip_dual_bound
        bound = exact
        if not len(aside) and math.isfinite(least):
            bound = max(exact, math.ceil(least - NEAR))
        done: Status = "feasible"
        if ended == self._status.kOptimal and best <= bound:
            done = "optimal"
        return Outcome(done, self._values, min(bound, best), exact)


def quiet_highs(**options: float) -> Any:  # noqa: ANN401 - the engine's own
    """Make an engine of HiGHS on one thread, with further options of its own."""
    import highspy

    with _silent_output():  # it prints a banner before it can be silenced
        engine: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    engine.silent()
    for option, value in {**REPEATABLE, **options}.items():
        engine.setOptionValue(option, value)
    return engine


@contextmanager
def _silent_output() -> Iterator[None]:
    """Discard everything written to standard output meanwhile, by Python or an engine.

    A standard output that is closed is left as it is.
    """
    if sys.stdout is not None:
        sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:
        yield
        return
    nothing = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nothing, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nothing)
