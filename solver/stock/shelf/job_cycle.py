"""What the jobs of a cycle come to when they are built from a shelf: whole jobs, whole parts.

The engine says how many jobs of a kind take which draw of a gap; as far as these are whole jobs
and the shelf has the parts, they are built so, and the jobs left over as they can be. What comes
out is counted part by part and owes nothing to the engine.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from solver.stock.demand_patterns import Draw, Drum
    from solver.stock.shelf.demand import Scenario

Flows = dict[int, list[list[int]]]
"""For a kind of drum, gap by gap, how many of its jobs take each draw."""


def built(
    scenario: Scenario, drums: Sequence[Drum], flows: Flows, levels: Mapping[int, int]
) -> tuple[int, dict[int, int]]:
    """How many jobs of a cycle are built, and what is left of the shelf."""
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
    """The draws of each job, as far as the flows tell them for all of its gaps.

    Draws with the same shared parts go together.
    """
    if flows is None:
        return
    gaps = []
    for ways, flow in zip(drum, flows, strict=True):
        told = [draw for draw, number in zip(ways, flow, strict=True) for _ in range(number)]
        gaps.append(sorted(told[:jobs], key=lambda draw: draw.shares))
    yield from zip(*gaps, strict=False)


def _take(draws: tuple[Draw, ...], left: dict[int, int]) -> bool:
    """Take one job's parts off the shelf; nothing where it has not all of them."""
    parts = parts_of(draws)
    if parts is None or any(left.get(choice, 0) < count for choice, count in parts.items()):
        return False
    for choice, count in parts.items():
        left[choice] -= count
    return True


def parts_of(draws: tuple[Draw, ...]) -> dict[int, int] | None:
    """All that the draws of a job take; None where they do not agree on a shared part."""
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
    """Draws by which a job can be built from what is left."""
    parts = parts_of(so_far)
    if parts is None or any(left.get(choice, 0) < count for choice, count in parts.items()):
        return
    if len(so_far) == len(drum):
        yield so_far
        return
    for draw in drum[len(so_far)]:
        yield from _ways(drum, left, (*so_far, draw))
