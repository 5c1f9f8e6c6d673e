"""Builds the jobs of a cycle from a shelf: whole jobs from whole parts.

The engine proposes how many jobs of a kind take which draw of a gap. Jobs are built so as far as
these numbers are whole and the shelf has the parts; the others are then built from what is left.
The count of jobs is made part by part and does not depend on the engine.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from solver.stock.demand_patterns import Draw, Drum
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
            draws = next(_ways(drums[kind], left), None)
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
    parts = parts_of(draws)
    if parts is None or any(left.get(choice, 0) < count for choice, count in parts.items()):
        return False
    for choice, count in parts.items():
        left[choice] -= count
    return True


def parts_of(draws: tuple[Draw, ...]) -> dict[int, int] | None:
    """Add up the parts of a job's draws; None where they do not agree on a shared part."""
    total: dict[int, int] = {}
    shared: dict[int, int] = {}
    for draw in draws:
        for choice, count in draw.parts:
            total[choice] = total.get(choice, 0) + count
        for part, choice in draw.shares:
            if shared.setdefault(part, choice) != choice:
                return None
    for choice in shared.values():
        total[choice] = total.get(choice, 0) + 1
    return total


def _ways(
    drum: Drum, left: Mapping[int, int], so_far: tuple[Draw, ...] = ()
) -> Iterator[tuple[Draw, ...]]:
    """Yield the draws by which a job can be built from the parts left."""
    parts = parts_of(so_far)
    if parts is None or any(left.get(choice, 0) < count for choice, count in parts.items()):
        return
    if len(so_far) == len(drum):
        yield so_far
        return
    for draw in drum[len(so_far)]:
        yield from _ways(drum, left, (*so_far, draw))
