"""Wraps a program for a job that may be left out: its rows are empty while the job is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Program
from solver.engines.expressions import CONSTANT, Expression

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.engines.interface import Door


class Indicator(Program):
    """Passes columns and rows on to another program, each constant multiplied by a gate.

    Parameters
    ----------
    door
        The program that receives the columns and rows.
    gate
        Its boolean that is 1 while the job is built.
    """

    def __init__(self, door: Door, gate: int) -> None:
        self.door = door
        self.gate = gate

    def opened(self, expression: Mapping[int, int]) -> Expression:
        """Return an expression whose constant counts only while the gate is 1."""
        found = {variable: factor for variable, factor in expression.items() if variable >= 0}
        constant = expression.get(CONSTANT, 0)
        if constant:
            found[self.gate] = found.get(self.gate, 0) + constant
        return found

    def boolean(self) -> int:
        """Add a column that is 0 or 1, and return its index."""
        return self.door.boolean()

    def integer(self, low: int, high: int) -> int:
        """Add an integer column; its lower bound holds while the gate is 1."""
        variable = self.door.integer(min(low, 0), high)
        if low > 0:
            self.row({variable: 1}, low, None)
        return variable

    def one_of(self, variables: Iterable[int]) -> None:
        """Add the constraint that one of some booleans is true while the gate is 1, else none."""
        self.door.row({**dict.fromkeys(variables, 1), self.gate: -1}, 0, 0)

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Add the constraint that an expression lies between two bounds while the gate is 1."""
        opened = self.opened(expression)
        if low is not None and low == high:
            self.door.row(self._less(opened, low), 0, 0)
            return
        if low is not None:
            self.door.row(self._less(opened, low) if low > 0 else opened, min(low, 0), None)
        if high is not None:
            self.door.row(self._less(opened, high) if high < 0 else opened, None, max(high, 0))

    def _less(self, opened: Expression, amount: int) -> Expression:
        return {**opened, self.gate: opened.get(self.gate, 0) - amount}
