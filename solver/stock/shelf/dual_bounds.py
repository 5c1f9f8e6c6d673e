"""Bounds the worth of a shelf to the jobs of a cycle, from prices of its parts, in integers.

Give every part a price of 0 or more. Let a job be worth its reward less the price of its cheapest
draws, or 0 where that is negative. The worth of all jobs, plus the price of all parts on the shelf,
is an upper bound on the reward of any jobs built from the shelf: these use no more parts than the
shelf holds, so their prices add up to no more than its price. This holds for any prices, so an
engine in floating point may propose them.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario

Worths = dict[int, int]
Parts = tuple[tuple[int, int], ...]
NEVER = 2**60  # a price that no shelf pays
NONE = -1  # in place of a choice: no gap holds the shared part


@dataclass(frozen=True, slots=True)
class Bound:
    """An upper bound on a shelf's worth: a constant, and a price for each part on it."""

    least: int
    prices: Worths

    def at(self, levels: Mapping[int, int]) -> int:
        """Return the bound for a shelf, given its number of parts of each choice."""
        parts = sum(price * levels.get(choice, 0) for choice, price in self.prices.items())
        return self.least + parts


class Bounds:
    """Bounds the worth of a shelf to the jobs of a cycle, from prices of its parts.

    The draws of a kind that agree on shared parts are worked out once.
    """

    def __init__(self, drums: Sequence[Drum], reward: int, kept: Mapping[int, int]) -> None:
        """Work out the draws of each kind.

        Parameters
        ----------
        drums
            For each kind, the sets of parts that serve it.
        reward
            The worth of a job served.
        kept
            For each choice, the cost of keeping one part, which a job that takes it saves.
        """
        self.reward, self.kept = reward, kept
        self._numbers: dict[Parts, int] = {}
        self._kinds = [[*self._ways(drum)] if all(drum) else [] for drum in drums]
        self._parts = [*self._numbers]

    def of(self, scenario: Scenario, prices: Worths) -> Bound:
        """Return the bound for the jobs of a cycle that the given prices prove.

        Parameters
        ----------
        scenario
            Kinds of drum, each with the number of jobs.
        prices
            For each choice the price of a part; 0 where it is not stated.
        """
        net = defaultdict(int, prices)
        for choice, cost in self.kept.items():
            net[choice] -= cost
        costs = _Costs(self._parts, net)
        total = 0
        for kind, jobs in scenario:
            least = min((way.cost(costs, net) for way in self._kinds[kind]), default=NEVER)
            total += jobs * max(0, self.reward - least)
        return Bound(total, {choice: price for choice, price in prices.items() if price})

    def _ways(self, drum: Drum) -> Iterator[_Way]:
        """Yield each way for the gaps of a job to agree on shared parts, which are paid once."""
        shared: dict[int, set[int]] = {}
        for ways in drum:
            for draw in ways:
                for part, choice in draw.shares:
                    shared.setdefault(part, set()).add(choice)
        for chosen in product(*([*choices, NONE] for choices in shared.values())):
            fixed = dict(zip(shared, chosen, strict=True))
            gaps = [
                [self._number(draw.parts) for draw in ways if fixed.items() >= {*draw.shares}]
                for ways in drum
            ]
            if all(gaps):
                yield _Way(gaps, [choice for choice in chosen if choice != NONE])

    def _number(self, parts: Parts) -> int:
        return self._numbers.setdefault(parts, len(self._numbers))


@dataclass(frozen=True, slots=True)
class _Way:
    """One choice of the shared parts, with the draws of each gap that agree with it, by number."""

    gaps: list[list[int]]
    shared: list[int]

    def cost(self, costs: Mapping[int, int], prices: Mapping[int, int]) -> int:
        """Return the price of the cheapest draws."""
        paid = sum(prices[choice] for choice in self.shared)
        return paid + sum(min([costs[draw] for draw in gap]) for gap in self.gaps)


class _Costs(dict[int, int]):
    """The prices of draws, each worked out when it is first asked for."""

    def __init__(self, parts: Sequence[Parts], prices: Mapping[int, int]) -> None:
        self._parts, self._prices = parts, prices

    def __missing__(self, number: int) -> int:
        prices = self._prices
        cost = self[number] = sum(prices[choice] * count for choice, count in self._parts[number])
        return cost
