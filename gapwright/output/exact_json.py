"""Exact figures in JSON: lengths in nanometres beside what a person reads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from specs.values.lengths import Length, show

if TYPE_CHECKING:
    from fractions import Fraction

    from solver.problem.aims import Level
    from specs.values.lengths import Unit


def length(value: Length | None, unit: Unit) -> dict[str, Any] | None:
    """A length: `nm` is exact, `shown` is what a person reads."""
    return None if value is None else {"nm": exact(value.nm), "shown": show(value, unit)}


def aim(level: Level) -> dict[str, Any]:
    """Which aim a level is of, and what it measures."""
    told: dict[str, Any] = {"aim": level.aim, "measure": level.measure}
    if level.measure == "thin":
        told |= {"works": "shifts" if level.shifts else "holds", "grade": level.grade}
    return told


def exact(value: Fraction | int) -> int | str:
    """A whole number, or a fraction as text."""
    return int(value) if value == int(value) else str(value)
