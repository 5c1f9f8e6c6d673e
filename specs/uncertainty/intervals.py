"""Confidence intervals: how far a figure out of a simulation or a count may be off."""

from __future__ import annotations

from math import sqrt
from statistics import NormalDist, fmean, stdev
from typing import TYPE_CHECKING

from specs.uncertainty.confidence import Between, student

if TYPE_CHECKING:
    from collections.abc import Sequence

SURE = 0.95


def ratio(pairs: Sequence[tuple[int, int]]) -> Between:
    """The ratio of two sums over independent repetitions.

    By the ratio estimator: the repetitions' deviations from the common ratio are what varies.
    """
    parts, wholes = (sum(column) for column in zip(*pairs, strict=True))
    if not wholes:
        return Between(1.0, 1.0, 1.0)
    figure = parts / wholes
    number = len(pairs)
    off = [part - figure * whole for part, whole in pairs]
    half = student(number - 1, SURE) * stdev(off) / sqrt(number) / (wholes / number)
    return Between(figure, max(0.0, figure - half), min(1.0, figure + half))


def one_sided(figures: Sequence[float], *, upper: bool) -> float:
    """The end of the mean of independent repetitions that it does not pass, at SURE."""
    half = student(len(figures) - 1, 2 * SURE - 1) * stdev(figures) / sqrt(len(figures))
    return fmean(figures) + (half if upper else -half)


def counted(some: int, of: int) -> Between:
    """A share counted on independent things: Wilson's interval (score test of a proportion)."""
    if not of:
        return Between(0.0, 0.0, 1.0)
    z, share = NormalDist().inv_cdf((1 + SURE) / 2), some / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return Between(share, max(0.0, middle - half), min(1.0, middle + half))
