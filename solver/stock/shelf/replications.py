"""Defines the parts of the work on a period that workers can do apart, each with all its data."""

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
    """Simulations of one shelf over equally many weeks, each with random numbers of its own."""

    demand: PeriodDemand
    instance: Instance
    shelf: SimulatedShelf
    weeks: int
    name: tuple[object, ...]
    """The name of the random numbers, before the number of the simulation."""
    numbers: tuple[int, ...]


def run(one: SimulationRun) -> list[Record]:
    """Simulate each run; raises TooManyError where a job has too many builds."""
    preferring = _preferring(one.instance)
    return [
        simulated(one.demand, one.shelf, preferring, one.weeks, (*one.name, number))
        for number in one.numbers
    ]


_KEPT: list[Preferring] = []
"""What ranks the builds of the instance that this process simulated last."""


def _preferring(instance: Instance) -> Preferring:
    """Return what ranks the builds of an instance; the last one is kept for the runs to come."""
    kept = (one for one in _KEPT if one.instance == instance)
    found = next(kept, None) or Preferring(instance)
    _KEPT[:] = [found]
    return found


@dataclass(frozen=True, slots=True)
class Replication:
    """A choice over scenarios of its own, which bounds how far a shelf is from the best."""

    demand: PeriodDemand
    offers: dict[int, Offer]
    aim: Aim
    """Its cost of waiting; never a number of jobs."""
    levels: dict[int, int]
    """The shelf to compare with: for each choice, the number of parts."""
    scenarios: int
    seed: int
    number: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Replicated:
    """The outcome of a replication."""

    at_least: int
    """A lower bound on the cost of any shelf over its scenarios."""
    cost: int
    """The cost of the shelf to compare with."""
    able: int
    """The number of jobs that some sizes could serve."""
    jobs: int


def replicate(one: Replication) -> Replicated | None:
    """Choose a shelf over further scenarios, and compare; None where time ran out."""
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
