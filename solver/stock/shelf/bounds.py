"""Holds the bounds on shelves over scenarios, and the best shelf so far.

dual_prices.py gives dual prices of a shelf's parts for each scenario. dual_bounds.py turns them
into a bound that is valid for every shelf, and each bound is a cut of the master problem.
job_cycle.py builds the jobs for whole shelves, and these jobs decide which shelf is the best.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from solver.stock.demand_patterns import most_of
from solver.stock.shelf.demand import able_in
from solver.stock.shelf.dual_bounds import Bounds
from solver.stock.shelf.dual_prices import Prices
from solver.stock.shelf.job_cycle import built
from solver.stock.shelf.master import Master
from solver.stock.shelf.objective import Chosen, cost_of
from solver.stock.shelf.rounded_cuts import JobWorth, RoundedCuts, rounded_cut
from solver.stock.shelf.subproblem import whole_flows

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from solver.engines.limits import Clock
    from solver.stock.demand_patterns import Drum
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import Scenario
    from solver.stock.shelf.dual_bounds import Bound
    from solver.stock.shelf.job_cycle import Flows
    from solver.stock.shelf.master import Least
    from solver.stock.shelf.objective import Aim, Done
    from solver.stock.shelf.rounded_cuts import Ranges


class KnownBounds:
    """The master problem with its cuts, and the best shelf so far.

    Parameters
    ----------
    scenarios
        The jobs of each cycle, by kind of drum.
    drums
        For each kind, the sets of parts that serve it.
    offers
        For each choice, its price and pack.
    aim
        The jobs that are to be built, and the costs of waiting and keeping.
    """

    def __init__(
        self, scenarios: Sequence[Scenario], drums: Sequence[Drum], offers: Mapping[int, Offer],
        aim: Aim,
    ) -> None:  # fmt: skip
        self.scenarios, self.drums, self.offers, self.aim = scenarios, drums, offers, aim
        self.keeping = dict(aim.keeping)
        drawn = [most_of(drum) if all(drum) else Counter[int]() for drum in drums]
        self.most = most = {
            choice: -(-number // offers[choice].sold_in) * offers[choice].sold_in
            for choice, number in _most(scenarios, drawn).items()
        }
        self.bounds = Bounds(drums, aim.waiting, self.keeping)
        self.prices = Prices(scenarios, drums, most, aim.waiting, self.keeping)
        self.packs = {choice: nth for nth, choice in enumerate(sorted(most))}
        packs = [most[choice] // offers[choice].sold_in for choice in self.packs]
        self.costs = self._costs()
        able = [able_in([one], drums) for one in scenarios]
        self.cuts = RoundedCuts(JobWorth(aim.waiting, max(map(aim.kept, drawn))), able, packs)
        self.levels = Master(self.costs, packs, aim.waiting, able, aim.wanted)
        self.best: Chosen | None = None

    def shelf(self, packs: Iterable[int]) -> dict[int, int]:
        """Return the shelf with the given packs of each choice: for each choice, its parts."""
        return {
            choice: pack * self.offers[choice].sold_in
            for choice, pack in zip(self.packs, packs, strict=True)
        }

    def _costs(self) -> list[int]:
        """Return the cost of a pack of each choice, with that of keeping it in every scenario."""
        times, buying, offers = len(self.scenarios), self.aim.buying, self.offers
        return [
            (offers[one].price * buying + self.keeping.get(one, 0) * times) * offers[one].sold_in
            for one in self.packs
        ]

    def least(self, ranges: Ranges, clock: Clock) -> Least | None:
        """Solve the master within some ranges; None where no shelf within them meets the aim.

        Raises OutOfTimeError where the master was not solved in time.
        """
        return self.levels.least(ranges, self.cuts.worths(ranges), clock)

    def dual(self) -> int:
        """Return the rise of the least cost by one more job asked for.

        It is 0 where no number of jobs is asked for.
        """
        return self.levels.dual() if self.aim.wanted else 0

    def at_least(self, packs: Sequence[int]) -> tuple[int, int]:
        """Return lower bounds for a shelf of whole packs.

        Parameters
        ----------
        packs
            For each choice, the number of packs.

        Returns
        -------
        lacking : int
            On the number of jobs that it is short of; 0 where no number of jobs is asked for.
        cost : int
            On its cost.
        """
        worth, able = self.cuts.worth(packs), sum(self.cuts.able)
        cost = sum(one * pack for one, pack in zip(self.costs, packs, strict=True))
        if self.aim.wanted:
            return max(0, self.aim.wanted - worth // self.aim.waiting), cost
        return 0, cost + able * self.aim.waiting - worth

    def consider(self, shelf: Mapping[int, int], clock: Clock) -> int:
        """Build the jobs of every scenario from a shelf, and keep the shelf where it is the best.

        The bounds at this shelf are added as cuts.

        Parameters
        ----------
        shelf
            For each choice, the number of parts.
        clock
            The time that is left.

        Returns
        -------
        int
            The cost of the shelf with the jobs that were built.
        """
        done = []
        bounds = self._cuts_at({choice: Fraction(n) for choice, n in shelf.items()}, clock)
        for nth, (bound, flows) in enumerate(bounds):
            most = min(bound.at(shelf) // self.aim.waiting, self.cuts.able[nth])
            done.append(self._built(self.scenarios[nth], flows, shelf, most, clock))
        served = sum(jobs for jobs, _ in done)
        cost = cost_of(self.aim, self.offers, shelf, sum(self.cuts.able), done)
        if served >= self.aim.wanted and (self.best is None or cost < self.best.cost):
            self.best = Chosen({c: n for c, n in shelf.items() if n}, cost, 0, served)
        return cost

    def _built(
        self, scenario: Scenario, flows: Flows, shelf: Mapping[int, int], most: int, clock: Clock
    ) -> Done:
        """Build the jobs of a scenario; by an integer program where the relaxation built few."""
        done = built(scenario, self.drums, flows, shelf)
        if done[0] < most and clock.left > 0:
            told = whole_flows(scenario, self.drums, shelf, self.aim, clock)
            if told is not None:
                done = max(done, built(scenario, self.drums, told, shelf), key=self.aim.worth)
        return done

    def add_cuts(self, packs: Sequence[Fraction], clock: Clock) -> None:
        """Add the bounds at a shelf as cuts.

        Parameters
        ----------
        packs
            For each choice, the packs, which may be fractional.
        clock
            The time that is left.
        """
        told = zip(self.packs, packs, strict=True)
        self._cuts_at({choice: pack * self.offers[choice].sold_in for choice, pack in told}, clock)

    def _cuts_at(self, levels: Mapping[int, Fraction], clock: Clock) -> list[tuple[Bound, Flows]]:
        """Add the bounds at a shelf as cuts; return each with the jobs that the engine built."""
        found = []
        told = self.prices.at(levels, clock.left)
        for nth, (scenario, (prices, flows)) in enumerate(zip(self.scenarios, told, strict=True)):
            bound = self.bounds.of(scenario, prices)
            packs = {
                self.packs[choice]: price * self.offers[choice].sold_in
                for choice, price in bound.prices.items()
            }
            cut = rounded_cut(nth, bound.least, packs)
            if self.cuts.add(cut):
                self.levels.bind(cut)
            found.append((bound, flows))
        return found


def _most(scenarios: Sequence[Scenario], drawn: Sequence[Counter[int]]) -> Counter[int]:
    """Return for each choice the most parts that the jobs of one scenario could draw."""
    most: Counter[int] = Counter()
    for scenario in scenarios:
        total: Counter[int] = Counter()
        for kind, jobs in scenario:
            total.update({choice: jobs * count for choice, count in drawn[kind].items()})
        most |= total
    return most
