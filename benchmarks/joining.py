"""How many levels to join in one search: none, or products of spans up to a power of two.

What is measured here is why solver.engines.descent.SAFE is what it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from unittest.mock import patch

from benchmarks.hard import CONTESTED
from benchmarks.jobs import Shape, posed
from benchmarks.stopwatch import ask_same, in_turns
from benchmarks.table import Row, Skipped
from benchmarks.versus import levels
from benchmarks.whole_unit import SHAPE as WHOLE_UNIT
from solver import fit
from solver.engines import descent

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver import Instance

POWERS = (0, 20, 30, 40, 50)
SHAPES = {"one pack": Shape(), "whole unit": WHOLE_UNIT, "contested": CONTESTED}


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time every power against levels one by one, on jobs of every kind."""
    jobs, rounds = (1, 1) if quick else (12, 3)
    rows: list[Row | Skipped] = []
    for kind, shape in SHAPES.items():
        rows += _rows(kind, [posed(shape, seed) for seed in range(jobs)], rounds)
    return rows


def _rows(kind: str, instances: list[Instance], rounds: int) -> list[Row]:
    times = []
    for instance in instances:
        ways = {str(power): _way(instance, power) for power in POWERS}
        ask_same(ways)
        times.append(in_turns(ways, rounds))
    seconds = {power: tuple(each[str(power)] for each in times) for power in POWERS}
    return [
        Row(f"{kind}, joined", f"to 2^{power}", "one by one", seconds[power], seconds[0])
        for power in POWERS[1:]
    ]


def _way(instance: Instance, power: int) -> Callable[[], object]:
    def way() -> object:
        with patch.object(descent, "SAFE", 2**power):
            return levels(fit(instance))

    return way
