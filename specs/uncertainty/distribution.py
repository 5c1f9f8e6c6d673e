"""The chance that a sum of independent, symmetric doubts lies between two limits.

A sum S of normal and rectangular parts, of standard uncertainties s and half widths a, has the
characteristic function

    f(t) = exp(-(s t)^2 / 2) * product of sin(a t) / (a t)

and with it, on a period of 2T and for x up to T,

    P(|S| <= x) = x / T + 2 / pi * sum over k = 1, 2 ... of f(k pi / T) * sin(k pi x / T) / k

A triangular part is the sum of two rectangular ones of half its width. Each chance comes as two
bounds: the error made by the terms cut off, by what lies beyond T and by parts too small to be
worth terms is bounded and counted against it. Lengths come in exact; chances are floats.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, exp, floor, inf, log, pi, sin, sqrt
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from specs.values.lengths import Length

MILLION = 1_000_000
BEYOND = 1e-5  # chance left beyond the period
CUT = 1e-4  # chance left in the terms cut off
SMALL = 5e-5  # chance lost by leaving out small parts
ROUNDING = 1e-9  # of the floats themselves
MOST_TERMS = 50_000
KEPT = 256  # curves: the jobs of a batch often have the same doubts


Shape = Literal["rectangular", "triangular", "normal"]
PARTS: dict[str, int] = {"normal": 1, "rectangular": 3, "triangular": 6}
"""By which the square of each shape's size is divided to give its variance."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """The distribution of one error around zero: a shape and a size."""

    shape: Shape
    size: Length
    """The half width; for a normal, the standard uncertainty."""

    @property
    def variance(self) -> Fraction:
        """The variance, in square nanometres (JCGM 100:2008, 4.3.7 and 4.3.9)."""
        return self.size.nm**2 / PARTS[self.shape]


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance in millionths, between two bounds."""

    least: int
    most: int

    def __mul__(self, other: Chance) -> Chance:
        """Multiply the chances of two independent events; the bounds are rounded outwards."""
        return Chance(self.least * other.least // MILLION, -(-self.most * other.most // MILLION))


CERTAIN = Chance(MILLION, MILLION)


@dataclass(frozen=True, slots=True)
class Curve:
    """The distribution of a sum of doubts around zero, as a Fourier series, in nanometres.

    `curve_of` makes it once; each chance is then a sum over its weights.
    """

    reach: float
    """The sum never lies farther than this from zero; zero where nothing is in doubt."""
    period: float
    """The T of the formula above."""
    weights: tuple[float, ...]
    """The factor of each sine in the sum, from k = 1 on."""
    error: float
    """The bound on the error of a chance."""

    def between(self, low: Length | None, high: Length | None) -> Chance:
        """Compute the chance that the sum lies from `low` to `high`.

        Parameters
        ----------
        low, high
            The limits, measured from the sum's middle; None where that side is open.

        Returns
        -------
        Chance
            The bounds of the chance: certain where both limits lie at the reach or beyond it; none
            where nothing is in doubt and zero lies outside the limits.
        """
        ends = [end.nm * side for end, side in ((low, -1), (high, 1)) if end is not None]
        if not ends or (self.reach < inf and min(ends) >= self.reach):
            return CERTAIN
        if not self.reach:
            return Chance(0, 0)
        chance = (self._signed(high, 1) - self._signed(low, -1)) / 2
        least, most = chance - self.error, chance + self.error
        return Chance(
            floor(MILLION * max(least, 0.0)), min(MILLION, ceil(MILLION * max(most, 0.0)))
        )

    def _signed(self, end: Length | None, side: int) -> float:
        """Compute P(|S| <= |end|) with the sign of `end`; `side` where that end is open."""
        if end is None:
            return float(side)
        at = float(end.nm)
        within = self._within(abs(at))
        return within if at > 0 else -within

    def _within(self, end: float) -> float:
        if end >= self.period:
            return 1.0
        turn = pi * end / self.period
        terms = (weight * sin(nth * turn) for nth, weight in enumerate(self.weights, 1))
        return end / self.period + sum(terms)


def curve_of(doubts: Iterable[tuple[Doubt, int]]) -> Curve:
    """Build the distribution of a sum of independent doubts.

    Parameters
    ----------
    doubts
        Each doubt with how many independent ones like it there are.

    Returns
    -------
    Curve
        The distribution, with the bound on its error.
    """
    normal, halves = 0.0, []
    for doubt, times in doubts:
        size = float(doubt.size.nm)
        if doubt.shape == "normal":
            normal += times * size * size
        elif doubt.shape == "rectangular":
            halves += [size] * times
        else:
            halves += [size / 2] * (2 * times)
    return _curve_of(normal, tuple(sorted((half for half in halves if half), reverse=True)))


@lru_cache(maxsize=KEPT)
def _curve_of(normal: float, halves: tuple[float, ...]) -> Curve:
    """Build the distribution of a normal of this variance and of rectangular parts."""
    reach = inf if normal else sum(halves)
    return _curve(reach, *_worth_terms(sqrt(normal), [*halves]))


def _worth_terms(normal: float, halves: list[float]) -> tuple[float, list[float], float]:
    """Leave out the parts that move no chance by more than SMALL, and bound what they move.

    A part of standard uncertainty u moves each end's chance by no more than u times the greatest
    density of the rest, which is that of its widest part at most.
    """
    peak = min(
        1 / (2 * halves[0]) if halves else inf, 1 / (normal * sqrt(2 * pi)) if normal else inf
    )
    if peak == inf:
        return 0.0, [], 0.0
    dropped = 0.0
    while len(halves) > 1 and 2 * peak * sqrt(dropped + halves[-1] ** 2 / 3) <= SMALL:
        dropped += halves.pop() ** 2 / 3
    if halves and 2 * peak * sqrt(dropped + normal**2) <= SMALL:
        dropped, normal = dropped + normal**2, 0.0
    return normal, halves, 2 * peak * sqrt(dropped)


def _curve(reach: float, normal: float, halves: list[float], lost: float) -> Curve:
    widest = inf if normal else sum(halves)
    # The tail of such a sum is bounded as that of a normal of its variance:
    # P(|S| > T) <= 2 exp(-T^2 / 2 u^2)
    enough = sqrt((normal**2 + sum(a * a for a in halves) / 3) * 2 * log(2 / BEYOND))
    period = min(widest, enough)
    if not normal and len(halves) < 2:  # noqa: PLR2004 - one rectangle is a straight line
        return Curve(reach, period=widest, weights=(), error=lost)
    weights: list[float] = []
    cut = inf
    while cut > CUT and len(weights) < MOST_TERMS:
        nth = len(weights) + 1
        weights.append(2 / pi * _characteristic(nth * pi / period, normal, halves) / nth)
        # The bound is computed at every fourth term only, to save time.
        cut = _cut_off(nth, period, normal, halves) if nth % 4 == 0 else cut
    beyond = BEYOND if enough < widest else 0.0
    return Curve(reach, period, tuple(weights), lost + cut + beyond + ROUNDING)


def _characteristic(t: float, normal: float, halves: list[float]) -> float:
    value = exp(-((normal * t) ** 2) / 2)
    for half in halves:
        value *= sin(half * t) / (half * t)
    return value


def _cut_off(nth: int, period: float, normal: float, halves: list[float]) -> float:
    """Bound the sum of all terms after the `nth`.

    Beyond it m of the factors fall at least as 1/k, and the normal's as a Gauss curve.
    """
    t = nth * pi / period
    height, falling = exp(-((normal * t) ** 2) / 2), 0
    for half in halves:
        if half * t > 1:
            height /= half * t
            falling += 1
    by_power = 1 / falling if falling else inf
    by_normal = 1 / (normal * t) ** 2 if normal else inf
    return 2 / pi * height * min(by_power, by_normal)
