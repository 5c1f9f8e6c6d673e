"""Our two ways to put a gap into the program, patterns and counts.

On one pack by the number of its patterns, and on whole units: what is measured here is why
solver.builds.patterns.MOST_PATTERNS is what it is.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING
from unittest.mock import patch

from benchmarks.hard import CONTESTED
from benchmarks.jobs import Shape, posed
from benchmarks.stopwatch import ask_same, in_turns
from benchmarks.table import Row, Skipped
from benchmarks.versus import levels
from benchmarks.whole_unit import SHAPE as WHOLE_UNIT
from solver import fit
from solver.builds import enumeration, patterns
from solver.builds.enumeration import TooManyError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from solver import Instance

BANDS = (100, 300, 1_000, 2_000, 5_000, 20_000)
ENOUGH = BANDS[-1]
PACKS = (
    Shape(),
    Shape(steels=(6, 6), lots=2, spare=4),
    Shape(steels=(6, 7), lots=3, spare=3),
    Shape(steels=(6, 7), lots=4, spare=3),
)


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time both ways on packs sorted by how many patterns they have, then on whole units."""
    jobs, rounds = (1, 1) if quick else (6, 3)
    bands: dict[int, list[Instance]] = {}
    for seed in range(5 if quick else 30):
        for shape in PACKS[: 1 if quick else None]:
            instance = posed(shape, seed)
            instances = bands.setdefault(_band(instance), [])
            if len(instances) < jobs:
                instances.append(instance)
    rows: list[Row | Skipped] = [
        _row(f"to {band:,} patterns", bands[band], rounds) for band in BANDS if band in bands
    ]
    if not quick:
        for kind, shape in (("whole unit", WHOLE_UNIT), ("contested", CONTESTED)):
            rows.append(_row(kind, [posed(shape, seed) for seed in range(jobs)], rounds))
    return rows


@contextmanager
def _listing(most: int) -> Iterator[None]:
    """List gaps that have no more than so many patterns."""
    steps = patch.object(enumeration, "MOST_STEPS", 50 * ENOUGH)
    with steps, patch.object(patterns, "MOST_PATTERNS", most):
        yield


def _band(instance: Instance) -> int:
    """The first band that holds all patterns of a job's only gap; 0 where none does."""
    with _listing(ENOUGH):
        try:
            many = len(patterns.list_patterns(instance, instance.gaps[0]))
        except TooManyError:
            return 0
    return next(band for band in BANDS if many <= band)


def _row(case: str, instances: list[Instance], rounds: int) -> Row:
    times = []
    for instance in instances:
        ways = {"patterns": _way(instance, ENOUGH), "counts": _way(instance, 0)}
        ask_same(ways)
        times.append(in_turns(ways, rounds))
    ours, peer = (tuple(seconds[way] for seconds in times) for way in ("patterns", "counts"))
    return Row(case, "patterns", "counts", ours, peer)


def _way(instance: Instance, most: int) -> Callable[[], object]:
    def way() -> object:
        with _listing(most):
            return levels(fit(instance))

    return way
