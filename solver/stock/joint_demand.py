"""Joins the gaps of a drum that draw on the same parts, and lists what they draw together.

Gaps that can draw on one choice, or hold one part, form a block. A drum is served where each of
its blocks is, because no two blocks draw on the same parts. The gaps of a block are joined into
one gap. Its draws are all that the patterns of its gaps draw together, except those that draw more
than another. Drums are many and these draws few: drums of one history ask for the same few sets of
parts.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from solver.problem.components import blocks
from solver.problem.shared_parts import Draw, Share, agreed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from solver.stock.demand_patterns import Drum, Ways

MOST_STEPS = 5_000_000  # of joining one block: a few seconds; counted, so that answers repeat
MOST_WAYS = 2_000  # of a block of one drum
WIDTH = 32  # bits of a count, the highest of which stays free
Loads = dict[tuple[Share, ...], list[int]]
"""For each agreement on shared parts, the sets of parts drawn with it, each packed in a number."""


def joined(drums: Mapping[Drum, int]) -> Counter[tuple[Drum, ...]]:
    """Count the drums that some kit serves, each split into its blocks.

    Parameters
    ----------
    drums
        Kinds of drum, each with the number of drums of that kind.

    Returns
    -------
    Counter of tuple of Drum
        Each block is a drum of its own. It has one gap without shared parts, or keeps its gaps
        where their joint draws would be too many.
    """
    able = {drum: count for drum, count in drums.items() if all(drum)}
    joiners = [(gaps, _Joiner(_choices(able, gaps))) for gaps in blocks_of(able)]
    found: Counter[tuple[Drum, ...]] = Counter()
    for drum, count in able.items():
        parts = tuple(joiner.join(tuple(drum[gap] for gap in gaps)) for gaps, joiner in joiners)
        if all(all(part) for part in parts):
            found[parts] += count
    return found


def blocks_of(drums: Iterable[Drum]) -> list[tuple[int, ...]]:
    """Return the blocks of gaps; gaps that draw on one choice or hold one part are together."""
    ties: defaultdict[tuple[str, int], set[int]] = defaultdict(set)
    here = {(gap, ways) for drum in drums for gap, ways in enumerate(drum)}
    for gap, ways in here:
        for thing in _drawn(ways):
            ties[thing].add(gap)
    return blocks(len({gap for gap, _ in here}), ties.values())


def _drawn(ways: Ways) -> Iterator[tuple[str, int]]:
    for draw in ways:
        yield from (("choice", choice) for choice, _ in draw.parts)
        for part, choice in draw.shares:
            yield from (("part", part), ("choice", choice))


def _choices(drums: Iterable[Drum], gaps: tuple[int, ...]) -> set[int]:
    ways = {drum[gap] for drum in drums for gap in gaps}
    return {number for one in ways for what, number in _drawn(one) if what == "choice"}


class _Joiner:
    """Joins the gaps of one block; drums that begin alike share the work on their common beginning.

    A load is one integer with a field for the total and one for the count of each choice. Loads add
    up as integers, and no field overflows into the next.
    """

    def __init__(self, choices: set[int]) -> None:
        self._place = {choice: WIDTH * nth for nth, choice in enumerate(sorted(choices), 1)}
        self._free = sum(1 << (WIDTH * nth + WIDTH - 1) for nth in range(len(choices) + 1))
        self._steps = MOST_STEPS
        self._known: dict[Drum, Loads | None] = {(): {(): [0]}}
        self._draws: dict[int, Draw] = {}

    def join(self, drum: Drum) -> Drum:
        """Return one gap that the same kits serve; the gaps given where it has too many draws."""
        loads = self._loads(drum)
        if loads is None:
            return drum
        whole = {
            load + self._packed((choice, 1) for _, choice in shares)
            for shares, some in loads.items()
            for load in some
        }
        return (tuple(map(self._draw, sorted(self._least(whole)))),)

    def _loads(self, drum: Drum) -> Loads | None:
        if drum not in self._known:
            before = self._loads(drum[:-1])
            self._known[drum] = None if before is None else self._with(before, drum[-1])
        return self._known[drum]

    def _with(self, before: Loads, ways: Ways) -> Loads | None:
        """Return all that a further gap can draw with those before; None where this is too much."""
        sums = len(ways) * sum(map(len, before.values()))
        self._steps -= sums
        if sums > MOST_WAYS or self._steps < 0:
            return None
        found: defaultdict[tuple[Share, ...], set[int]] = defaultdict(set)
        for draw in ways:
            load = self._packed(draw.parts)
            for shares, some in before.items():
                held = agreed((*draw.shares, *shares))
                if held is not None:
                    found[tuple(sorted(held.items()))].update(load + one for one in some)
        return {shares: self._least(some) for shares, some in found.items()}

    def _least(self, loads: set[int]) -> list[int]:
        """Drop the loads that contain another; loads of equal totals never contain one another."""
        by_total: defaultdict[int, list[int]] = defaultdict(list)
        for load in loads:
            by_total[_field(load, 0)].append(load)
        kept: list[int] = []
        for _, some in sorted(by_total.items()):
            self._steps -= len(some) * len(kept)
            kept += [load for load in some if not any(self._within(one, load) for one in kept)]
        return kept

    def _within(self, one: int, other: int) -> bool:
        """Return whether a load has no more of any choice: then no field borrows its free bit."""
        return ((other | self._free) - one) & self._free == self._free

    def _packed(self, parts: Iterable[tuple[int, int]]) -> int:
        return sum(count + (count << self._place[choice]) for choice, count in parts)

    def _draw(self, load: int) -> Draw:
        """Return the draw of a load; the same object however many drums ask for it."""
        if load not in self._draws:
            counts = ((choice, _field(load, place)) for choice, place in self._place.items())
            self._draws[load] = Draw(tuple((c, count) for c, count in counts if count), ())
        return self._draws[load]


def _field(load: int, place: int) -> int:
    return load >> place & (1 << WIDTH) - 1
