"""Shelves for a few cycles by brute force: which jobs can be built from what, tried one by one."""

from __future__ import annotations

from functools import cache
from itertools import product
from random import Random
from typing import TYPE_CHECKING

from solver.problem.shared_parts import Draw
from solver.stock.kit import Offer

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario


class Cycles:
    """Some kinds of job that draw on four sizes, prices, and a few cycles of jobs."""

    def __init__(self, seed: int) -> None:
        self.rng = rng = Random(seed)  # noqa: S311 - no secret hangs on it
        self.shared = rng.random() < 0.4
        self.drums: tuple[Drum, ...] = tuple(self._drum() for _ in range(4))
        self.offers = {c: Offer(rng.choice([1, 2, 3, 5]), rng.choice([1, 1, 2])) for c in range(4)}
        self.scenarios: tuple[Scenario, ...] = tuple(
            tuple((kind, rng.randint(1, 2)) for kind in sorted(rng.sample(range(4), 2)))
            for _ in range(rng.randint(1, 4))
        )

    def _drum(self) -> Drum:
        gaps = []
        for _ in range(self.rng.choice([1, 1, 2])):
            ways = {self._draw() for _ in range(self.rng.randint(1, 3))}
            gaps.append(tuple(sorted(ways)))
        if self.rng.random() < 0.1:
            gaps[0] = ()
        return tuple(gaps)

    def _draw(self) -> Draw:
        shares = ((0, self.rng.randrange(2)),) if self.shared and self.rng.random() < 0.5 else ()
        parts = {self.rng.randrange(4): self.rng.choice([1, 1, 2])}
        return Draw(tuple(parts.items()), shares)

    def shelves(self, most: int) -> Iterator[dict[int, int]]:
        """Every shelf of whole packs with so many of each at most."""
        numbers = [range(0, most + 1, self.offers[choice].sold_in) for choice in range(4)]
        for levels in product(*numbers):
            yield dict(enumerate(levels))

    def price(self, levels: Mapping[int, int]) -> int:
        return sum(self.offers[choice].price * number for choice, number in levels.items())

    def served(self, levels: Mapping[int, int]) -> int:
        """Jobs of all cycles that can be built, each cycle with all its jobs in view."""
        return self.worth(levels, 1, (0, 0, 0, 0))

    def cost(self, levels: Mapping[int, int], waiting: int, keeping: tuple[int, ...]) -> int:
        """What waiting and keeping cost at least, over all cycles."""
        jobs = sum(n for one in self.scenarios for _, n in one)
        kept = sum(keeping[choice] * number for choice, number in levels.items())
        worth = self.worth(levels, waiting, keeping)
        return jobs * waiting + kept * len(self.scenarios) - worth

    def worth(self, levels: Mapping[int, int], waiting: int, keeping: tuple[int, ...]) -> int:
        """What the jobs built save at most: each what waiting costs, and its parts' keeping."""
        left = tuple(levels.get(choice, 0) for choice in range(4))
        return sum(
            self._most(tuple(k for k, n in one for _ in range(n)), left, waiting, keeping)
            for one in self.scenarios
        )

    @cache  # noqa: B019 - a test's own
    def _most(
        self, jobs: tuple[int, ...], left: tuple[int, ...], waiting: int, keeping: tuple[int, ...]
    ) -> int:
        """What the jobs save at most that are built of what is left."""
        if not jobs:
            return 0
        best = self._most(jobs[1:], left, waiting, keeping)
        for parts in self._ways(jobs[0]):
            after = tuple(n - parts.get(c, 0) for c, n in enumerate(left))
            if min(after) >= 0:
                saved = waiting + sum(keeping[c] * n for c, n in parts.items())
                best = max(best, saved + self._most(jobs[1:], after, waiting, keeping))
        return best

    def _ways(self, kind: int) -> Iterator[dict[int, int]]:
        """All that the draws of a job may take; a shared part is one part."""
        for draws in product(*self.drums[kind]):
            shared = {share for draw in draws for share in draw.shares}
            if len({part for part, _ in shared}) == len(shared):
                taken = [part for draw in draws for part in draw.parts]
                taken += [(choice, 1) for _, choice in shared]
                yield {c: sum(n for one, n in taken if one == c) for c, _ in taken}
