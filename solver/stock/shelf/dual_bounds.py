"""What a cycle's jobs are worth to a shelf at most, by prices of its parts, in whole numbers.

Let every part have a price, nothing or more. A job is worth its reward less what its cheapest
draws cost, or nothing; all jobs together, with the price of all that is on the shelf, are worth no
less than what any building of them from the shelf can bring: whoever builds pays for the parts no
more than the shelf is worth. That holds for whatever prices, so an engine may guess them.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from solver.stock.demand_patterns import Draw, Drum
    from solver.stock.shelf.demand import Scenario

Worths = dict[int, int]
Parts = tuple[tuple[int, int], ...]
NEVER = 2**60  # what no shelf pays
NONE = -1  # in place of a choice: the shared part is left out


@dataclass(frozen=True, slots=True)
class Bound:
    """What a shelf is worth at most: so much, and so much more for each part on it."""

    least: int
    prices: Worths

    def at(self, levels: Mapping[int, int]) -> int:
        """What a shelf is worth at most."""
        parts = sum(price * levels.get(choice, 0) for choice, price in self.prices.items())
        return self.least + parts


class Bounds:
    """Bounds the jobs of cycles by prices; which draws of a kind agree is worked out once."""

    def __init__(self, drums: Sequence[Drum], reward: int, kept: Mapping[int, int]) -> None:
        """A job served brings the reward, and each of its parts what keeping it would have cost."""
        self.reward, self.kept = reward, kept
        self._numbers: dict[Parts, int] = {}
        self._kinds = [[*self._ways(drum)] if all(drum) else [] for drum in drums]
        self._parts = [*self._numbers]

    def of(self, scenario: Scenario, prices: Worths) -> Bound:
        """What a shelf is worth to the jobs of a cycle at most."""
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
        """Every way for the gaps of a job to agree on their shared parts, which are paid once."""
        shared: dict[int, set[int]] = {}
        for ways in drum:
            for draw in ways:
                for part, choice in draw.shares:
                    shared.setdefault(part, set()).add(choice)
        for chosen in product(*([*choices, NONE] for choices in shared.values())):
            agreed = dict(zip(shared, chosen, strict=True))
            gaps = [
                [self._number(draw.parts) for draw in ways if _agrees(draw, agreed)]
                for ways in drum
            ]
            if all(gaps):
                yield _Way(gaps, [choice for choice in chosen if choice != NONE])

    def _number(self, parts: Parts) -> int:
        return self._numbers.setdefault(parts, len(self._numbers))


@dataclass(frozen=True, slots=True)
class _Way:
    """Of each gap the draws that agree with some shared parts, by number, and those parts."""

    gaps: list[list[int]]
    shared: list[int]

    def cost(self, costs: Mapping[int, int], prices: Mapping[int, int]) -> int:
        """What the cheapest draws cost."""
        paid = sum(prices[choice] for choice in self.shared)
        return paid + sum(min([costs[draw] for draw in gap]) for gap in self.gaps)


class _Costs(dict[int, int]):
    """What draws cost, each worked out when it is first asked for."""

    def __init__(self, parts: Sequence[Parts], prices: Mapping[int, int]) -> None:
        self._parts, self._prices = parts, prices

    def __missing__(self, number: int) -> int:
        prices = self._prices
        cost = self[number] = sum(prices[choice] * count for choice, count in self._parts[number])
        return cost


def _agrees(draw: Draw, agreed: Mapping[int, int]) -> bool:
    return all(agreed[part] == choice for part, choice in draw.shares)
