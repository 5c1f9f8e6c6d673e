"""A whole unit: four packs on one family of steels, two end plays, a washer that is in both."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmarks.jobs import Shape, posed
from benchmarks.versus import versus

if TYPE_CHECKING:
    from benchmarks.table import Row, Skipped

SHAPE = Shape(packs=4, steels=(3, 5), lots=1, plays=True)


def run(*, quick: bool) -> list[Row | Skipped]:
    """Make and time the jobs."""
    jobs, rounds = (2, 1) if quick else (40, 3)
    return versus("whole unit", [posed(SHAPE, seed) for seed in range(jobs)], rounds)
