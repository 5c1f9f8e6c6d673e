"""How a reading of a part lies around the middle of its size, and how likely each reading is.

A thickness anywhere in its size's range, read with a gauge, is off the range's middle by a sum of
rectangular doubts of half widths a1 ... am and a normal one of standard uncertainty u. With J0 the
normal's density, J1 its distribution and

    J(n + 1)(x) = (x J(n)(x) + u^2 J(n - 1)(x)) / n

the n-fold integrals of it (for u = 0 those of a step), the density of the sum is

    f(x) = sum over all signs of (product of the signs) Jm(x + sum of sign * a) / product of 2a

and its distribution the same with J(m + 1). Many rectangles are near a normal: where a reading is
the mean of more than two places, its gauge counts as the normal of the same variance.
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
SMALL = 1e-3
"""A rectangle narrower than this part of the widest counts as the normal of its variance."""
FAR = 8.0
"""So many standard uncertainties away a normal has no density worth a figure."""


@dataclass(frozen=True, slots=True)
class ReadingDensity:
    """A sum of doubts around zero, in nanometres."""

    normal: float
    halves: tuple[float, ...]

    @property
    def reach(self) -> float:
        """How far from zero it lies at most, as far as any figure shows."""
        return sum(self.halves) + FAR * self.normal

    @property
    def variance(self) -> float:
        """Its squared standard uncertainty."""
        return self.normal**2 + sum(half * half for half in self.halves) / 3

    def density(self, at: float) -> float:
        """How likely it lies at a value, for each nanometre."""
        if abs(at) > self.reach:
            return 0.0
        return max(0.0, self._sum(at, len(self.halves)))

    def beyond(self, at: float) -> float:
        """The chance that it lies as far from zero as a value, or farther, on either side."""
        if abs(at) > self.reach:
            return 0.0
        return min(1.0, max(0.0, 2 * self._sum(-abs(at), len(self.halves) + 1)))

    def and_a(self, half: float) -> ReadingDensity:
        """The sum with a further rectangle."""
        return spread(self.normal, [*self.halves, half])

    def _sum(self, at: float, times: int) -> float:
        total = 0.0
        for signs in product((1, -1), repeat=len(self.halves)):
            shift = sum(sign * half for sign, half in zip(signs, self.halves, strict=True))
            total += prod(signs) * _integral(at + shift, times, self.normal)
        return total / prod(2 * half for half in self.halves)


def spread(normal: float, halves: Iterable[float]) -> ReadingDensity:
    """Put doubts together; what is too narrow for a figure of its own widens the normal."""
    wide = sorted((half for half in halves if half), reverse=True)
    while wide and (len(wide) > 1 or normal) and wide[-1] < SMALL * max(wide[0], normal):
        normal = sqrt(normal**2 + wide.pop() ** 2 / 3)
    if wide and normal < SMALL * wide[0]:
        normal = 0.0
    return ReadingDensity(normal, tuple(wide)) if wide or normal else ReadingDensity(1.0, ())


def gauge_spread(alone: Doubt, together: float, places: int) -> ReadingDensity:
    """What a gauge leaves open of the mean of so many places; `together` what it is always off."""
    size = float(alone.size.nm)
    if alone.shape == "normal":
        return spread(size / sqrt(places), [together])
    if places > MOST_PLACES:
        return spread(sqrt(float(alone.variance) / places), [together])
    pieces = 2 if alone.shape == "triangular" else 1
    return spread(0.0, [*[size / pieces / places] * (pieces * places), together])


def _integral(at: float, times: int, normal: float) -> float:
    """The normal's density, integrated so many times from far below; a step's where it has none."""
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
