"""What the program of a batch asks of an engine; CP-SAT's door and that of HiGHS both give it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

    from solver.engines.limits import Clock, Outcome


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
