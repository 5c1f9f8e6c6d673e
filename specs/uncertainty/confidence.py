"""Limits that a figure estimated from few values lies between, in 95 of 100 cases.

    mean: m +- t * s / sqrt(n)        spread: s * sqrt((n - 1) / q) for both ends q of chi-square

for values that lie about a mean as a normal does (JCGM 100:2008, 4.2 and G.3; NIST/SEMATECH
e-Handbook, 1.3.5.2). Quantiles and intervals are scipy's, which is loaded when the first is asked
for.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate with the limits it lies between in 95 of 100 cases."""

    figure: float
    low: float
    high: float


def student(freedom: int, level: float = LEVEL) -> float:
    """How far from zero a variable of Student's distribution stays with a probability.

    freedom: degrees of freedom, 1 or more. level: the probability, two-sided.
    """
    from scipy.special import stdtrit

    return float(stdtrit(freedom, (1 + level) / 2))


def chi_square(probability: float, freedom: int) -> float:
    """The quantile of a chi-square variable with so many degrees of freedom."""
    from scipy.special import chdtri

    return float(chdtri(freedom, 1 - probability))


def mean_limits(mean: float, spread: float, count: int) -> Interval:
    """The limits of a mean of `count` values (two or more) with the standard deviation `spread`."""
    away = student(count - 1) * spread / sqrt(count)
    return Interval(mean, mean - away, mean + away)


def spread_limits(spread: float, count: int) -> Interval:
    """The limits of the standard deviation `spread` of `count` values, two or more."""
    freedom = count - 1
    low, high = (
        spread * sqrt(freedom / chi_square(share, freedom))
        for share in ((1 + LEVEL) / 2, (1 - LEVEL) / 2)
    )
    return Interval(spread, low, high)


def ratio(pairs: Sequence[tuple[int, int]]) -> Interval:
    """The ratio of two sums over independent repetitions, by the ratio estimator.

    pairs: part and whole of each repetition, two or more. What varies is each repetition's
    deviation from the common ratio (Cochran, Sampling Techniques, 1977, 6.3).
    """
    parts, wholes = (sum(column) for column in zip(*pairs, strict=True))
    if not wholes:
        return Interval(1.0, 1.0, 1.0)
    figure = parts / wholes
    number = len(pairs)
    off = [part - figure * whole for part, whole in pairs]
    half = student(number - 1) * stdev(off) / sqrt(number) / (wholes / number)
    return Interval(figure, max(0.0, figure - half), min(1.0, figure + half))


def one_sided(figures: Sequence[float], *, upper: bool) -> float:
    """The limit that the mean of independent repetitions does not pass in 95 of 100 cases."""
    half = student(len(figures) - 1, 2 * LEVEL - 1) * stdev(figures) / sqrt(len(figures))
    return fmean(figures) + (half if upper else -half)


def counted(some: int, of: int) -> Interval:
    """A share counted on independent things, with Wilson's interval (1927).

    Of nothing counted nothing is known: from 0 to 1.
    """
    if not of:
        return Interval(0.0, 0.0, 1.0)
    from scipy.stats import binomtest

    found = binomtest(some, of).proportion_ci(LEVEL, "wilson")
    return Interval(some / of, float(found.low), float(found.high))
