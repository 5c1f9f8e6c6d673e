"""A shelf over 1,000 scenarios: prices scenario by scenario, against the one-piece program."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from time import perf_counter
from typing import TYPE_CHECKING

from benchmarks.seller import seller
from benchmarks.table import Row, Skipped
from solver.engines.limits import Clock, Limits
from solver.stock.shelf.benders import cheapest_shelf
from solver.stock.shelf.demand import demand_of, scenarios
from solver.stock.shelf.objective import Aim

if TYPE_CHECKING:
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import PeriodDemand, Scenario

SECONDS = 300.0
CLOSE = 0.01
SHARE = Fraction(95, 100)


def run(*, quick: bool) -> list[Row | Skipped]:
    """Choose once with each; the peer has as long as the limit, and its gap is told."""
    number, limit = (40, 20.0) if quick else (1_000, SECONDS)
    instance, rows, offers = seller(2, 0, 2_000, 1)
    demand = demand_of(instance, rows, Fraction(5 if quick else 10), 0)
    found = scenarios(demand, number, "benchmark")
    wanted = ceil(SHARE * sum(jobs for one in found for _, jobs in one))
    begun = perf_counter()
    chosen = cheapest_shelf(found, demand.drums, offers, Aim(wanted), Clock(Limits(limit)))
    ours = perf_counter() - begun
    if chosen is None:
        return [Skipped("period", f"no shelf within {limit:.0f} s")]
    gap = 1 - chosen.at_least / chosen.cost
    begun = perf_counter()
    theirs = _one_piece(found, demand, offers, wanted, limit)
    peer = perf_counter() - begun
    told = (
        "no shelf"
        if theirs is None
        else f"{theirs[0] / chosen.cost:.4f} of our cost, gap {theirs[1]:.2%}"
    )
    note = f"gap {gap:.2%}, at most {CLOSE:.0%}; milp {told}"
    return [Row(f"period of {number:,}", "by prices", "scipy milp", (ours,), (peer,), 0.2, note)]


def _one_piece(
    found: tuple[Scenario, ...],
    demand: PeriodDemand,
    offers: dict[int, Offer],
    wanted: int,
    limit: float,
) -> tuple[float, float] | None:
    """All scenarios in one program: cost and relative gap, or nothing in the time given."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    choices = sorted(offers)
    cost = [float(offers[c].price * offers[c].sold_in) for c in choices]
    upper: list[float] = [np.inf] * len(choices)
    entries: list[tuple[int, int, float]] = []
    low: list[float] = []
    high: list[float] = []

    def column(most: float) -> int:
        cost.append(0.0)
        upper.append(most)
        return len(cost) - 1

    def row(terms: list[tuple[int, float]], least: float, most: float) -> None:
        entries.extend((len(low), at, factor) for at, factor in terms)
        low.append(least)
        high.append(most)

    served = []
    for scenario in found:
        drawn: dict[int, list[tuple[int, float]]] = {}
        for kind, jobs in scenario:
            if not all(demand.drums[kind]):
                continue
            done = column(jobs)
            served.append((done, 1.0))
            for ways in demand.drums[kind]:
                columns = [column(jobs) for _ in ways]
                row([(done, -1.0), *((at, 1.0) for at in columns)], 0, 0)
                for at, draw in zip(columns, ways, strict=True):
                    for choice, count in draw.parts:
                        drawn.setdefault(choice, []).append((at, float(count)))
        for choice, terms in drawn.items():
            pack = -float(offers[choice].sold_in)
            row([(choices.index(choice), pack), *terms], -np.inf, 0)
    row(served, wanted, np.inf)
    at_rows, at_columns, factors = zip(*entries, strict=True)
    matrix = coo_array((factors, (at_rows, at_columns)), shape=(len(low), len(cost))).tocsc()
    answer = milp(
        np.array(cost),
        integrality=np.ones(len(cost), dtype=np.int64), bounds=Bounds(0, np.array(upper)),
        constraints=LinearConstraint(matrix, np.array(low), np.array(high)),
        options={"time_limit": limit, "mip_rel_gap": 0.005},
    )  # fmt: skip
    return None if answer.x is None else (float(answer.fun), float(answer.mip_gap))
