"""One pack of three to six steels and a ring, against both peers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmarks.jobs import Shape, posed
from benchmarks.versus import versus

if TYPE_CHECKING:
    from benchmarks.table import Row, Skipped

SHAPE = Shape()


def run(*, quick: bool) -> list[Row | Skipped]:
    """Make and time the jobs."""
    jobs, rounds = (2, 1) if quick else (40, 3)
    return versus("one pack", [posed(SHAPE, seed) for seed in range(jobs)], rounds)
