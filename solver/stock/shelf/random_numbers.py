"""Draws random integers that depend on a seed and a name alone.

Each stream of numbers has its own name, so that draws are the same on every machine and in any
order of work. The generator is Python's (Mersenne Twister), of which only raw bits are taken,
because those are the same in every version.
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
    """One stream of random numbers; equal names give equal streams."""

    def __init__(self, *name: object) -> None:
        self._random = Random("/".join(map(str, name)))  # noqa: S311 - no secret hangs on it

    def below(self, most: int) -> int:
        """Return an integer from 0 to `most` - 1, all with equal chances."""
        return self._random.getrandbits(BITS) * most >> BITS

    def one_of(self, upto: Sequence[int]) -> int:
        """Return an index drawn by weight; `upto[n]` is the sum of the weights up to n."""
        return bisect_right(upto, self.below(upto[-1]))


@cache
def poisson(mean: Fraction) -> tuple[int, ...]:
    """Return the cumulated Poisson probabilities out of 2^62, to draw the jobs of a week.

    Parameters
    ----------
    mean
        The average number of jobs in a week.

    Returns
    -------
    tuple of int
        At index n, the probability of at most n jobs, times 2^62 and rounded down.

    Notes
    -----
    The terms mean^n / n! are cut off where one is below 2^-256 of the first.
    """
    terms = [1 << _FINE]
    while len(terms) <= mean or terms[-1]:
        terms.append(terms[-1] * mean.numerator // (mean.denominator * len(terms)))
    total, upto, risen = sum(terms), [], 0
    for term in terms:
        risen += term
        upto.append((risen << 62) // total)
    return tuple(upto)
