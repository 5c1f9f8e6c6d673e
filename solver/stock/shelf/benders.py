"""Finds the cheapest shelf over scenarios, each with all of its jobs in view.

Benders' decomposition: the master problem over the stock levels (master.py) proposes a shelf, which
may hold parts of packs. Dual prices of its parts (dual_prices.py) give a bound in integers
(dual_bounds.py), and each bound is a cut of the master, until the master's bound hardly rises.
Branching follows where the cuts allow half jobs (rounded_cuts.py). It ends when no shelf can be
much cheaper than the best of those for which jobs were built one by one (job_cycle.py).

`rounded` looks for whole packs near those of the master, as cheap as the known bounds allow. It
builds no jobs. So a shelf it returns may still fail to serve enough of them; building the jobs for
it then adds cuts, and the search for whole packs is repeated.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from heapq import heappop, heappush
from itertools import count, pairwise, product
from math import ceil
from typing import TYPE_CHECKING

from solver.engines.limits import Clock
from solver.stock.shelf.bounds import KnownBounds
from solver.stock.shelf.demand import able_in
from solver.stock.shelf.dual_bounds import NEVER
from solver.stock.shelf.master import OutOfTimeError
from solver.stock.shelf.objective import Chosen

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from solver.stock.demand_patterns import Drum
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import Scenario
    from solver.stock.shelf.master import Least
    from solver.stock.shelf.objective import Aim
    from solver.stock.shelf.rounded_cuts import Ranges, Total

CLOSE = Fraction(1, 200)  # of the cost: the search ends where its bound is nearer
NEARER = Fraction(1, 2000)  # of the bound: less than this gained in a round is little
ROUNDS = 4  # of little gain before the search branches
TRIES = 20  # to round the packs of one part


def cheapest_shelf(
    scenarios: Sequence[Scenario],
    drums: Sequence[Drum],
    offers: Mapping[int, Offer],
    aim: Aim,
    clock: Clock,
) -> Chosen | None:
    """Choose the cheapest stock levels of a shelf over scenarios of a period.

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
    clock
        The time that is left.

    Returns
    -------
    Chosen, or None
        None where no shelf was found in time, or none meets the aim.

    Notes
    -----
    Benders' decomposition (J. F. Benders, 1962), a cut for each scenario, rounded to whole jobs.
    """
    if not able_in(scenarios, drums):
        return None if aim.wanted else Chosen({}, 0, 0, 0)
    return chosen(KnownBounds(scenarios, drums, offers, aim), clock)


def chosen(known: KnownBounds, clock: Clock) -> Chosen | None:
    """Choose the cheapest shelf, starting from bounds that are known already.

    Parameters
    ----------
    known
        The scenarios with their cuts, and the best shelf so far.
    clock
        The time that is left.

    Returns
    -------
    Chosen, or None
        None where no shelf was found in time, or none meets the aim.
    """
    choosing = _Choosing(known, clock)
    known.consider(known.most, clock)
    with suppress(OutOfTimeError):
        choosing.settle()
    if known.best is None:
        return None
    bound = min(choosing.bound, known.best.cost)
    return replace(known.best, at_least=bound, dual=choosing.dual)


@dataclass(frozen=True, slots=True)
class _Part:
    """The shelves within some ranges, and the master's optimum over them."""

    ranges: Ranges
    least: Least


