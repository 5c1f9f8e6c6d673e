"""Turns the levels of a batch into linear expressions for the engine to minimise.

Levels of a worst value and of totals need further variables and rows. A level is put into the
program when its turn comes. By then most columns are proved to be in no plan as good, and a job's
worst value is built of the few that are left.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.engines.expressions import CONSTANT, Expression, add, gather, scale, value_of
from solver.problem.gaps import RATIO

if TYPE_CHECKING:
    from solver.batch.model import BatchModel

FAR = 2**30  # no worst value of a counted component exceeds it


class Objectives:
    """The levels of a batch over the variables of its model."""

    def __init__(self, model: BatchModel) -> None:
        self.model = model
        self.batch = model.batch
        self.program = model.program
        self.tops: dict[int, list[Expression]] = {}
        """Variables, each the greatest of some expressions."""
        self.steps: list[tuple[Expression, list[tuple[int, int]]]] = []
        """Expressions, each split over variables in turn, with the most that each holds."""

    def goal(self, index: int) -> Expression:
        """Return the expression that a level minimises, adding the variables and rows it needs.

        Parameters
        ----------
        index
            The level's index among `batch.levels`.
        """
        level, jobs = self.batch.levels[index], self.batch.jobs
        match level.measure:
            case "pinned":
                weights = [int(job.pinned) for job in jobs]
            case "priority":
                weights = [job.priority for job in jobs]
            case "number":
                weights = [1] * len(jobs)
            case "kept":
                weights = [len(job.kept) for job in jobs]
            case "scarce":
                return self._scarce()
            case "cost":
                return self._cost()
            case _ if level.worst:
                return self._worst(index)
            case _:
                return self.model.level_values[index]
        left = {
            variable: -weights[job] for job, variable in self.model.complete.items() if weights[job]
        }
        return add({CONSTANT: sum(weights)}, left, self.model.level_values[index])

    def drawn(self, size: tuple[str, str]) -> Expression:
        """Return the number of parts of a size that all jobs draw, as an expression."""
        mine = frozenset(self.batch.sizes[size])
        total: Expression = {}
        for pool, expression in self.model.pools.items():
            if pool <= mine:
                gather(total, expression)
        return total

    def _worst(self, index: int) -> Expression:
        """Return the sum over the jobs of each job's worst value."""
        worst = [n for n, level in enumerate(self.batch.levels) if level.worst]
        total = self.model.thresholds.worst(worst.index(index), dict(self.model.listed()))
        for job, parts in self.model.parts.items():
            if any(part.counted for part in parts):
                gather(total, self._top(self.model.worst_of(job, index)))
        return total

    def _top(self, expressions: list[Expression]) -> Expression:
        """Add a variable that is at least each of some expressions, and return it."""
        top = self.program.amount(0, FAR)
        self.tops[top] = expressions
        for expression in expressions:
            self.program.row(add({top: 1}, scale(expression, -1)), 0, None)
        return {top: 1}

    def _scarce(self) -> Expression:
        total: Expression = {}
        for size, items in self.batch.sizes.items():
            on_hand = sum(self.batch.items[item].count for item in items)
            drawn = self.drawn(size)
            if not drawn or not on_hand:
                continue
            steps = _steps_of(on_hand)
            amounts = [self.program.amount(0, many) for _, many in steps]
            self.program.row(add(drawn, dict.fromkeys(amounts, -1)), None, 0)
            self.steps.append(
                (drawn, [(a, most) for a, (_, most) in zip(amounts, steps, strict=True)])
            )
            for amount, (cost, _) in zip(amounts, steps, strict=True):
                total[amount] = cost
        return total

    def _cost(self) -> Expression:
        total: Expression = {}
        for size, items in self.batch.sizes.items():
            price = self.batch.items[items[0]].price
            if price:
                gather(total, scale(self.drawn(size), price))
        return total

    def settled(self, values: tuple[int, ...]) -> tuple[int, ...]:
        """Return the values with every worst value and scarcity step as low as the columns allow.

        Parameters
        ----------
        values
            A value for each variable, or for those that were in the program at an earlier level.
        """
        found = [*values, *[0] * (self.program.columns - len(values))]
        for threshold, taken in self.model.thresholds.settled(self.model.dealt(values)).items():
            found[threshold] = taken
        for top, expressions in self.tops.items():
            found[top] = max(value_of(expression, tuple(found)) for expression in expressions)
        for drawn, amounts in self.steps:
            left = value_of(drawn, tuple(found))
            for amount, most in amounts:
                found[amount] = min(left, most)
                left -= found[amount]
        return tuple(found)


def _steps_of(on_hand: int) -> list[tuple[int, int]]:
    """List the costs of the parts of a size as they grow scarce, each with how many parts have it.

    The part taken while n are left costs RATIO divided by n, rounded down.
    """
    costs = Counter(RATIO // (on_hand - nth) for nth in range(on_hand))
    return sorted(costs.items())
