"""What a cycle's jobs are worth to a shelf at most, by prices of its parts, in whole numbers.

Let every part have a price, nothing or more. A job is worth its reward less what its cheapest
draws cost, or nothing; all jobs together, with the price of all that is on the shelf, are worth no
less than what any building of them from the shelf can bring: whoever builds pays for the parts no
more than the shelf is worth. That holds for whatever prices, so an engine may guess them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.drums import Draw, Drum
    from solver.period.demand import Scenario

Worths = dict[int, int]
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


def bound_of(
    scenario: Scenario, drums: Sequence[Drum], prices: Worths, reward: int, kept: Mapping[int, int]
) -> Bound:
    """What a shelf is worth to the jobs of a cycle at most.

    A job served brings the reward, and each of its parts what keeping it would have cost.
    """
    net = {choice: prices.get(choice, 0) - kept.get(choice, 0) for choice in {*prices, *kept}}
    total = 0
    for kind, jobs in scenario:
        if all(drums[kind]):
            total += jobs * max(0, reward - least_cost(drums[kind], net))
    return Bound(total, {choice: price for choice, price in prices.items() if price})


def least_cost(drum: Drum, prices: Mapping[int, int]) -> int:
    """What the cheapest draws of a job cost, shared parts agreed on and paid once."""
    shared: dict[int, set[int]] = {}
    for ways in drum:
        for draw in ways:
            for part, choice in draw.shares:
                shared.setdefault(part, set()).add(choice)
    if not shared:
        return sum(min(_cost(draw, prices) for draw in ways) for ways in drum)
    costs = []
    for chosen in product(*([*choices, NONE] for choices in shared.values())):
        agreed = dict(zip(shared, chosen, strict=True))
        gaps = [[draw for draw in ways if _agrees(draw, agreed)] for ways in drum]
        if all(gaps):
            paid = sum(prices.get(choice, 0) for choice in chosen)
            costs.append(paid + sum(min(_cost(draw, prices) for draw in ways) for ways in gaps))
    return min(costs, default=NEVER)


def _agrees(draw: Draw, agreed: Mapping[int, int]) -> bool:
    return all(agreed[part] == choice for part, choice in draw.shares)


def _cost(draw: Draw, prices: Mapping[int, int]) -> int:
    return sum(prices.get(choice, 0) * count for choice, count in draw.parts)
