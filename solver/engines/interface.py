"""What a program asks of an engine, CP-SAT or HiGHS; and how goals are made least in order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from solver.engines.limits import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.engines.expressions import Expression
    from solver.engines.limits import Clock


class Door(Protocol):
    """An integer program of plain numbers."""

    @property
    def name(self) -> str:
        """The engine and its version."""

    @property
    def columns(self) -> int:
        """How many columns there are."""

    def shut(self, variable: int) -> bool:
        """Whether it is proved that a column is 0 in every plan as good as the levels held."""

    def suggest(self, values: tuple[int, ...]) -> None:
        """Begin the next search from these values, which keep every row."""

    def boolean(self) -> int:
        """Add a column that is 0 or 1."""

    def integer(self, low: int, high: int) -> int:
        """Add a whole number between two bounds."""

    def amount(self, low: int, high: int) -> int:
        """Add a number that is whole by itself wherever the others are."""

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Ask that an expression lie between two bounds, either of which may be open."""

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        """Make an expression least until proved or out of time; Ctrl-C ends it early."""


def least_in_order(program: Door, goals: Iterable[Expression], clock: Clock) -> Outcome:
    """Make expressions least one after the other, each held at its least for those that follow.

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
        `values` are the best found by then, none where there are none; `bound` is a proved lower
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
