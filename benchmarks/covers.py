"""Whether 95 % intervals of simulations cover: 400 seeded repetitions of one shelf of one size.

What it should promise is worked out from Poisson's chances, so an interval that misses is seen.
"""

from __future__ import annotations

from fractions import Fraction
from math import exp, factorial
from time import perf_counter

from benchmarks.table import Row, Skipped
from solver.problem.shared_parts import Draw
from solver.stock.shelf.demand import PeriodDemand
from solver.stock.shelf.preference import Preference, Preferring, Way
from solver.stock.shelf.simulation import SimulatedShelf, simulated
from specs.uncertainty.confidence import ratio

MEAN, LEVEL = 6, 8
RUNS, WEEKS = 40, 12
LEAST = 0.92


class OneWay(Preferring):
    """Every job takes one part of one size."""

    def __init__(self) -> None:
        self.first, self.worst = 0, []

    def of(self, _: object) -> Preference:
        """The one way there is."""
        return (((Way((), clear=True, parts=((0, 1),)),),),)


def run(*, quick: bool) -> list[Row | Skipped]:
    """Count the intervals that hold the true share of jobs built on the day they come."""
    repetitions = 10 if quick else 400
    begun = perf_counter()
    covered = sum(_covers(number) for number in range(repetitions))
    seconds = perf_counter() - begun
    share = covered / repetitions
    met = "met" if quick or share >= LEAST else "missed"
    note = f"{covered} of {repetitions} intervals cover, {LEAST:.0%} at least: {met}"
    return [Row("95 % intervals", "all", "itself", (seconds,), (seconds,), None, note)]


def _covers(number: int) -> bool:
    drum = ((Draw(((0, 1),), ()),),)
    demand = PeriodDemand(((0,),), (1,), (0,), (drum,), Fraction(MEAN), 0)
    shelf = SimulatedShelf((LEVEL,), (LEVEL - 1,), (1,))
    records = [
        simulated(demand, shelf, OneWay(), WEEKS, ("study", number, nth)) for nth in range(RUNS)
    ]
    told = ratio([(record.served, record.jobs) for record in records])
    return told.low <= _share() <= told.high


def _share() -> float:
    """Jobs served of all: what of Poisson's jobs of a week is not above the level."""
    chances = [exp(-MEAN) * MEAN**n / factorial(n) for n in range(80)]
    served = [min(n, LEVEL) * chance for n, chance in enumerate(chances)]
    return float(sum(served)) / MEAN
