"""The cheapest shelf over cycles of jobs as one program in scipy, job by job.

For each job of each cycle a switch for every way to build it as a whole: no counts of jobs, no
draws of single gaps, no prices. Its answer is rounded and counted again in whole numbers.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

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
    choices = sorted(offers)
    jobs = [
        (cycle, [uses(draws) for draws in product(*drums[kind])])
        for cycle, scenario in enumerate(scenarios)
        for kind, number in scenario
        for _ in range(number)
    ]
    switches = [(at, way) for at, (_, ways) in enumerate(jobs) for way in ways]
    first = len(choices)
    terms = [(0, first + nth, 1.0) for nth in range(len(switches))]
    terms += [(1 + at, first + nth, 1.0) for nth, (at, _) in enumerate(switches)]
    stock = 1 + len(jobs)
    for nth, (at, way) in enumerate(switches):
        row = stock + jobs[at][0] * first
        terms += [(row + choices.index(choice), first + nth, float(n)) for choice, n in way.items()]
    for row in range(len(scenarios) * first):
        terms.append((stock + row, row % first, -float(offers[choices[row % first]].sold_in)))
    rows, columns, factors = zip(*terms, strict=True)
    high = [np.inf] + [1.0] * len(jobs) + [0.0] * (len(scenarios) * first)
    low = [float(wanted)] + [-np.inf] * (len(high) - 1)
    cost = [float(offers[c].price * offers[c].sold_in) for c in choices] + [0.0] * len(switches)
    answer = milp(
        np.array(cost), integrality=np.ones(len(cost), dtype=np.int64),
        bounds=Bounds(0, np.array([np.inf] * first + [1.0] * len(switches))),
        constraints=LinearConstraint(coo_array((factors, (rows, columns))).tocsc(), low, high),
        options={"mip_rel_gap": 0},
    )  # fmt: skip
    assert answer.status == 0, answer.message
    values = [round(value) for value in answer.x]
    packs, built = (
        values[:first],
        [one for one, on in zip(switches, values[first:], strict=True) if on],
    )
    assert len({at for at, _ in built}) == len(built) >= wanted
    for cycle in range(len(scenarios)):
        for choice, number in zip(choices, packs, strict=True):
            used = sum(way.get(choice, 0) for at, way in built if jobs[at][0] == cycle)
            assert used <= number * offers[choice].sold_in
    return sum(
        offers[c].price * offers[c].sold_in * number
        for c, number in zip(choices, packs, strict=True)
    )


def uses(draws: Sequence[Draw]) -> dict[int, int]:
    """What a job takes whose gaps draw so; no part is shared."""
    taken: dict[int, int] = {}
    for draw in draws:
        for choice, count in draw.parts:
            taken[choice] = taken.get(choice, 0) + count
    return taken
