"""The grid of a job: the coarsest step of which all its lengths are whole multiples.

Lengths are exact fractions of a nanometre. They are multiplied by the least common multiple of
their denominators and divided by the greatest common divisor of the results, so that no rounding
is left to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm
from typing import TYPE_CHECKING

from solver.problem.instance import RATIO, TOP

if TYPE_CHECKING:
    from collections.abc import Iterable

    from specs.values.lengths import Length


class TooFineError(ValueError):
    """The lengths have no common step coarse enough for exact arithmetic in 53 bits."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Nanometres in one step."""

    step: Fraction

    def steps(self, length: Length) -> int:
        """A length in whole steps. Raises ValueError for a length that was not in the job."""
        steps = length.nm / self.step
        if steps.denominator != 1:
            raise ValueError(f"{length} is not on the grid")
        return int(steps)


def grid_of(lengths: Iterable[Length]) -> Grid:
    """Find the grid of some lengths. Raises TooFineError where sums could pass 2^53."""
    nonzero = [length.nm for length in lengths if length.nm]
    if not nonzero:
        return Grid(Fraction(1))
    over = lcm(*(length.denominator for length in nonzero))
    step = Fraction(gcd(*(int(length * over) for length in nonzero)), over)
    if sum(map(abs, nonzero)) / step * RATIO >= TOP:
        raise TooFineError
    return Grid(step)
