"""Hard jobs: a nearly full shelf that cannot fit, too few steels, many lots, contested steels.

The peers prove that nothing fits and no more. Ours is timed alike on the nearly full shelf, and
with its nearest misses where there are fewer steels than places.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING
from unittest.mock import patch

from benchmarks.jobs import Shape, posed
from benchmarks.versus import versus
from solver import Fit, NoFit, fit

if TYPE_CHECKING:
    from benchmarks.table import Row, Skipped
    from solver import Answer, Instance
    from solver.engines.limits import Clock

FULL_SHELF = Shape(
    packs=4,
    steels=(4, 5),
    sizes=(690, 880),
    width=(60, 100),
    spare=0,
    swapped=4,
    built=0,
)
MANY_LOTS = Shape(steels=(6, 6), sizes=(690, 755, 820, 880), lots=10, spare=1, built=0)
CONTESTED = Shape(packs=4, steels=(4, 5), width=(60, 100), spare=0, built=0)
SHORT = Shape(packs=4, steels=(4, 5), width=(60, 100), spare=0, short=2, built=0)


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time each kind; of the shelves that cannot fit, only the proof."""
    jobs, rounds = (1, 1) if quick else (12, 3)
    short = [posed(SHORT, seed) for seed in range(jobs)]
    many = [posed(MANY_LOTS, seed) for seed in range(jobs)]
    contested = [posed(CONTESTED, seed) for seed in range(jobs)]
    return [
        *versus("no fit: proof", _without_fit(jobs), rounds, proof),
        *versus("too few steels", short, rounds, aim=None),
        *versus("many lots", many, rounds),
        *versus("contested", contested, rounds),
    ]


def proof(instance: Instance) -> Answer:
    """Fit without the nearest misses, which the peers do not work out either."""
    with patch.object(sys.modules["solver.rebuild.fit"], "nearest_miss", _no_misses):
        return fit(instance)


def _no_misses(instance: Instance, _clock: Clock) -> NoFit:
    return NoFit(instance, (), None)


def _without_fit(jobs: int) -> list[Instance]:
    """The first jobs whose gaps could each be had alone, but not together."""
    found: list[Instance] = []
    seed = 0
    while len(found) < jobs:
        instance = posed(FULL_SHELF, seed)
        if not isinstance(proof(instance), Fit):
            found.append(instance)
        seed += 1
    return found
