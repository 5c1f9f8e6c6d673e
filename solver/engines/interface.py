"""Declares the interface of a program, CP-SAT's or HiGHS's."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

    from solver.engines.limits import Clock, Outcome


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
