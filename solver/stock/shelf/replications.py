"""Pieces of the work on a period that may be done anywhere: each says all that is needed for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.engines.limits import Clock, Limits
from solver.stock.shelf.benders import chosen
from solver.stock.shelf.bounds import KnownBounds
from solver.stock.shelf.demand import able_in, jobs_in, scenarios
from solver.stock.shelf.preference import Preferring
from solver.stock.shelf.simulation import Record, SimulatedShelf, simulated

if TYPE_CHECKING:
    from solver.problem.instance import Instance
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import PeriodDemand
    from solver.stock.shelf.objective import Aim


@dataclass(frozen=True, slots=True)
class SimulationRun:
    """Simulations of one shelf, each of so many weeks and with numbers of its own."""

    demand: PeriodDemand
    instance: Instance
    shelf: SimulatedShelf
    weeks: int
    name: tuple[object, ...]
    """Of the weeks."""
    numbers: tuple[int, ...]


def run(one: SimulationRun) -> list[Record]:
    """Simulate each; raises TooManyError where a job has too many builds."""
    preferring = Preferring(one.instance)
    return [
        simulated(one.demand, one.shelf, preferring, one.weeks, (*one.name, number))
        for number in one.numbers
    ]


@dataclass(frozen=True, slots=True)
class Replication:
    """One choice more, over scenarios of its own, to see how far off the best a shelf may be."""

    demand: PeriodDemand
    offers: dict[int, Offer]
    aim: Aim
    """A cost of waiting, never a number of jobs."""
    levels: dict[int, int]
    """The shelf that is looked at."""
    scenarios: int
    seed: int
    number: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Replicated:
    """What came of it."""

    at_least: int
    """What any shelf costs."""
    cost: int
    """What the shelf that is looked at costs."""
    able: int
    """Jobs that some sizes serve."""
    jobs: int


def replicate(one: Replication) -> Replicated | None:
    """Choose once more and compare; None where time ran out."""
    drums = one.demand.drums
    found = scenarios(one.demand, one.scenarios, one.seed, "again", one.number)
    able, jobs = able_in(found, drums), jobs_in(found)
    if not able:
        return Replicated(0, 0, 0, jobs)
    clock = Clock(Limits(one.seconds))
    known = KnownBounds(found, drums, one.offers, one.aim)
    cost = known.consider(one.levels, clock)
    best = chosen(known, clock)
    return None if best is None else Replicated(best.at_least, cost, able, jobs)
