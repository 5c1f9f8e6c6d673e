"""Variables and rows in whole numbers, solved by HiGHS in floating point."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

Sum = dict[int, int]
OPTIMAL, INFEASIBLE = 0, 2


class MilpError(AssertionError):
    """HiGHS gave no answer, or one that does not hold in whole numbers."""


def total(*sums: Sum, by: int = 1) -> Sum:
    """Add sums up, and multiply."""
    found: Counter[int] = Counter()
    for each in sums:
        for variable, factor in each.items():
            found[variable] += factor * by
    return dict(found)


@dataclass
class Rows:
    """Variables with their bounds, and rows over them."""

    most: list[float] = field(default_factory=list)
    rows: list[tuple[Sum, float, float]] = field(default_factory=list)

    def variable(self, most: float = 1) -> int:
        """Add a whole number from 0 to `most`."""
        self.most.append(most)
        return len(self.most) - 1

    def row(self, sum_: Sum, low: float = -np.inf, high: float = np.inf) -> None:
        """Ask that a sum lie between two bounds."""
        self.rows.append((sum_, low, high))

    def least(self, goal: Sum) -> tuple[int, list[int]] | None:
        """The least value of a sum and the variables; nothing where the rows cannot hold."""
        width = len(self.most)
        cost = np.zeros(width)
        for variable, factor in goal.items():
            cost[variable] = factor
        matrix = np.zeros((len(self.rows), width))
        for nth, (sum_, _, _) in enumerate(self.rows):
            for variable, factor in sum_.items():
                matrix[nth, variable] = factor
        lows, highs = [low for _, low, _ in self.rows], [high for *_, high in self.rows]
        found = milp(
            cost,
            integrality=np.ones(width, dtype=np.int8),
            bounds=Bounds(0, np.array(self.most)),
            constraints=LinearConstraint(matrix, lows, highs),
            options={"mip_rel_gap": 0},
        )
        if found.status == INFEASIBLE:
            return None
        if found.status != OPTIMAL or found.fun is None or found.x is None:
            raise MilpError(found.message)
        return round(found.fun), [round(value) for value in found.x]
