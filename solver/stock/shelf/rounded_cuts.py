"""Rounds the Benders cuts of scenarios down to whole jobs, and finds sums of packs to branch on.

A cut bounds the worth of a scenario's jobs linearly in a sum of packs. Jobs are built whole or not
at all, so the cut may be rounded down to whole jobs at every stock level. Where every job takes
five steels, a scenario has no more jobs than a fifth of all steels: with 64 of them 12, not 12.8.
The sum over a thousand scenarios hides this, though most of their cuts pass a whole job at the same
few totals. So the search for the cheapest shelf branches at such a total: below it every cut is
rounded down to a whole job, and above it the shelf holds at least so many packs.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from math import floor, gcd
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Total = tuple[tuple[int, int], ...]
"""A sum of packs: columns with their coefficients, which have no common divisor."""
Ranges = dict[Total, tuple[int, int]]
"""For some totals, their lowest and highest value, both whole."""
NEAR = Fraction(1, 10_000)  # of a job or a pack: nearer to a whole number it counts as whole


@dataclass(frozen=True, slots=True)
class JobWorth:
    """The worth of a job that is built."""

    least: int
    more: int
    """The most that its parts may save besides, in costs of keeping."""

    def most(self, jobs: int) -> int:
        """Return an upper bound on the worth of so many jobs."""
        return jobs * (self.least + self.more)

    def number(self, worth: Fraction | int) -> int:
        """Return the most whole jobs that a worth allows."""
        return floor(worth / self.least + NEAR)


@dataclass(frozen=True, slots=True)
class RoundedCut:
    """A cut of one scenario: its jobs are worth at most `foot` plus `rise` times a total."""

    scenario: int
    foot: int
    rise: int
    total: Total

    def next(self, worth: int) -> int:
        """Return the least total for which the cut allows a worth."""
        return -(-(worth - self.foot) // self.rise)


def rounded_cut(scenario: int, foot: int, prices: Mapping[int, int]) -> RoundedCut:
    """Make the cut of one scenario from the dual prices of packs.

    Parameters
    ----------
    scenario
        The scenario's index.
    foot
        The constant of the bound: the worth of the jobs without the price of the packs.
    prices
        For each column of packs, the dual price of a pack.
    """
    rise = gcd(*prices.values())
    total = tuple((pack, price // rise) for pack, price in sorted(prices.items()))
    return RoundedCut(scenario, foot, rise, total)


def sum_of(total: Total, packs: Sequence[Fraction]) -> Fraction:
    """Return the value of a total for the given packs."""
    return sum((packs[pack] * factor for pack, factor in total), start=Fraction(0))


class RoundedCuts:
    """The cuts of all scenarios, in integers."""

    def __init__(self, job: JobWorth, able: Sequence[int], most: Sequence[int]) -> None:
        """Start without cuts.

        Parameters
        ----------
        job
            The worth of a job.
        able
            For each scenario, the number of jobs that some sizes could serve.
        most
            For each column of packs, the most packs that a shelf needs.
        """
        self.job, self.able, self.most = job, able, most
        self.known: dict[RoundedCut, None] = {}
        self.totals: dict[Total, int] = {}
        self._arrays: _Arrays | None = None

    def add(self, cut: RoundedCut) -> bool:
        """Add a cut, and return whether it is new."""
        if cut in self.known:
            return False
        self.known[cut] = self._arrays = None
        self.totals.setdefault(cut.total, len(self.totals))
        return True

    def highest(self, total: Total, ranges: Ranges) -> int:
        """Return the highest value of a total within some ranges."""
        packs = self._packs(ranges)
        most = sum(factor * packs[pack] for pack, factor in total)
        return min(most, ranges.get(total, (0, most))[1])

    def _packs(self, ranges: Ranges) -> list[int]:
        """Return the most packs of each choice within some ranges."""
        return [ranges.get(((pack, 1),), (0, most))[1] for pack, most in enumerate(self.most)]

    def worths(self, ranges: Ranges) -> list[int]:
        """Return for each scenario the most that its whole jobs are worth within some ranges."""
        return [int(worth) for worth in self._all().worths(self._packs(ranges), ranges)]

    def worth(self, packs: Sequence[int]) -> int:
        """Return the most that the whole jobs of all scenarios are worth with the given packs."""
        return sum(map(int, self._all().worths(packs, {})))

    def _all(self) -> _Arrays:
        self._arrays = self._arrays or _Arrays(self)
        return self._arrays

    def parted(
        self, packs: Sequence[Fraction], worths: Sequence[Fraction]
    ) -> tuple[Total, int] | None:
        """Choose the total to branch on, and the lowest value of its upper part.

        It is the one at which rounding the cuts down takes away most of the half jobs. Where there
        are no half jobs, it is the column whose packs are furthest from whole.

        Parameters
        ----------
        packs
            For each column, the packs of the master's optimum.
        worths
            For each scenario, the worth of its jobs in that optimum.

        Returns
        -------
        tuple of Total and int, or None
            None where all packs are whole too.
        """
        job, totals = self.job, {total: sum_of(total, packs) for total in self.totals}
        lost: defaultdict[tuple[Total, int], Fraction] = defaultdict(Fraction)
        for cut in self.known:
            worth = worths[cut.scenario]
            half = worth - job.most(job.number(worth))
            at = cut.foot + cut.rise * totals[cut.total]
            if half > NEAR * job.least and cut.rise and at <= worth + NEAR * job.least:
                lost[cut.total, cut.next((job.number(worth) + 1) * job.least)] += half
        if lost:
            return max(lost, key=lambda one: (lost[one], one))
        part, pack = max((abs(number - round(number)), pack) for pack, number in enumerate(packs))
        return (((pack, 1),), floor(packs[pack]) + 1) if part > NEAR else None


class _Arrays:
    """The cuts as arrays of integers, to bound many shelves quickly."""

    def __init__(self, cuts: RoundedCuts) -> None:
        import numpy as np

        self._np: Any = np
        self._job, self._numbers = cuts.job, cuts.totals
        self._able = np.array(cuts.able, dtype=np.int64)
        self._factors = np.zeros((len(cuts.totals), len(cuts.most)), dtype=np.int64)
        for total, number in cuts.totals.items():
            for pack, factor in total:
                self._factors[number, pack] = factor
        rows = [(s.scenario, s.foot, s.rise, cuts.totals[s.total]) for s in cuts.known]
        columns = np.array(rows, dtype=np.int64).reshape(-1, 4).T
        self._scenario, self._foot, self._rise, self._total = columns

    def worths(self, packs: Sequence[int], ranges: Ranges) -> Any:  # noqa: ANN401 - an array
        """Return for each scenario its lowest cut, rounded down to whole jobs."""
        np, job = self._np, self._job
        highest = self._factors @ np.array(packs, dtype=np.int64)
        for total, (_, high) in ranges.items():
            if total in self._numbers:
                number = self._numbers[total]
                highest[number] = min(int(highest[number]), high)
        worths = job.most(1) * self._able
        np.minimum.at(worths, self._scenario, self._foot + self._rise * highest[self._total])
        return np.minimum(worths, job.most(1) * (worths // job.least))
