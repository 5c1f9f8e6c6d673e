"""The peers: HiGHS through SciPy, and SCIP through PySCIPOpt, on the instance per position.

Each makes the levels least in their order, holding every level by its row before the next. The
program is built once and its building is part of the time. HiGHS is told to close every gap (it
stops at a ten-thousandth otherwise), SCIP to keep rows to 1e-9: at its own 1e-6 it took a gap for
nearer its aim than it can be in one job of twenty, and then held a level that nothing reaches.
"""

from __future__ import annotations

from importlib.util import find_spec
from math import inf
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

from benchmarks.positions import Positions

if TYPE_CHECKING:
    from pyscipopt import Expr

    from benchmarks.positions import Terms
    from solver import Instance

Values = tuple[int, ...] | None
"""The value of every level; None where there is no build."""
HIGHS_OPTIMAL, HIGHS_INFEASIBLE = 0, 2
SCIP_IS_HERE = find_spec("pyscipopt") is not None


class Highs:
    """One program for SciPy; its last rows are the levels, open above until they are held."""

    def __init__(self, instance: Instance) -> None:
        self.positions = Positions(instance)
        rows = [*self.positions.rows, *((level, -inf, inf) for level in self.positions.levels)]
        self.matrix = matrix_of([terms for terms, _, _ in rows], len(self.positions.most))
        self.low = np.array([low for _, low, _ in rows])
        self.high = np.array([high for _, _, high in rows])
        self.whole = np.array(self.positions.whole, dtype=np.int64)
        self.bounds = Bounds(0, np.array(self.positions.most))

    def least(self, objective: Terms) -> OptimizeResult:
        """Solve for one objective."""
        costs = np.zeros(len(self.whole))
        costs[list(objective)] = list(objective.values())
        return milp(
            costs,
            integrality=self.whole,
            bounds=self.bounds,
            constraints=LinearConstraint(self.matrix, self.low, self.high),
            options={"mip_rel_gap": 0.0},
        )


def by_highs(instance: Instance) -> Values:
    """Solve level after level with `scipy.optimize.milp`."""
    program = Highs(instance)
    values = []
    first = len(program.positions.rows)
    for nth, level in enumerate(program.positions.levels):
        if not level:
            values.append(0)
            continue
        found = program.least(level)
        if found.status == HIGHS_INFEASIBLE:
            return None
        if found.status != HIGHS_OPTIMAL:
            raise RuntimeError(f"HiGHS stopped: {found.message}")
        values.append(round(found.fun))
        program.high[first + nth] = values[-1]
    return tuple(values)


def by_scip(instance: Instance) -> Values:
    """Solve level after level with PySCIPOpt; its best solution starts the next search."""
    from pyscipopt import Model, quicksum

    positions = Positions(instance)
    model = Model()
    model.hideOutput()
    model.setParam("numerics/feastol", 1e-9)
    columns = [
        model.addVar(vtype="I" if whole else "C", lb=0, ub=None if most == inf else most)
        for whole, most in zip(positions.whole, positions.most, strict=True)
    ]

    def linear(terms: Terms) -> Expr:
        total: Expr = quicksum(amount * columns[column] for column, amount in terms.items())
        return total

    for terms, low, high in positions.rows:
        total = linear(terms)
        if low == high:
            model.addCons(total == low)
        else:
            model.addCons(total <= high if low == -inf else total >= low)
            if -inf < low < high < inf:
                model.addCons(total <= high)
    values = []
    for level in positions.levels:
        if not level:
            values.append(0)
            continue
        model.setObjective(linear(level), "minimize")
        model.optimize()
        if model.getStatus() == "infeasible":
            return None
        values.append(round(model.getObjVal()))
        model.freeTransform()
        model.addCons(linear(level) <= values[-1])
    return tuple(values)


def matrix_of(rows: list[Terms], columns: int) -> csr_array:
    """Write rows as a sparse matrix."""
    starts = np.cumsum([0, *map(len, rows)])
    indices = np.fromiter((column for terms in rows for column in terms), dtype=np.int64)
    amounts = np.fromiter((n for terms in rows for n in terms.values()), dtype=np.float64)
    return csr_array((amounts, indices, starts), shape=(len(rows), columns))
