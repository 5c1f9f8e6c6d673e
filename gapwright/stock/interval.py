"""Confidence intervals: how far a figure out of a simulation or a count may be off."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist, fmean, stdev
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

SURE = 0.95


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure, and the ends between which the true one lies with the confidence asked for."""

    figure: float
    low: float
    high: float


def student(sure: float, freedom: int) -> float:
    """The two-sided quantile of Student's t by its expansion around the normal one.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5: off by less than 0.001 from
    nine degrees of freedom on.
    """
    x = NormalDist().inv_cdf((1 + sure) / 2)
    terms: tuple[float, ...] = (
        x,
        (x**3 + x) / 4,
        (5 * x**5 + 16 * x**3 + 3 * x) / 96,
        (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / 384,
        (79 * x**9 + 776 * x**7 + 1482 * x**5 - 1920 * x**3 - 945 * x) / 92160,
    )
    return sum((term / float(freedom**nth) for nth, term in enumerate(terms)), 0.0)


def ratio(pairs: Sequence[tuple[int, int]]) -> Interval:
    """The ratio of two sums over independent repetitions.

    By the ratio estimator: the repetitions' deviations from the common ratio are what varies.
    """
    parts, wholes = (sum(column) for column in zip(*pairs, strict=True))
    if not wholes:
        return Interval(1.0, 1.0, 1.0)
    figure = parts / wholes
    number = len(pairs)
    off = [part - figure * whole for part, whole in pairs]
    half = student(SURE, number - 1) * stdev(off) / sqrt(number) / (wholes / number)
    return Interval(figure, max(0.0, figure - half), min(1.0, figure + half))


def mean(figures: Sequence[float]) -> Interval:
    """The mean of independent repetitions."""
    figure, number = fmean(figures), len(figures)
    half = student(SURE, number - 1) * stdev(figures) / sqrt(number)
    return Interval(figure, figure - half, figure + half)


def one_sided(figures: Sequence[float], *, upper: bool) -> float:
    """The end of the mean of independent repetitions that it does not pass, at SURE."""
    half = student(2 * SURE - 1, len(figures) - 1) * stdev(figures) / sqrt(len(figures))
    return fmean(figures) + (half if upper else -half)


def counted(some: int, of: int) -> Interval:
    """A share counted on independent things: Wilson's interval (score test of a proportion)."""
    if not of:
        return Interval(0.0, 0.0, 1.0)
    z, share = NormalDist().inv_cdf((1 + SURE) / 2), some / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return Interval(share, max(0.0, middle - half), min(1.0, middle + half))
