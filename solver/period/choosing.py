"""The cheapest shelf over scenarios, each with all of its jobs in view.

What a shelf is worth to a scenario is bounded by prices (worth.py), and the bounds of a few
scenarios together are a row of a small program over the levels: this is Benders' decomposition.
The program's least is a bound on every shelf. Its shelf is asked for new prices (prices.py) until
none of the bounds is above what building the jobs for real comes to (building.py).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from solver.drums import most_of
from solver.engine import add
from solver.period.aim import FINE, tried
from solver.period.demand import able_in
from solver.period.levels import Levels
from solver.period.prices import Prices
from solver.period.worth import Bound, bound_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.drums import Drum
    from solver.engine import Clock, Expression
    from solver.kit import Offer
    from solver.period.aim import Aim
    from solver.period.building import Flows
    from solver.period.demand import Scenario

GROUPS = 40  # of scenarios whose bounds are added up
CLOSE = Fraction(1, 200)  # of the cost: nearer to its bound no better shelf is looked for
NEARER = Fraction(1, 500)  # of the bound: less than this gained in some rounds, and it is enough
ROUNDS = 4
CLIMB = 5


@dataclass(frozen=True, slots=True)
class Chosen:
    """The shelf chosen, with what is proved of it over the scenarios."""

    levels: dict[int, int]
    """Up to how many of each choice."""
    cost: int
    """Its price, where that counts, and what keeping and waiting cost over all scenarios."""
    at_least: int
    """What every shelf costs that does as asked in the scenarios."""
    served: int
    """How many jobs of the scenarios are built, with all in view."""
    worth: int = 0
    """By how much the price rises with one job more that is to be built of all."""

    @property
    def proved(self) -> bool:
        """Whether no shelf costs less."""
        return self.at_least >= self.cost


def cheapest_shelf(
    scenarios: Sequence[Scenario],
    drums: Sequence[Drum],
    offers: Mapping[int, Offer],
    aim: Aim,
    clock: Clock,
) -> Chosen | None:
    """Choose the cheapest shelf; None where none was found in time, or none does as asked."""
    if not able_in(scenarios, drums):
        return None if aim.wanted else Chosen({}, 0, 0, 0)
    return _Choosing(scenarios, drums, offers, aim).chosen(clock)


class _Choosing:
    """The small program, and the best shelf so far."""

    def __init__(
        self, scenarios: Sequence[Scenario], drums: Sequence[Drum], offers: Mapping[int, Offer],
        aim: Aim,
    ) -> None:  # fmt: skip
        self.scenarios, self.drums, self.offers, self.aim = scenarios, drums, offers, aim
        self.keeping = dict(aim.keeping)
        self.most = most = {
            choice: -(-number // offers[choice].sold_in) * offers[choice].sold_in
            for choice, number in _most(scenarios, drums).items()
        }
        self.prices = Prices(scenarios, drums, most, aim.waiting, self.keeping)
        self.packs = {choice: nth for nth, choice in enumerate(sorted(most))}
        number = min(GROUPS, len(scenarios))
        self.groups = [range(nth, len(scenarios), number) for nth in range(number)]
        self.worths = range(len(most), len(most) + number)
        self.able = able_in(scenarios, drums)
        packs = [most[choice] // offers[choice].sold_in for choice in self.packs]
        self.levels = Levels(packs, number, self._cost())
        self.asked = aim.wanted
        self.best: Chosen | None = None
        self.bound = self.built = self.worth = 0

    def _cost(self) -> Expression:
        times, cost = len(self.scenarios), dict[int, int]()
        for choice, pack in self.packs.items():
            offer = self.offers[choice]
            part = offer.price * self.aim.buying + self.keeping.get(choice, 0) * times
            cost[pack] = part * offer.sold_in
        return cost if self.aim.wanted else add(cost, dict.fromkeys(self.worths, -1))

    def chosen(self, clock: Clock) -> Chosen | None:
        """Go on until the best shelf is proved, or time is out."""
        if self.aim.wanted:
            wanted = self.aim.wanted * self.aim.waiting
            self.levels.row(dict.fromkeys(self.worths, 1), wanted, None)
        self._learn({c: Fraction(n) for c, n in self.most.items()}, clock, whole=True)
        packs = self._relaxed(clock)
        self._climb([Fraction(ceil(pack)) for pack in packs], clock)
        self._lower(clock)
        self._search(clock)
        self._lower(clock)
        if self.best is None:
            return None
        return replace(self.best, at_least=min(self.bound, self.best.cost), worth=self.worth)

    def _search(self, clock: Clock) -> None:
        """Whole levels: first for their bound, then asking for more until jobs enough are built.

        The bounds let jobs be built in halves. Where too few come out whole, as many more are
        asked for as lack.
        """
        packs: list[Fraction] = []
        while clock.left > 0 and not self._closed():
            found = self.levels.least(clock, whole=True)
            if found is None:
                return
            again, before = packs, self.bound
            packs, bound = found
            if self.asked == self.aim.wanted:
                self.bound = max(self.bound, bound + self._waiting)
            self._learn(self._levels(packs), clock, whole=True)
            if self.built >= self.aim.wanted and (packs == again or self.asked > self.aim.wanted):
                return
            if self.bound - before <= self.bound * NEARER and not self._ask_more():
                return

    def _climb(self, packs: list[Fraction], clock: Clock) -> None:
        """Try rounded levels, and a pack more of every size until enough jobs are built."""
        for _ in range(CLIMB):
            self._try(self._levels(packs), clock)
            if self.built >= self.aim.wanted or clock.left <= 0:
                return
            packs = [pack + 1 for pack in packs]

    def _try(self, levels: dict[int, Fraction], clock: Clock) -> None:
        """Build the jobs from a shelf, and take no bounds from it."""
        flows = [flow for _, flow in self.prices.at(levels, clock.left)]
        self._consider({choice: int(level) for choice, level in levels.items()}, flows)

    def _lower(self, clock: Clock) -> None:
        """Try the best shelf with a pack less of each size, the dearest first."""
        for choice in sorted(self.packs, key=lambda one: -self.offers[one].price):
            if self.best is None or clock.left <= 0 or self._closed():
                return
            pack = self.offers[choice].sold_in
            fewer = {**self.best.levels, choice: self.best.levels.get(choice, 0) - pack}
            if fewer[choice] >= 0 and self.aim.wanted:
                self._try({c: Fraction(fewer.get(c, 0)) for c in self.packs}, clock)

    def _relaxed(self, clock: Clock) -> list[Fraction]:
        """Draw the rows near the answer by levels that are no whole numbers.

        Prices are asked for half-way between the program's levels and those asked for before: at
        the program's own, which leap from corner to corner, it took twice as many rounds.
        """
        asked = packs = self._begin()
        before = -1
        while clock.left > 0 and self.bound - before > self.bound * NEARER:
            before = self.bound
            for _ in range(ROUNDS):
                self._learn(self._levels(asked), clock, whole=False)
                found = self.levels.least(clock, whole=False)
                if found is None:
                    return asked
                packs, bound = found
                self.bound = max(self.bound, bound + self._waiting)
                asked = [(one + other) / 2 for one, other in zip(packs, asked, strict=True)]
        self.worth = self.levels.rise(FINE) if self.aim.wanted else 0
        return packs

    def _closed(self) -> bool:
        return self.best is not None and self.best.cost - self.bound <= self.best.cost * CLOSE

    @property
    def _waiting(self) -> int:
        """What the small program leaves out: the cost of all jobs, were none built."""
        return 0 if self.aim.wanted else self.able * self.aim.waiting

    def _ask_more(self) -> bool:
        """Ask for as many jobs more as could not be built; False where that is no help."""
        if not self.aim.wanted or self.built >= self.aim.wanted:
            return not self.aim.wanted
        self.asked += self.aim.wanted - self.built
        self.levels.row(dict.fromkeys(self.worths, 1), self.asked * self.aim.waiting, None)
        return self.asked <= self.able

    def _begin(self) -> list[Fraction]:
        """What the jobs would draw on the average, each by its first draws."""
        drawn: dict[int, int] = {}
        for scenario in self.scenarios:
            for kind, jobs in scenario:
                for ways in self.drums[kind] if all(self.drums[kind]) else ():
                    for choice, count in ways[0].parts:
                        drawn[choice] = drawn.get(choice, 0) + jobs * count
        times = len(self.scenarios)
        return [
            Fraction(drawn.get(choice, 0), times * self.offers[choice].sold_in)
            for choice in self.packs
        ]

    def _levels(self, packs: list[Fraction]) -> dict[int, Fraction]:
        return {
            choice: packs[nth] * self.offers[choice].sold_in for choice, nth in self.packs.items()
        }

    def _learn(self, levels: dict[int, Fraction], clock: Clock, *, whole: bool) -> None:
        """Take the bounds at a shelf into the program, and the shelf itself if it is better."""
        bounds, flows = [], []
        found = self.prices.at(levels, clock.left)
        for scenario, (prices, flow) in zip(self.scenarios, found, strict=True):
            bounds.append(bound_of(scenario, self.drums, prices, self.aim.waiting, self.keeping))
            flows.append(flow)
        for worth, group in zip(self.worths, self.groups, strict=True):
            self._bound([bounds[nth] for nth in group], worth)
        if whole:
            self._consider({choice: int(level) for choice, level in levels.items()}, flows)

    def _bound(self, bounds: list[Bound], worth: int) -> None:
        row: Expression = {worth: 1}
        for bound in bounds:
            for choice, price in bound.prices.items():
                pack = self.packs[choice]
                row[pack] = row.get(pack, 0) - price * self.offers[choice].sold_in
        self.levels.row(row, None, sum(bound.least for bound in bounds))

    def _consider(self, levels: dict[int, int], flows: list[Flows]) -> None:
        """Build the jobs from a shelf, and keep it if it does as asked and costs less."""
        served, cost = tried(self.aim, self.scenarios, self.drums, self.offers, levels, flows)
        self.built = served
        if served >= self.aim.wanted and (self.best is None or cost < self.best.cost):
            self.best = Chosen({c: n for c, n in levels.items() if n}, cost, 0, served)


def _most(scenarios: Sequence[Scenario], drums: Sequence[Drum]) -> Counter[int]:
    """No shelf needs more of a choice than this: what the jobs of one scenario could draw of it."""
    most: Counter[int] = Counter()
    each = [most_of(drum) if all(drum) else Counter[int]() for drum in drums]
    for scenario in scenarios:
        total: Counter[int] = Counter()
        for kind, jobs in scenario:
            total.update({choice: jobs * count for choice, count in each[kind].items()})
        most |= total
    return most
