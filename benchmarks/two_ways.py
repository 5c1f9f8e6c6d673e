"""Our two ways to put a gap into the program, patterns and counts, by the number of patterns.

What is measured here is why solver.patterns.MOST_PATTERNS is what it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from unittest.mock import patch

from benchmarks.jobs import Shape, posed
from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from solver import Fit, fit, patterns

if TYPE_CHECKING:
    from solver.task import Task

ENOUGH = 10**6
BANDS = (100, 300, 1_000, 2_000, 5_000, 20_000)
SHAPES = (
    Shape(),
    Shape(steels=(6, 6), lots=2, spare=4),
    Shape(steels=(6, 7), lots=3, spare=3),
    Shape(steels=(6, 7), lots=4, spare=3),
)


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time both ways on jobs sorted by how many patterns they have."""
    jobs, rounds, most = (2, 1, 300) if quick else (8, 3, BANDS[-1])
    rows: list[Row | Skipped] = []
    bands: dict[int, list[Task]] = {band: [] for band in BANDS if band <= most}
    for seed in range(10 if quick else 40):
        for shape in SHAPES[: 1 if quick else None]:
            task = posed(shape, seed)
            band = next((band for band in bands if _listed(task, band)), None)
            if band and len(bands[band]) < jobs:
                bands[band].append(task)
    for band, tasks in bands.items():
        if tasks:
            rows.append(_row(f"up to {band:,} patterns", tasks, rounds))
    return rows


def _listed(task: Task, most: int) -> bool:
    """Whether a job's only gap has no more patterns than that."""
    with patch.multiple(patterns, MOST_PATTERNS=max(most, ENOUGH), MOST_STEPS=ENOUGH):
        try:
            return len(patterns.list_patterns(task, task.gaps[0])) <= most
        except patterns.TooManyError:
            return False


def _row(case: str, tasks: list[Task], rounds: int) -> Row:
    times = [in_turns({"patterns": lambda t=task: _by(t, ENOUGH), "counts": lambda t=task: _by(t, 0)}, rounds) for task in tasks]
    return Row(
        case,
        "patterns",
        "counts",
        tuple(seconds["patterns"] for seconds in times),
        tuple(seconds["counts"] for seconds in times),
    )


def _by(task: Task, most: int) -> tuple[int, ...] | None:
    with patch.multiple(patterns, MOST_PATTERNS=most, MOST_STEPS=ENOUGH):
        answer = fit(task)
    return answer.values if isinstance(answer, Fit) else None
