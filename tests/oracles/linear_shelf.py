"""The cheapest shelf over cycles of jobs as one linear program, job by job.

For each job of each cycle a switch for every way to build it as a whole: no counts of jobs, no
draws of single gaps, no prices. Its answer is rounded and counted again in whole numbers.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from tests.oracles.linear_program import Rows, Sum

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.problem.shared_parts import Draw
    from solver.stock.demand_patterns import Drum
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import Scenario


def cheapest(
    scenarios: Sequence[Scenario], drums: Sequence[Drum], offers: Mapping[int, Offer], wanted: int
) -> int:
    """The price of the cheapest shelf of which so many jobs can be built, proved."""
    rows = Rows()
    packs = {choice: rows.variable(np.inf) for choice in sorted(offers)}
    switches: list[tuple[int, int, dict[int, int]]] = []  # a variable, its cycle, what it takes
    for cycle, scenario in enumerate(scenarios):
        for kind, number in scenario:
            ways = [uses(draws) for draws in product(*drums[kind])]
            for _ in range(number):
                job = [(rows.variable(), cycle, way) for way in ways]
                rows.row({on: 1 for on, *_ in job}, high=1)
                switches += job
    rows.row({on: 1 for on, *_ in switches}, wanted)
    for cycle in range(len(scenarios)):
        for choice, pack in packs.items():
            taken: Sum = {on: way.get(choice, 0) for on, at, way in switches if at == cycle}
            rows.row(taken | {pack: -offers[choice].sold_in}, high=0)
    prices = {pack: offers[choice].price * offers[choice].sold_in for choice, pack in packs.items()}
    found = rows.least(prices)
    assert found
    price, values = found
    assert all(rows.holds(values))
    assert price == sum(each * values[pack] for pack, each in prices.items())
    return price


def uses(draws: Sequence[Draw]) -> dict[int, int]:
    """What a job takes whose gaps draw so; no part is shared."""
    taken: dict[int, int] = {}
    for draw in draws:
        for choice, count in draw.parts:
            taken[choice] = taken.get(choice, 0) + count
    return taken
