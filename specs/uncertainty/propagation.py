"""How far things may be off, and what that makes of a length worked out from them.

The rules are those of the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008):
a rectangular doubt of half width a has the standard uncertainty a / sqrt(3), a triangular one
a / sqrt(6) (4.3.7, 4.3.9), and for independent doubts with factors c

    u^2 = sum of c^2 * u^2        U = 2 * u, which covers about 95 %     (5.1.2, 6.3.3)

What enters a length twice enters once with the sum of its factors. Everything here is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from typing import TYPE_CHECKING, Literal

from specs.uncertainty.distribution import Doubt, curve_of
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from specs.uncertainty.distribution import Curve

COVERAGE = 2  # the factor of the expanded uncertainty
_FINE = 1_000  # a standard uncertainty is told to a thousandth of a nanometre


@dataclass(frozen=True, slots=True)
class ErrorSource:
    """One thing that may be off, independent of every other: who it is, not how much."""

    kind: Literal["reading", "part", "gauge"]
    name: str
    """In words of the bench."""
    gap: str = ""
    """The gap it belongs to; empty where gaps share it."""
    label: str = ""
    """What else tells it from others of its name."""


@dataclass(frozen=True, slots=True)
class Contribution:
    """What a source of error contributes to a gap: its factor, and how many alike there are.

    Each of the `times` alike sources is independent of the others.
    """

    source: ErrorSource
    doubt: Doubt
    factor: Fraction
    times: int = 1

    @property
    def variance(self) -> Fraction:
        """What it adds to the gap's variance, in square nanometres."""
        return self.factor**2 * self.doubt.variance * self.times


def joined(terms: Iterable[Contribution]) -> tuple[Contribution, ...]:
    """Add up the factors of each source, so that it enters once; leave out what cancels."""
    factors: dict[tuple[ErrorSource, Doubt, int], Fraction] = {}
    for term in terms:
        key = term.source, term.doubt, term.times
        factors[key] = factors.get(key, Fraction(0)) + term.factor
    return tuple(
        Contribution(source, doubt, factor, times)
        for (source, doubt, times), factor in factors.items()
        if factor and doubt.size
    )


def variance_of(terms: Iterable[Contribution]) -> Fraction:
    """The squared combined standard uncertainty of joined terms."""
    return sum((term.variance for term in terms), Fraction(0))


def standard(variance: Fraction) -> Length:
    """The standard uncertainty of a variance in square nanometres, to 0.001 nm."""
    return Length(Fraction(isqrt(int(variance * _FINE**2)), _FINE))


def reach_of(terms: Iterable[Contribution]) -> Length | None:
    """How far a length with these joined terms may be off at most; None where there is no end."""
    reach = Fraction(0)
    for term in terms:
        if term.doubt.shape == "normal":
            return None
        reach += abs(term.factor) * term.doubt.size.nm * term.times
    return Length(reach)


def curve(terms: Iterable[Contribution]) -> Curve:
    """The distribution of the error of a gap that these joined contributions make."""
    return curve_of(
        (Doubt(term.doubt.shape, term.doubt.size * abs(term.factor)), term.times) for term in terms
    )


def mean_of(values: Sequence[Length]) -> Length:
    """The average of some readings."""
    return sum(values, ZERO) / len(values)


# Half the factor of Student's distribution that covers 95.45 %, in thousandths: what few places
# make of the spread they show (JCGM 100:2008, G.3). A reading has at most 24 places.
STUDENT = {
    2: 6984, 3: 2263, 4: 1653, 5: 1435, 6: 1324, 7: 1258, 8: 1214, 9: 1183, 10: 1160, 11: 1142,
    12: 1127, 13: 1116, 14: 1106, 15: 1098, 16: 1091, 17: 1084, 18: 1079, 19: 1074, 20: 1070,
    21: 1067, 22: 1063, 23: 1060, 24: 1057,
}  # fmt: skip


def spread_of(values: Sequence[Length]) -> Length:
    """The standard uncertainty of an average, from the spread over its places, few as they are.

    s / sqrt(n) (JCGM 100:2008, 4.2.3), enlarged by Student's factor for n places.
    """
    count, mean = len(values), mean_of(values)
    squares = sum(((value - mean).nm ** 2 for value in values), Fraction(0))
    return standard(squares / (count * (count - 1))) * Fraction(STUDENT[count], 1_000)
