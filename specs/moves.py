"""How a reading moves the spaces of a job: by its factor in each of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.layouts import allowed_layouts
from specs.lengths import ZERO, Length
from specs.readings import is_shared, taken

if TYPE_CHECKING:
    from fractions import Fraction

    from specs.case import Case


@dataclass(frozen=True, slots=True)
class Moving:
    """One reading as taken, and how far each space goes when it is one more."""

    reading: str
    gap: str
    """The gap whose reading it is; empty where gaps share it."""
    value: Length
    """The average over its places."""
    factors: dict[tuple[str, str], Fraction]
    """For each gap and layout it counts in."""


def movings(case: Case, gaps: tuple[str, ...]) -> tuple[Moving, ...]:
    """List the readings that some spaces of a job are worked out from, in the unit's order."""
    found: dict[tuple[str, str], Moving] = {}
    for gap in gaps:
        for name, layout in allowed_layouts(case, gap).items():
            formula = layout.space or case.unit.gaps[gap].space
            for reading in formula.readings:
                key = reading, "" if is_shared(case, gap, reading) else gap
                at = taken(case, gap, reading)
                value = sum(at.at, ZERO) / len(at.at) if at else ZERO
                moving = found.setdefault(key, Moving(*key, value, {}))
                if formula.factor(reading):
                    moving.factors[gap, name] = formula.factor(reading)
    return tuple(moving for moving in found.values() if moving.factors)
