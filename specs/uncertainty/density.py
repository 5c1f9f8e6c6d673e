"""The density of a reading around the middle of a size, for telling which part was measured.

A thickness anywhere in its size's range, read with a gauge, is off the range's middle by a sum of
rectangular doubts of half widths a1 ... am and a normal one of standard uncertainty u. With J0 the
normal's density, J1 its distribution and

    J(n + 1)(x) = (x J(n)(x) + u^2 J(n - 1)(x)) / n

the n-fold integrals of it (for u = 0 those of a step), the density of the sum is

    f(x) = sum over all signs of (product of the signs) Jm(x + sum of sign * a) / product of 2a

and its distribution the same with J(m + 1). A sum of many rectangles is near a normal: where a
reading is the mean of more than two places, its gauge counts as the normal of the same variance.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import erf, exp, pi, prod, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from specs.uncertainty.distribution import Doubt

MOST_PLACES = 2
"""The most places whose rectangles are summed one by one; the sum over signs doubles with each."""
SMALL = 1e-3
"""A rectangle narrower than this part of the widest counts as the normal of its variance."""
FAR = 8.0
"""Beyond so many standard uncertainties the density of a normal counts as zero."""


@dataclass(frozen=True, slots=True)
class ReadingDensity:
    """The distribution of a sum of doubts around zero, in nanometres."""

    normal: float
    """The standard uncertainty of the normal part; zero where there is none."""
    halves: tuple[float, ...]
    """The half widths of the rectangular parts, the widest first."""

    @property
    def reach(self) -> float:
        """The distance from zero beyond which density and chance count as zero."""
        return sum(self.halves) + FAR * self.normal

    @property
    def variance(self) -> float:
        """The variance of the sum, in square nanometres."""
        return self.normal**2 + sum(half * half for half in self.halves) / 3

    def density(self, at: float) -> float:
        """Compute the probability density at a value in nanometres, for each nanometre."""
        if abs(at) > self.reach:
            return 0.0
        return max(0.0, self._sum(at, len(self.halves)))

    def beyond(self, at: float) -> float:
        """Compute the chance that it lies `at` nanometres from zero or farther, on either side."""
        if abs(at) > self.reach:
            return 0.0
        return min(1.0, max(0.0, 2 * self._sum(-abs(at), len(self.halves) + 1)))

    def and_a(self, half: float) -> ReadingDensity:
        """Add a further rectangle of this half width, in nanometres."""
        return spread(self.normal, [*self.halves, half])

    def _sum(self, at: float, times: int) -> float:
        total = 0.0
        for signs in product((1, -1), repeat=len(self.halves)):
            shift = sum(sign * half for sign, half in zip(signs, self.halves, strict=True))
            total += prod(signs) * _integral(at + shift, times, self.normal)
        return total / prod(2 * half for half in self.halves)


def spread(normal: float, halves: Iterable[float]) -> ReadingDensity:
    """Build the distribution of a sum of one normal doubt and some rectangular ones.

    Parameters
    ----------
    normal
        The standard uncertainty of the normal one, in nanometres; zero for none.
    halves
        The half widths of the rectangular ones, in nanometres; zeros are left out.

    Returns
    -------
    Spread
        The distribution. A part narrower than `SMALL` of the widest only widens the normal, because
        the closed form divides by its width.
    """
    wide = sorted((half for half in halves if half), reverse=True)
    while wide and (len(wide) > 1 or normal) and wide[-1] < SMALL * max(wide[0], normal):
        normal = sqrt(normal**2 + wide.pop() ** 2 / 3)
    if wide and normal < SMALL * wide[0]:
        normal = 0.0
    # Where nothing is in doubt a normal of one nanometre stands in: a density needs a width.
    return ReadingDensity(normal, tuple(wide)) if wide or normal else ReadingDensity(1.0, ())


def gauge_spread(alone: Doubt, together: float, places: int) -> ReadingDensity:
    """Build the distribution of a gauge's error in the mean of several places.

    Parameters
    ----------
    alone
        The doubt of one reading by itself, independent of the other places.
    together
        The half width of the gauge's limits in nanometres: an error common to all its readings,
        which averaging does not reduce.
    places
        How many places the mean was taken over.

    Returns
    -------
    Spread
        The distribution of the mean's error.
    """
    size = float(alone.size.nm)
    if alone.shape == "normal":
        return spread(size / sqrt(places), [together])
    if places > MOST_PLACES:
        return spread(sqrt(float(alone.variance) / places), [together])
    pieces = 2 if alone.shape == "triangular" else 1
    return spread(0.0, [*[size / pieces / places] * (pieces * places), together])


def _integral(at: float, times: int, normal: float) -> float:
    """Integrate the normal's density `times` times from far below; a unit step's where u is 0."""
    if normal:
        before = exp(-((at / normal) ** 2) / 2) / (normal * sqrt(2 * pi))
        value = (1 + erf(at / (normal * sqrt(2)))) / 2
    else:
        before, value = 0.0, (1.0 if at > 0 else 0.5 if at == 0 else 0.0)
    if not times:
        return before
    for n in range(1, times):
        before, value = value, (at * value + normal * normal * before) / n
    return value
