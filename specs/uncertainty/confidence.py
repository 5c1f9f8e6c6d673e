"""Confidence limits of figures estimated from few values, at a level of 95 %.

The check of what a shop built uses them for each gauge and hand, the shelf and the kit for the
shares they promise. For n values that lie about a mean as a normal does, of mean m and standard
deviation s,

    mean: m +- t * s / sqrt(n)        spread: s * sqrt((n - 1) / q) for both ends q of chi-square

(JCGM 100:2008, 4.2 and G.3; NIST/SEMATECH e-Handbook, 1.3.5.2). scipy computes the quantiles and
intervals; it is imported when the first is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

LEVEL = 0.95
"""The confidence level of every interval here."""


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate with its confidence limits, in the unit of the estimate."""

    figure: float
    low: float
    high: float


def student(freedom: int, level: float = LEVEL) -> float:
    """Compute the two-sided quantile of Student's t distribution.

    Parameters
    ----------
    freedom
        The degrees of freedom, 1 or more.
    level
        The probability of a value between the negative and the positive quantile.

    Returns
    -------
    float
        The positive quantile t, so that P(-t <= T <= t) is `level`.
    """
    from scipy.special import stdtrit

    return float(stdtrit(freedom, (1 + level) / 2))


def chi_square(probability: float, freedom: int) -> float:
    """Compute the quantile of a chi-square distribution.

    Parameters
    ----------
    probability
        The probability of a value below the quantile, between 0 and 1.
    freedom
        The degrees of freedom, 1 or more.

    Returns
    -------
    float
        The quantile.
    """
    from scipy.special import chdtri

    return float(chdtri(freedom, 1 - probability))


def mean_limits(mean: float, spread: float, count: int) -> Interval:
    """Estimate the limits of a mean, for normal values (JCGM 100:2008, G.3).

    Parameters
    ----------
    mean, spread
        The mean and the standard deviation of the values, in one unit.
    count
        The number of values, two or more.

    Returns
    -------
    Interval
        The mean with its limits, in the same unit.
    """
    away = student(count - 1) * spread / sqrt(count)
    return Interval(mean, mean - away, mean + away)


def spread_limits(spread: float, count: int) -> Interval:
    """Estimate the limits of a standard deviation, for normal values (e-Handbook, 1.3.5.2).

    Parameters
    ----------
    spread
        The standard deviation of the values.
    count
        The number of values, two or more.

    Returns
    -------
    Interval
        The standard deviation with its limits, in the same unit.
    """
    freedom = count - 1
    low, high = (
        spread * sqrt(freedom / chi_square(share, freedom))
        for share in ((1 + LEVEL) / 2, (1 - LEVEL) / 2)
    )
    return Interval(spread, low, high)


def ratio(pairs: Sequence[tuple[int, int]]) -> Interval:
    """Estimate the ratio of two sums over independent repetitions, by the ratio estimator.

    Parameters
    ----------
    pairs
        The part and the whole of each repetition, such as jobs served and jobs; two or more pairs.

    Returns
    -------
    Interval
        The ratio with its limits, which are cut to 0 and 1; 1 for certain where every whole is 0.

    Notes
    -----
    The variance is that of each repetition's deviation from the common ratio (Cochran, Sampling
    Techniques, 1977, 6.3).
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
    """Compute a one-sided confidence limit of the mean of independent repetitions.

    Parameters
    ----------
    figures
        The figure of each repetition, two or more.
    upper
        Whether to compute the upper limit; else the lower one.

    Returns
    -------
    float
        The limit that the mean keeps to in 95 of 100 cases, in the unit of the figures.
    """
    half = student(len(figures) - 1, 2 * LEVEL - 1) * stdev(figures) / sqrt(len(figures))
    return fmean(figures) + (half if upper else -half)


def counted(some: int, of: int) -> Interval:
    """Estimate a share counted on independent things, with Wilson's interval (1927).

    Parameters
    ----------
    some, of
        How many things have the property, and how many were counted.

    Returns
    -------
    Interval
        The share with its limits; from 0 to 1 where nothing was counted.
    """
    if not of:
        return Interval(0.0, 0.0, 1.0)
    from scipy.stats import binomtest

    found = binomtest(some, of).proportion_ci(LEVEL, "wilson")
    return Interval(some / of, float(found.low), float(found.high))
