"""Simulates jobs of many weeks in the order they come, each built as `fit` builds from the stock.

A job that the shelf can serve is built on the day it comes: clear of the limits of its gaps, or
only up to a limit where `fit` would. Any other job waits. The parts that it would take first are
set aside for it, and those that lack are owed to it before any later job. At a week's end, every
size with no more parts on hand and on order than its reorder point is ordered up to its level, in
whole packs. Orders come after the lead time.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from solver.stock.shelf.preference import first_clear
from solver.stock.shelf.random_numbers import Draws

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from solver.stock.shelf.demand import PeriodDemand
    from solver.stock.shelf.preference import Preference, Preferring, Way


@dataclass(frozen=True, slots=True)
class SimulatedShelf:
    """The levels, reorder points and packs of a shelf."""

    levels: tuple[int, ...]
    """For each choice, the number of parts to order up to."""
    reorder: tuple[int, ...]
    """For each choice, the most parts on hand and on order at which an order is given."""
    sold_in: tuple[int, ...]


@dataclass(slots=True)
class Record:
    """Counts of jobs and parts over some weeks."""

    weeks: int = 0
    whole: int = 0
    """Weeks in which every job was built on the day it came, clear of its limits."""
    whole_to_limit: int = 0
    """Other weeks in which no job waited: some were built only up to the limit."""
    jobs: int = 0
    served: int = 0
    """Jobs built on the day they came, every gap clear of its limits."""
    to_limit: int = 0
    """Jobs built on the day they came, but only up to the limit."""
    lacked: Counter[int] = field(default_factory=Counter)
    """For each choice, the number of jobs that were not built clear of their limits for want of it.

    Of jobs that some sizes can build so.
    """
    used: dict[int, Counter[int]] = field(default_factory=dict)
    """For each choice and number of parts, the cycles in which so many were taken."""
    owed: int = 0
    """Jobs waiting at each week's end, added up; those that nothing serves are not counted."""
    kept: Counter[int] = field(default_factory=Counter)
    """For each choice, the parts on hand at each week's end, added up."""


def simulated(
    demand: PeriodDemand,
    shelf: SimulatedShelf,
    preferring: Preferring,
    weeks: int,
    name: tuple[object, ...],
) -> Record:
    """Simulate a shelf over a number of weeks.

    Two cycles go before and are not counted, so that the full shelf of the start does not matter.

    Parameters
    ----------
    demand
        The jobs to expect.
    shelf
        How the shelf is kept.
    preferring
        Ranks the builds of each job.
    weeks
        The number of weeks to count.
    name
        The name of the random numbers: equal names give equal weeks.

    Returns
    -------
    Record
        The counts of jobs and parts over these weeks.

    Raises
    ------
    TooManyError
        Where a job has too many builds.
    """
    draws, simulation = Draws(*name), Simulation(demand, shelf, preferring)
    for _ in range(2 * demand.cycle):
        simulation.week(demand.week(draws))
    simulation.record = Record()
    for _ in range(weeks):
        simulation.week(demand.week(draws))
    return simulation.record


@dataclass(frozen=True, slots=True)
class _Wanted:
    """The ranked builds of a job, block by block, and the first of each that keeps clear."""

    ranked: Preference
    clear: tuple[Way | None, ...]


class Simulation:
    """A shelf and its jobs, week by week."""

    def __init__(self, demand: PeriodDemand, shelf: SimulatedShelf, preferring: Preferring) -> None:
        self.demand, self.shelf, self.preferring = demand, shelf, preferring
        self.net = [*shelf.levels]
        """For each choice, the parts on hand less those owed."""
        self.position = [*shelf.levels]
        """For each choice, these and the parts on order."""
        self.orders: deque[list[tuple[int, int]]] = deque([[] for _ in range(demand.lead)])
        self.cycles: deque[Counter[int]] = deque(maxlen=demand.cycle)
        self.waiting: list[tuple[tuple[int, int], ...]] = []
        self.known: dict[int, _Wanted] = {}
        self.record = Record()

    def week(self, rows: list[int]) -> None:
        """Serve the jobs of a week in order, and end the week."""
        self.cycles.append(Counter())
        done = Counter(map(self._serve, rows))
        record, whole = self.record, done["clear"] == len(rows)
        record.weeks += 1
        record.jobs += len(rows)
        record.served += done["clear"]
        record.to_limit += done["to limit"]
        record.whole += whole
        record.whole_to_limit += not whole and not done["waits"]
        self._end()

    def _serve(self, row: int) -> Literal["clear", "to limit", "waits"]:
        """Build a job, or set aside the parts it takes first; return what became of it."""
        if row not in self.known:
            wanted = self.preferring.of(self.demand.rows[row])
            self.known[row] = _Wanted(wanted, tuple(map(first_clear, wanted)))
        wanted, clear = self.known[row].ranked, self.known[row].clear
        if not all(wanted):
            return "waits"
        ways = [self.preferring.best(ranked, self._has, self.net) for ranked in wanted]
        taken = [way or ranked[0][0] for way, ranked in zip(ways, wanted, strict=True)]
        served = None not in ways
        in_clear = served and all(way.clear for way in taken)
        if not served:
            self.waiting.append(tuple(part for way in taken for part in way.parts))
        if not in_clear:
            self._lack(ways, clear)
        for way in taken:
            for choice, count in way.parts:
                self.net[choice] -= count
                self.position[choice] -= count
                self.cycles[-1][choice] += count
        return "clear" if in_clear else "to limit" if served else "waits"

    def _lack(self, ways: Sequence[Way | None], clear: Sequence[Way | None]) -> None:
        """Count what a job lacks that was not built clear of its limits and could have been."""
        if all(clear):
            both = zip(ways, clear, strict=True)
            wanted = [there for way, there in both if there and not (way and way.clear)]
            self.record.lacked.update({one for way in wanted for one in self._lacking(way)})

    def _has(self, way: Way) -> bool:
        net = self.net
        return all(net[choice] >= count for choice, count in way.parts)

    def _lacking(self, way: Way) -> list[int]:
        return [choice for choice, count in way.parts if self.net[choice] < count]

    def _end(self) -> None:
        """Give the orders that are due, and receive those that come before the next week."""
        self._look_back()
        for choice, left in enumerate(self.net):
            if left > 0:
                self.record.kept[choice] += left
        if len(self.cycles) == self.demand.cycle:
            cycle = sum(self.cycles, Counter[int]())
            for choice in range(len(self.net)):
                self.record.used.setdefault(choice, Counter())[cycle[choice]] += 1
        self.orders.append([*self._orders()])
        for choice, number in self.orders.popleft():
            self.net[choice] += number

    def _look_back(self) -> None:
        """Drop waiting jobs that have all their parts; those that came first get theirs first."""
        owed = Counter({choice: -net for choice, net in enumerate(self.net) if net < 0})
        still = []
        for parts in reversed(self.waiting):
            short = [choice for choice, _ in parts if owed[choice] > 0]
            owed.subtract({choice: count for choice, count in parts if choice in short})
            if short:
                still.append(parts)
        self.waiting = still[::-1]
        self.record.owed += len(still)

    def _orders(self) -> Iterable[tuple[int, int]]:
        shelf = self.shelf
        for choice, position in enumerate(self.position):
            packs = (shelf.levels[choice] - position) // shelf.sold_in[choice]
            if packs > 0 and position <= shelf.reorder[choice]:
                number = packs * shelf.sold_in[choice]
                self.position[choice] += number
                yield choice, number
