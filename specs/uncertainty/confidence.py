"""What few values tell of a mean and a spread: 95 % limits by Student's and the chi-square curve.

    mean: m +- t * s / sqrt(n)        spread: s * sqrt((n - 1) / q) for both ends q of chi-square

for values that lie about a mean as a normal does (JCGM 100:2008, 4.2 and G.3; NIST/SEMATECH
e-Handbook, 1.3.5.2). The curves are the finite sums for whole degrees of freedom of Abramowitz
and Stegun, 26.7.3, 26.7.4, 26.4.4 and 26.4.5, turned round by halving: a library for two figures
would weigh more than the rest of the tool.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, erfc, exp, lgamma, log, pi, sin, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

LEVEL = 0.95
HALVINGS = 64


@dataclass(frozen=True, slots=True)
class Between:
    """A figure with the limits it lies between in 95 of 100."""

    figure: float
    low: float
    high: float


def mean_limits(mean: float, spread: float, count: int) -> Between:
    """The mean of so many values (two or more) with its limits."""
    away = student(count - 1) * spread / sqrt(count)
    return Between(mean, mean - away, mean + away)


def spread_limits(spread: float, count: int) -> Between:
    """The standard deviation of so many values (two or more) with its limits."""
    freedom = count - 1
    low, high = (
        spread * sqrt(freedom / chi_square(share, freedom))
        for share in ((1 + LEVEL) / 2, (1 - LEVEL) / 2)
    )
    return Between(spread, low, high)


def student(freedom: int, level: float = LEVEL) -> float:
    """How far from zero Student's variable stays in that share."""
    return _where(lambda t: _student_within(t, freedom), level)


def chi_square(share: float, freedom: int) -> float:
    """What a chi-square variable stays below in that share."""
    return _where(lambda x: 1 - _chi_square_above(x, freedom), share)


def _student_within(t: float, freedom: int) -> float:
    angle = atan(t / sqrt(freedom))
    odd = freedom % 2
    term = cos(angle) if odd else 1.0
    total = term if freedom > 1 else 0.0
    for nth in range(2 + odd, freedom - 1, 2):
        term *= cos(angle) ** 2 * (nth - 1) / nth
        total += term
    total *= sin(angle)
    return 2 / pi * (angle + total) if odd else total


def _chi_square_above(x: float, freedom: int) -> float:
    if x <= 0:
        return 1.0
    half = x / 2
    first = 0.5 if freedom % 2 else 0.0
    powers = (first + nth for nth in range(freedom // 2))
    terms = (exp(power * log(half) - half - lgamma(power + 1)) for power in powers)
    return sum(terms) + (erfc(sqrt(half)) if freedom % 2 else 0.0)


def _where(share_below: Callable[[float], float], share: float) -> float:
    """Where a curve that rises from nothing reaches a share, by halving."""
    low, high = 0.0, 1.0
    while share_below(high) < share:
        low, high = high, high * 2
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if share_below(middle) < share else (low, middle)
    return high
