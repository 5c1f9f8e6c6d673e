"""Declares the interface of a program, CP-SAT's or HiGHS's, and minimises goals in order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from solver.engines.limits import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.engines.expressions import Expression
    from solver.engines.limits import Clock


class Door(Protocol):
    """An integer program over plain integers."""

    @property
    def name(self) -> str:
        """The engine and its version."""

    @property
    def columns(self) -> int:
        """The number of columns."""

    def shut(self, variable: int) -> bool:
        """Return whether a column is proved to be 0 in every plan as good on the levels held."""

    def suggest(self, values: tuple[int, ...]) -> None:
        """Start the next search from these values, which satisfy every row."""

    def boolean(self) -> int:
        """Add a column that is 0 or 1, and return its index."""

    def integer(self, low: int, high: int) -> int:
        """Add an integer column between two bounds, and return its index."""

    def amount(self, low: int, high: int) -> int:
        """Add a column that is an integer wherever the others are, and return its index."""

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Add the constraint that an expression lies between two bounds; None is open."""

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        """Minimise an expression until it is proved or time runs out; Ctrl-C ends it early."""


def least_in_order(program: Door, goals: Iterable[Expression], clock: Clock) -> Outcome:
    """Minimise expressions one after the other; each is held at its minimum for those that follow.

    Parameters
    ----------
    program
        A live program of either engine; it keeps the rows that hold the goals.
    goals
        Expressions over its variables, the most important first; at least one.
    clock
        The time for all of the searches.

    Returns
    -------
    Outcome
        `status` is optimal where every goal is proved, else that of the first search that is not;
        `values` are the best found by then, empty where there are none; `bound` is a proved lower
        bound of the first goal.
    """
    values: tuple[int, ...] = ()
    bounds: list[int] = []
    for goal in goals:
        outcome = program.least(goal, clock)
        bounds.append(outcome.bound)
        if outcome.values:
            values = outcome.values
        if outcome.status != "optimal":
            return Outcome(outcome.status, values, bounds[0])
        program.suggest(values)
        program.row(goal, None, outcome.bound)
    return Outcome("optimal", values, bounds[0])
