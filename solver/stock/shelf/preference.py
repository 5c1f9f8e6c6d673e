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
from operator import attrgetter
from typing import TYPE_CHECKING, TypeVar

from solver.builds.enumeration import TooManyError
from solver.problem.components import blocks
from solver.problem.instance import scarcity
from solver.problem.shared_parts import in_one_job
from solver.rebuild.clear_of_limits import lacked_at
from solver.stock.demand_patterns import landing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from solver.problem.instance import Instance
    from solver.problem.shared_parts import Draw
    from solver.stock.demand_patterns import Spaces

T = TypeVar("T")
MOST_BUILDS = 50_000  # of one block of gaps
Levels = tuple[int, ...]
Valued = tuple[Levels, bool]
"""The levels of a build, and whether it keeps clear of the limits."""


@dataclass(frozen=True, slots=True)
class Way:
    """The best of the builds of a block of gaps that take the same parts."""

    values: Levels
    clear: bool
    """Whether every gap keeps clear of its limits."""
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

    def _of_gap(self, index: int, more: int) -> list[tuple[Draw, Valued]]:
        """Return each draw of a gap with its best build, in the order of the tie-break."""
        found: dict[Draw, Valued] = {}
        layouts = self.instance.gaps[index].layouts
        for pattern in landing(self.instance, index, more):
            layout = layouts[pattern.build.layout]
            clear = not lacked_at(layout, layout.left(pattern.build.parts) + more)
            _keep(found, pattern.draw, (pattern.values, clear))
        return list(found.items())

    def _ranked(self, block: tuple[int, ...], spaces: Spaces) -> Ranked:
        gaps = [self.of_gap(index, more) for index, more in zip(block, spaces, strict=True)]
        number = 1
        for gap in gaps:
            number *= len(gap)
        if number > MOST_BUILDS:
            raise TooManyError
        best: dict[tuple[tuple[int, int], ...], Valued] = {}
        for together in product(*gaps):
            total = in_one_job([draw for draw, _ in together])
            if total is not None:
                parts = tuple(sorted(total.items()))
                _keep(best, parts, self._joined([valued for _, valued in together]))
        ways = [Way(*valued, parts) for parts, valued in best.items()]
        ways.sort(key=attrgetter("values"))
        alike = groupby(ways, key=lambda way: way.values[: self.first])
        return tuple(tuple(here) for _, here in alike)

    def _joined(self, gaps: Sequence[Valued]) -> Valued:
        if len(gaps) == 1:
            return gaps[0]
        each = zip(self.worst, zip(*(levels for levels, _ in gaps), strict=True), strict=True)
        levels = tuple(max(values) if worst else sum(values) for worst, values in each)
        return levels, all(clear for _, clear in gaps)

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


def first_clear(ranked: Ranked) -> Way | None:
    """Return the first of the builds of a block that keep clear of the limits; None without any."""
    return next((way for alike in ranked for way in alike if way.clear), None)


def _keep(found: dict[T, Valued], key: T, valued: Valued) -> None:
    """Keep the build of a key with the best levels; keys stay in the order these were found."""
    if key not in found or valued[0] < found[key][0]:
        found.pop(key, None)
        found[key] = valued


def _blocks(instance: Instance) -> list[tuple[int, ...]]:
    """Return the blocks of gaps that some family ties, directly or through other gaps."""
    ties: defaultdict[str, list[int]] = defaultdict(list)
    for index, gap in enumerate(instance.gaps):
        for family in {place.family for layout in gap.layouts for place in layout.places}:
            ties[family].append(index)
    return blocks(len(instance.gaps), ties.values())
