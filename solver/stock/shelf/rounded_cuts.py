"""Jobs are whole: a bound on those of a scenario is a stair over a sum of packs.

Where every job takes five steels, of a scenario no more jobs are built than a fifth of all steels:
with 64 of them not 12.8 but 12. A sum over a thousand scenarios does not show that, though most of
them climb at the same few totals. So a search for the cheapest shelf is parted at such a total:
below it every stair is cut off at a whole job, and above it the shelf holds so many packs.
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
"""A sum of packs: columns and their factors, which have no common divisor."""
Ranges = dict[Total, tuple[int, int]]
"""Between which whole numbers some totals lie."""
NEAR = Fraction(1, 10_000)  # of a job or a pack: nearer to a whole one it is one


@dataclass(frozen=True, slots=True)
class JobWorth:
    """What a job built is worth."""

    least: int
    more: int
    """What the parts it takes may save besides."""

    def most(self, jobs: int) -> int:
        """What so many jobs are worth at most."""
        return jobs * (self.least + self.more)

    def number(self, worth: Fraction | int) -> int:
        """How many whole jobs there are at most in what is worth so much."""
        return floor(worth / self.least + NEAR)


@dataclass(frozen=True, slots=True)
class RoundedCut:
    """What the jobs of a scenario are worth at most: so much, and so much more by a total."""

    scenario: int
    foot: int
    rise: int
    total: Total

    def next(self, worth: int) -> int:
        """The least total that allows for so much."""
        return -(-(worth - self.foot) // self.rise)


def stair_of(scenario: int, foot: int, prices: Mapping[int, int]) -> RoundedCut:
    """Make a stair of prices of packs."""
    rise = gcd(*prices.values())
    total = tuple((pack, price // rise) for pack, price in sorted(prices.items()))
    return RoundedCut(scenario, foot, rise, total)


def sum_of(total: Total, packs: Sequence[Fraction]) -> Fraction:
    """What a total comes to."""
    return sum((packs[pack] * factor for pack, factor in total), start=Fraction(0))


class RoundedCuts:
    """All that are known of some scenarios; whole numbers all of them."""

    def __init__(self, job: JobWorth, able: Sequence[int], most: Sequence[int]) -> None:
        """How many jobs each scenario has, and of each pack how many there are at most."""
        self.job, self.able, self.most = job, able, most
        self.known: dict[RoundedCut, None] = {}
        self.totals: dict[Total, int] = {}
        self._arrays: _Arrays | None = None

    def add(self, stair: RoundedCut) -> bool:
        """Whether it was not known."""
        if stair in self.known:
            return False
        self.known[stair] = self._arrays = None
        self.totals.setdefault(stair.total, len(self.totals))
        return True

    def highest(self, total: Total, ranges: Ranges) -> int:
        """The most that a total comes to within some ranges."""
        packs = self._packs(ranges)
        most = sum(factor * packs[pack] for pack, factor in total)
        return min(most, ranges.get(total, (0, most))[1])

    def _packs(self, ranges: Ranges) -> list[int]:
        """The most packs of each choice within some ranges."""
        return [ranges.get(((pack, 1),), (0, most))[1] for pack, most in enumerate(self.most)]

    def worths(self, ranges: Ranges) -> list[int]:
        """What the whole jobs of each scenario are worth at most within some ranges."""
        return [int(worth) for worth in self._all().worths(self._packs(ranges), ranges)]

    def worth(self, packs: Sequence[int]) -> int:
        """What the whole jobs of all scenarios are worth at most with so many packs."""
        return sum(map(int, self._all().worths(packs, {})))

    def _all(self) -> _Arrays:
        self._arrays = self._arrays or _Arrays(self)
        return self._arrays

    def parted(
        self, packs: Sequence[Fraction], worths: Sequence[Fraction]
    ) -> tuple[Total, int] | None:
        """The total, and the least of its upper part, at which most halves of jobs are lost.

        Where no job is halved, a pack that is; None where all are whole.
        """
        job, totals = self.job, {total: sum_of(total, packs) for total in self.totals}
        lost: defaultdict[tuple[Total, int], Fraction] = defaultdict(Fraction)
        for stair in self.known:
            worth = worths[stair.scenario]
            half = worth - job.most(job.number(worth))
            at = stair.foot + stair.rise * totals[stair.total]
            if half > NEAR * job.least and stair.rise and at <= worth + NEAR * job.least:
                lost[stair.total, stair.next((job.number(worth) + 1) * job.least)] += half
        if lost:
            return max(lost, key=lambda one: (lost[one], one))
        part, pack = max((abs(number - round(number)), pack) for pack, number in enumerate(packs))
        return (((pack, 1),), floor(packs[pack]) + 1) if part > NEAR else None


class _Arrays:
    """The stairs as arrays of whole numbers, for looking at many shelves."""

    def __init__(self, stairs: RoundedCuts) -> None:
        import numpy as np

        self._np: Any = np
        self._job, self._numbers = stairs.job, stairs.totals
        self._able = np.array(stairs.able, dtype=np.int64)
        self._factors = np.zeros((len(stairs.totals), len(stairs.most)), dtype=np.int64)
        for total, number in stairs.totals.items():
            for pack, factor in total:
                self._factors[number, pack] = factor
        told = [(s.scenario, s.foot, s.rise, stairs.totals[s.total]) for s in stairs.known]
        columns = np.array(told, dtype=np.int64).reshape(-1, 4).T
        self._scenario, self._foot, self._rise, self._total = columns

    def worths(self, packs: Sequence[int], ranges: Ranges) -> Any:  # noqa: ANN401 - an array
        """What the jobs of each scenario are worth at most: their lowest stair, and that whole."""
        np, job = self._np, self._job
        highest = self._factors @ np.array(packs, dtype=np.int64)
        for total, (_, high) in ranges.items():
            if total in self._numbers:
                number = self._numbers[total]
                highest[number] = min(int(highest[number]), high)
        worths = job.most(1) * self._able
        np.minimum.at(worths, self._scenario, self._foot + self._rise * highest[self._total])
        return np.minimum(worths, job.most(1) * (worths // job.least))
