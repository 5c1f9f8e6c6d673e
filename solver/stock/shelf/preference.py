"""Ranks the builds of a job in the order in which `fit` would take them from a shelf.

Stock affects the order of builds through the scarcity of sizes alone. So builds are ranked once by
the levels before that one. Among builds with equal rank the scarcity on hand decides, then the
levels after it, then the tie-break. Gaps that draw on no family in common are ranked apart
(solver/problem/components.py).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from itertools import groupby, product
from operator import itemgetter
from typing import TYPE_CHECKING, TypeVar

from solver.builds.enumeration import TooManyError
from solver.problem.components import blocks
from solver.problem.instance import scarcity
from solver.problem.shared_parts import in_one_job
from solver.stock.demand_patterns import landing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from solver.problem.instance import Instance
    from solver.problem.shared_parts import Draw
    from solver.stock.demand_patterns import Spaces

T = TypeVar("T")
MOST_BUILDS = 50_000  # of one block of gaps
Levels = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """The best of the builds of a block of gaps that take the same parts."""

    values: Levels
    parts: tuple[tuple[int, int], ...]


Ranked = tuple[tuple[Way, ...], ...]
"""Builds of one block, the best first; those that only scarcity tells apart stand together."""
Preference = tuple[Ranked, ...]
"""The ranked builds of each block of gaps."""


class Preferring:
    """Ranks the builds of every job of one instance, each space of a gap once."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        measures = [level.measure for level in instance.levels]
        self.first = measures.index("scarce") if "scarce" in measures else len(measures)
        self.worst = [level.worst for level in instance.levels]
        self.blocks = _blocks(instance)
        self.of_gap = cache(self._of_gap)
        self.ranked = cache(self._ranked)

    def of(self, spaces: Spaces) -> Preference:
        """Return the ranked builds of a job with the given spaces.

        Raises TooManyError where a gap or a block of gaps has too many builds.
        """
        return tuple(
            self.ranked(block, tuple(spaces[index] for index in block)) for block in self.blocks
        )

    def _of_gap(self, index: int, more: int) -> list[tuple[Draw, Levels]]:
        """Return each draw of a gap with its best values, in the order of the tie-break."""
        found: dict[Draw, Levels] = {}
        for pattern in landing(self.instance, index, more):
            _keep(found, pattern.draw, pattern.values)
        return list(found.items())

    def _ranked(self, block: tuple[int, ...], spaces: Spaces) -> Ranked:
        gaps = [self.of_gap(index, more) for index, more in zip(block, spaces, strict=True)]
        number = 1
        for gap in gaps:
            number *= len(gap)
        if number > MOST_BUILDS:
            raise TooManyError
        best: dict[tuple[tuple[int, int], ...], Levels] = {}
        for together in product(*gaps):
            total = in_one_job([draw for draw, _ in together])
            if total is not None:
                parts = tuple(sorted(total.items()))
                _keep(best, parts, self._joined([levels for _, levels in together]))
        ways = sorted(((values, parts) for parts, values in best.items()), key=itemgetter(0))
        alike = groupby(ways, key=lambda way: way[0][: self.first])
        return tuple(tuple(Way(*way) for way in here) for _, here in alike)

    def _joined(self, levels: Sequence[Levels]) -> Levels:
        if len(levels) == 1:
            return levels[0]
        each = zip(self.worst, zip(*levels, strict=True), strict=True)
        return tuple(max(values) if worst else sum(values) for worst, values in each)

    def best(self, ranked: Ranked, has: Callable[[Way], bool], stock: Sequence[int]) -> Way | None:
        """Return the build that `fit` would take of those the shelf has; None where it has none.

        Parameters
        ----------
        ranked
            The builds of one block of gaps.
        has
            Returns whether the shelf has the parts of a build.
        stock
            For each choice, the number of parts on hand.
        """
        for alike in ranked:
            able = [way for way in alike if has(way)]
            if len(able) > 1:
                able.sort(key=lambda way: (self._scarce(way, stock), way.values[self.first :]))
            if able:
                return able[0]
        return None

    def _scarce(self, way: Way, stock: Sequence[int]) -> int:
        if self.first == len(self.worst):
            return 0
        return sum(scarcity(stock[choice], count) for choice, count in way.parts)


def _keep(found: dict[T, Levels], key: T, values: Levels) -> None:
    """Keep the best values of a key; keys stay in the order in which these were found."""
    if key not in found or values < found[key]:
        found.pop(key, None)
        found[key] = values


def _blocks(instance: Instance) -> list[tuple[int, ...]]:
    """Return the blocks of gaps that some family ties, directly or through other gaps."""
    ties: defaultdict[str, list[int]] = defaultdict(list)
    for index, gap in enumerate(instance.gaps):
        for family in {place.family for layout in gap.layouts for place in layout.places}:
            ties[family].append(index)
    return blocks(len(instance.gaps), ties.values())
