"""Which sums the builds that a person could tell apart can come to.

Two builds are told apart by their layout and their counts by size. Each comes to as many sums
as its sizes have lots, and serves every space within a window's reach of one of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.builds.dynamic_program import Walk
from solver.builds.sums import check_single

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from solver.builds.slots import Filling, Move
    from solver.problem.instance import Layout
    from solver.problem.parameter import Span


def spans_of_builds(filling: Filling) -> list[list[Span]]:
    """For each build a person could tell apart, the rooms it serves.

    Raises TooManyError where there are too many builds to go through.
    """
    check_single(filling)
    ends = Walk(filling, _either, apart=True).ends(frozenset({0}))
    return [list(served_by(filling.layout, sums)) for sums in ends.values()]


def spans_served(filling: Filling) -> list[Span]:
    """The rooms that some build of a layout serves; raises TooManyError as above."""
    check_single(filling)
    ends = Walk(filling, _either, apart=False).ends(frozenset({0}))
    return list(served_by(filling.layout, ends.get((), frozenset())))


def _either(other: frozenset[int] | None, table: frozenset[int], move: Move) -> frozenset[int]:
    moved = frozenset(map(move.takes.__add__, table)) if move.takes else table
    return moved if other is None else other | moved


def served_by(layout: Layout, sums: Collection[int]) -> Iterator[Span]:
    """Join the windows around neighbouring sums where no whole step lies between them."""
    if not sums:
        return
    if layout.low is None or layout.high is None:
        low = None if layout.low is None else min(sums) + layout.low
        high = None if layout.high is None else max(sums) + layout.high
        yield low, high
        return
    ordered = sorted(sums)
    first = before = ordered[0]
    for taken in ordered[1:]:
        if taken + layout.low > before + layout.high + 1:
            yield first + layout.low, before + layout.high
            first = taken
        before = taken
    yield first + layout.low, before + layout.high
