"""A program as one job sees it that may be left out: every row is empty while it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Program
from solver.engines.expressions import CONSTANT, Expression

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.engines.interface import Door


class Indicator(Program):
    """Hands columns and rows on to another program, with its gate in the constants' place."""

    def __init__(self, door: Door, gate: int) -> None:
        self.door = door
        self.gate = gate

    def opened(self, expression: Mapping[int, int]) -> Expression:
        """An expression whose constant counts only while the gate is 1."""
        found = {variable: factor for variable, factor in expression.items() if variable >= 0}
        constant = expression.get(CONSTANT, 0)
        if constant:
            found[self.gate] = found.get(self.gate, 0) + constant
        return found

    def boolean(self) -> int:
        """Add a column that is 0 or 1."""
        return self.door.boolean()

    def integer(self, low: int, high: int) -> int:
        """Add a whole number; its lower bound holds while the gate is 1."""
        variable = self.door.integer(min(low, 0), high)
        if low > 0:
            self.row({variable: 1}, low, None)
        return variable

    def one_of(self, variables: Iterable[int]) -> None:
        """Ask that one of some booleans be true while the gate is 1, and none otherwise."""
        self.door.row({**dict.fromkeys(variables, 1), self.gate: -1}, 0, 0)

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Ask that an expression lie between two bounds while the gate is 1."""
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
