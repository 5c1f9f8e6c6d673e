"""Random numbers that hang on a seed and a name alone, in whole numbers.

Whoever draws, on whichever machine and in whatever order, draws the same: each stream has its own
name. The generator is Python's (Mersenne Twister), of which only raw bits are taken, for those
are the same in every version.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import cache
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

BITS = 64
_FINE = 256  # bits of a term of Poisson's series


class Draws:
    """One stream of random numbers."""

    def __init__(self, *name: object) -> None:
        self._random = Random("/".join(map(str, name)))  # noqa: S311 - no secret hangs on it

    def below(self, most: int) -> int:
        """A whole number from nothing to one below another, all alike likely."""
        return self._random.getrandbits(BITS) * most >> BITS

    def one_of(self, upto: Sequence[int]) -> int:
        """The number of a thing, each as likely as its share of a rising sum."""
        return bisect_right(upto, self.below(upto[-1]))

    def shuffled(self, number: int) -> list[int]:
        """The numbers below another in random order."""
        order = list(range(number))
        for last in range(number - 1, 0, -1):
            other = self.below(last + 1)
            order[last], order[other] = order[other], order[last]
        return order


@cache
def poisson(mean: Fraction) -> tuple[int, ...]:
    """Poisson's chances as a rising sum out of 2^62, to draw how many jobs a week brings.

    The series is cut where a term is below 2^-256 of the first.
    """
    terms = [1 << _FINE]
    while len(terms) <= mean or terms[-1]:
        terms.append(terms[-1] * mean.numerator // (mean.denominator * len(terms)))
    total, upto, risen = sum(terms), [], 0
    for term in terms:
        risen += term
        upto.append((risen << 62) // total)
    return tuple(upto)
