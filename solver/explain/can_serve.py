"""Whether the sizes a unit is made in could serve a space at all, were there enough of each."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor
from typing import TYPE_CHECKING

from solver.explain.conditions import can_hold, conditions_of, without

if TYPE_CHECKING:
    from fractions import Fraction

    from solver.engines.cp_sat import Clock
    from solver.problem.instance import Layout, Task


def can_serve(task: Task, index: int, shift: Fraction, clock: Clock) -> bool | None:
    """Say whether any sizes bring one gap into its window, its space being `shift` steps larger.

    Stock, rules and the other gaps are left aside. None where time ran out.
    """
    gap = task.gaps[index]
    moved = replace(gap, layouts=tuple(_moved(layout, shift) for layout in gap.layouts))
    alone = replace(task, gaps=(moved,), rules=())
    plenty = without(alone, [c for c in conditions_of(alone) if c.kind == "stock"])
    return {"optimal": True, "infeasible": False}.get(can_hold(plenty, clock))


def _moved(layout: Layout, shift: Fraction) -> Layout:
    """A larger space is a lower window; what is no whole step is rounded into it."""
    return replace(
        layout,
        low=None if layout.low is None else ceil(layout.low - shift),
        high=None if layout.high is None else floor(layout.high - shift),
    )
