"""Pieces of the work on a period that may be done anywhere: each says all that is needed for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.engine import Clock, Limits
from solver.period.arriving import Record, Shelf, simulated
from solver.period.choosing import chosen
from solver.period.demand import able_in, jobs_in, scenarios
from solver.period.learning import Learning
from solver.period.preferring import Preferring

if TYPE_CHECKING:
    from solver.kit import Offer
    from solver.period.aim import Aim
    from solver.period.demand import Demand
    from solver.task import Task


@dataclass(frozen=True, slots=True)
class Run:
    """Simulations of one shelf, each of so many weeks and with numbers of its own."""

    demand: Demand
    task: Task
    shelf: Shelf
    weeks: int
    name: tuple[object, ...]
    """Of the weeks."""
    numbers: tuple[int, ...]


def run(one: Run) -> list[Record]:
    """Simulate each; raises TooManyError where a job has too many builds."""
    preferring = Preferring(one.task)
    return [
        simulated(one.demand, one.shelf, preferring, one.weeks, (*one.name, number))
        for number in one.numbers
    ]


@dataclass(frozen=True, slots=True)
class Replication:
    """One choice more, over scenarios of its own, to see how far off the best a shelf may be."""

    demand: Demand
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
    known = Learning(found, drums, one.offers, one.aim)
    cost = known.consider(one.levels, clock)
    best = chosen(known, clock)
    return None if best is None else Replicated(best.at_least, cost, able, jobs)
