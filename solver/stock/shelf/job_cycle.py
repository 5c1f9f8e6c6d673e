"""Builds the jobs of a cycle from a shelf: whole jobs from whole parts.

The engine proposes how many jobs of a kind take which draw of a gap. Jobs are built so as far as
these numbers are whole and the shelf has the parts; the others are then built from what is left.
The count of jobs is made part by part and does not depend on the engine.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.problem.shared_parts import in_one_job
from solver.stock.demand_patterns import ways_from

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from solver.problem.shared_parts import Draw
    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario

Flows = dict[int, list[list[int]]]
"""For a kind of drum, gap by gap, the number of its jobs that take each draw."""


def built(
    scenario: Scenario, drums: Sequence[Drum], flows: Flows, levels: Mapping[int, int]
) -> tuple[int, dict[int, int]]:
    """Build the jobs of a cycle from a shelf.

    Parameters
    ----------
    scenario
        Kinds of drum, each with the number of jobs.
    drums
        For each kind, the sets of parts that serve it.
    flows
        The draws to try first, as the engine proposes them.
    levels
        For each choice, the number of parts on the shelf.

    Returns
    -------
    served : int
        The number of jobs built.
    left : dict of int
        For each choice, the number of parts left over.
    """
    left, served = dict(levels), 0
    waiting: dict[int, int] = {}
    for kind, jobs in scenario:
        if all(drums[kind]):
            done = sum(_take(draws, left) for draws in _told(drums[kind], flows.get(kind), jobs))
            served += done
            waiting[kind] = jobs - done
    for kind, jobs in waiting.items():
        for _ in range(jobs):
            draws = next(ways_from(drums[kind], left), None)
            if draws is None:
                break
            served += _take(draws, left)
    return served, left


def _told(drum: Drum, flows: list[list[int]] | None, jobs: int) -> Iterator[tuple[Draw, ...]]:
    """Yield the draws of each job for which the flows name one of every gap.

    Draws with the same shared parts are put together.
    """
    if flows is None:
        return
    gaps = []
    for ways, flow in zip(drum, flows, strict=True):
        told = [draw for draw, number in zip(ways, flow, strict=True) for _ in range(number)]
        gaps.append(sorted(told[:jobs], key=lambda draw: draw.shares))
    yield from zip(*gaps, strict=False)


def _take(draws: tuple[Draw, ...], left: dict[int, int]) -> bool:
    """Take one job's parts off the shelf; return False where it does not have all of them."""
    parts = in_one_job(draws)
    if parts is None or any(left.get(choice, 0) < count for choice, count in parts.items()):
        return False
    for choice, count in parts.items():
        left[choice] -= count
    return True
