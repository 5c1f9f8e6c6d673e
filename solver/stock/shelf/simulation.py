"""Jobs of many weeks in the order they come, each built as `fit` builds from what is there.

A job that the shelf can serve is built on the day it comes. One it cannot waits: what it would
rather be built of is set aside for it, and what lacks is owed to it, before anybody who comes
later. At a week's end every size of which no more than its reorder point is on hand and on order
is ordered up to its level, in whole packs; orders come after the lead time.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from solver.stock.shelf.random_numbers import Draws

if TYPE_CHECKING:
    from collections.abc import Iterable

    from solver.stock.shelf.demand import PeriodDemand
    from solver.stock.shelf.preference import Preference, Preferring, Way


@dataclass(frozen=True, slots=True)
class SimulatedShelf:
    """How a shelf is kept."""

    levels: tuple[int, ...]
    """Up to how many of each choice are ordered."""
    reorder: tuple[int, ...]
    """How few must be on hand and on order for an order."""
    sold_in: tuple[int, ...]


@dataclass(slots=True)
class Record:
    """What became of the jobs of some weeks."""

    weeks: int = 0
    whole: int = 0
    """Weeks in which no job waited."""
    jobs: int = 0
    served: int = 0
    """Jobs built on the day they came."""
    lacked: Counter[int] = field(default_factory=Counter)
    """How many jobs waited for want of each choice."""
    used: dict[int, Counter[int]] = field(default_factory=dict)
    """For each choice, in how many cycles so many of it were taken."""
    owed: int = 0
    """Jobs waiting at the weeks' ends, added up; those that nothing serves are not counted."""
    kept: Counter[int] = field(default_factory=Counter)
    """Of each choice on hand at the weeks' ends, added up."""


def simulated(
    demand: PeriodDemand,
    shelf: SimulatedShelf,
    preferring: Preferring,
    weeks: int,
    name: tuple[object, ...],
) -> Record:
    """So many weeks in a row, after as many cycles as let the full shelf of the start be forgotten.

    The same for the same name. Raises TooManyError where a job has too many builds.
    """
    draws, simulation = Draws(*name), _Simulation(demand, shelf, preferring)
    for _ in range(2 * demand.cycle):
        simulation.week(demand.week(draws))
    simulation.record = Record()
    for _ in range(weeks):
        simulation.week(demand.week(draws))
    return simulation.record


def served_in_order(
    demand: PeriodDemand, shelf: SimulatedShelf, preferring: Preferring, jobs: Iterable[int]
) -> int:
    """How many of some jobs a full shelf serves in the order they come, before any order comes."""
    simulation = _Simulation(demand, shelf, preferring)
    simulation.week([*jobs])
    return simulation.record.served


class _Simulation:
    """A shelf as the weeks go by."""

    def __init__(self, demand: PeriodDemand, shelf: SimulatedShelf, preferring: Preferring) -> None:
        self.demand, self.shelf, self.preferring = demand, shelf, preferring
        self.net = [*shelf.levels]
        """On hand less what is owed, of each choice."""
        self.position = [*shelf.levels]
        """That and what is on order."""
        self.orders: deque[list[tuple[int, int]]] = deque([[] for _ in range(demand.lead)])
        self.cycles: deque[Counter[int]] = deque(maxlen=demand.cycle)
        self.waiting: list[tuple[tuple[int, int], ...]] = []
        self.known: dict[int, Preference] = {}
        self.record = Record()

    def week(self, rows: list[int]) -> None:
        """Jobs come, then the week ends."""
        self.cycles.append(Counter())
        served = sum(map(self._serve, rows))
        self.record.weeks += 1
        self.record.jobs += len(rows)
        self.record.served += served
        self.record.whole += served == len(rows)
        self._end()

    def _serve(self, row: int) -> bool:
        if row not in self.known:
            self.known[row] = self.preferring.of(self.demand.rows[row])
        wanted = self.known[row]
        if not all(wanted):
            return False
        ways = [self.preferring.best(ranked, self._has, self.net) for ranked in wanted]
        taken = [way for way in ways if way is not None]
        served = len(taken) == len(ways)
        if not served:
            taken = [way or ranked[0][0] for way, ranked in zip(ways, wanted, strict=True)]
            self.waiting.append(tuple(part for way in taken for part in way.parts))
            self.record.lacked.update({choice for way in taken for choice in self._lacking(way)})
        for way in taken:
            for choice, count in way.parts:
                self.net[choice] -= count
                self.position[choice] -= count
                self.cycles[-1][choice] += count
        return served

    def _has(self, way: Way) -> bool:
        net = self.net
        return all(net[choice] >= count for choice, count in way.parts)

    def _lacking(self, way: Way) -> list[int]:
        return [choice for choice, count in way.parts if self.net[choice] < count]

    def _end(self) -> None:
        """Order what is to be ordered, and take in what comes before the next week."""
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
        """Let go the jobs whose parts are all there: what is owed is owed to the last that came."""
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