class _Choosing:
    """Searches for the cheapest shelf by branch and bound."""

    def __init__(self, known: KnownBounds, clock: Clock) -> None:
        self.known, self.clock = known, clock
        self.bound = self.dual = 0

    def settle(self) -> None:
        """Solve the root, which gives a bound and a shelf near it, and then branch.

        Raises OutOfTimeError where the search has to end before the bound is close.
        """
        half = Clock(replace(self.clock.limits, seconds=self.clock.left / 2))  # then branch
        every = self._settled({}, 0, half, ROUNDS)
        if every is not None:
            self.bound, self.dual = every.least.bound, self.known.dual()
            self._round(every.least.packs)
            self._search(every)

    def _search(self, every: _Part) -> None:
        """Branch repeatedly on the part with the lowest bound."""
        order, passed = count(), NEVER
        parts = [(every.least.bound, next(order), every)]
        while parts and self.clock.left and not self._closed():
            bound, _, part = heappop(parts)
            self._round(part.least.packs)
            smaller = self._parted(part)
            for ranges in smaller:
                settled = self._settled(ranges, bound, self.clock)
                if settled is not None and settled.least.bound < self._cheapest:
                    heappush(parts, (settled.least.bound, next(order), settled))
            if not smaller and bound < self._cheapest:
                passed = min(passed, bound)  # one shelf: it builds fewer jobs than bounded
            least = min(parts[0][0] if parts else self._cheapest, passed)
            self.bound = max(self.bound, least)

    def _parted(self, part: _Part) -> list[Ranges]:
        """Split a part at a total: the ranges below it, and those from it on.

        Where all packs are whole, split around the part's shelf instead; empty where that is its
        only one.
        """
        at = self.known.cuts.parted(part.least.packs, part.least.worths)
        if at is not None:
            return self._cut(part.ranges, *at)
        for nth, pack in enumerate(map(int, part.least.packs)):
            ranges = self._cut(part.ranges, ((nth, 1),), pack, pack + 1)
            if len(ranges) > 1:
                return ranges
        return []

    def _cut(self, ranges: Ranges, total: Total, *at: int) -> list[Ranges]:
        """Split ranges at some values of a total: below each, and from it on."""
        low, high = ranges.get(total, (0, self.known.cuts.highest(total, ranges)))
        return [
            {**ranges, total: (least, end - 1)}
            for least, end in pairwise((low, *at, high + 1))
            if least < end
        ]

    def _settled(self, ranges: Ranges, bound: int, clock: Clock, rounds: int = 1) -> _Part | None:
        """Add cuts for the cheapest shelf within some ranges until the master's bound hardly rises.

        Prices are taken half-way between the master's levels and those asked for before. At the
        master's own levels, which leap from vertex to vertex, it took twice as many rounds. None
        where no shelf within the ranges meets the aim; raises OutOfTimeError.
        """
        asked: list[Fraction] = []
        idle = 0
        while True:
            found = self.known.least(ranges, self.clock)
            if found is None:
                return None
            idle = idle + 1 if found.bound - bound <= bound * NEARER else 0
            bound = max(bound, found.bound)
            whole = all(pack.denominator == 1 for pack in found.packs)
            enough = asked == found.packs or (idle >= rounds and not whole)
            if asked and (enough or not clock.left):
                return _Part(ranges, replace(found, bound=bound))
            between = zip(found.packs, asked or found.packs, strict=True)
            asked = found.packs if whole else [(one + other) / 2 for one, other in between]
            if whole:
                self.known.consider(self.known.shelf(map(int, asked)), clock)
            else:
                self.known.add_cuts(asked, clock)

    def _round(self, packs: Sequence[Fraction]) -> None:
        """Build jobs for whole packs near the given ones, and repeat with the cuts this adds."""
        known, tried = self.known, set[tuple[int, ...]]()
        for _ in range(TRIES):
            near = rounded(known, packs, self.clock)
            dear = known.at_least(near)[1] >= self._cheapest
            if self._closed() or tuple(near) in tried or dear:
                return
            tried.add(tuple(near))
            known.consider(known.shelf(near), self.clock)

    @property
    def _cheapest(self) -> int:
        """The cost of the best shelf so far."""
        return NEVER if self.known.best is None else self.known.best.cost

    def _closed(self) -> bool:
        return self._cheapest - self.bound <= self._cheapest * CLOSE


def rounded(known: KnownBounds, packs: Sequence[Fraction], clock: Clock) -> list[int]:
    """Round the packs of a shelf to whole packs, as cheaply as the known bounds allow.

    From the packs rounded up, the search adds packs until enough jobs are possible. Then it
    improves the shelf by steps of one pack more, one less, or one exchanged for another.

    Parameters
    ----------
    known
        The bounds over the scenarios.
    packs
        For each choice, the packs of the master's optimum; they may be fractional.
    clock
        The time that is left.

    Returns
    -------
    list of int
        For each choice, the number of packs.
    """
    found = [min(ceil(pack), most) for pack, most in zip(packs, known.cuts.most, strict=True)]
    while known.at_least(found)[0] and found != [*known.cuts.most]:
        found = _more(known, found)
    while clock.left:
        at = known.at_least(found)
        better = next((one for one in _near(known, found) if known.at_least(one) < at), None)
        if better is None:
            break
        found = better
    return found


def _more(known: KnownBounds, packs: Sequence[int]) -> list[int]:
    """Add one pack where it helps most jobs; one of every choice where no single pack helps."""
    lacking, _ = known.at_least(packs)
    ways = [
        _changed(packs, {nth: 1}) for nth, most in enumerate(known.cuts.most) if packs[nth] < most
    ]
    best = min(ways, key=known.at_least)
    if known.at_least(best)[0] < lacking:
        return best
    return [min(pack + 1, most) for pack, most in zip(packs, known.cuts.most, strict=True)]


def _near(known: KnownBounds, packs: Sequence[int]) -> Iterator[list[int]]:
    """Yield the packs one step away, those that save most first."""
    dearest = sorted(range(len(packs)), key=lambda nth: -known.costs[nth])
    some = [nth for nth in dearest if packs[nth]]
    free = [nth for nth in reversed(dearest) if packs[nth] < known.cuts.most[nth]]
    for nth in some:
        yield _changed(packs, {nth: -1})
    for nth, other in product(some, free):
        if known.costs[other] < known.costs[nth]:
            yield _changed(packs, {nth: -1, other: 1})


def _changed(packs: Sequence[int], by: dict[int, int]) -> list[int]:
    return [pack + by.get(nth, 0) for nth, pack in enumerate(packs)]
