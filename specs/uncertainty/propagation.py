"""Uncertainty of a length computed from several uncertain things, in exact numbers.

The rules are those of the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008):
a rectangular doubt of half width a has the standard uncertainty a / sqrt(3), a triangular one
a / sqrt(6) (4.3.7, 4.3.9), and for independent doubts with factors c

    u^2 = sum of c^2 * u^2        U = 2 * u, which covers about 95 %     (5.1.2, 6.3.3)

A source that enters a length twice counts once, with the sum of its factors.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, isqrt, lcm
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from specs.uncertainty.distribution import PARTS, Doubt, curve_of
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from specs.uncertainty.distribution import Curve

COVERAGE = 2  # the factor of the expanded uncertainty
_USUAL = 95  # percent
_FINE = 1_000  # a standard uncertainty is rounded down to a thousandth of a nanometre


@dataclass(frozen=True, slots=True)
class ErrorSource:
    """The identity of one source of error, independent of every other; `Doubt` says how large."""

    kind: Literal["reading", "part", "gauge"]
    name: str
    """Its name, as the reader of an answer knows it."""
    gap: str = ""
    """The gap it belongs to; empty where gaps share it."""
    label: str = ""
    """What else distinguishes it from others of its name."""


@dataclass(frozen=True, slots=True)
class Contribution:
    """What a source of error contributes to a gap."""

    source: ErrorSource
    doubt: Doubt
    factor: Fraction
    """How far the gap moves for each nanometre of the error."""
    times: int = 1
    """How many such sources there are, each independent of the others."""

    @property
    def variance(self) -> Fraction:
        """The variance it adds to the gap, in square nanometres."""
        alone = self.doubt.variance * self.times
        return alone if abs(self.factor) == 1 else self.factor**2 * alone


def joined(terms: Iterable[Contribution]) -> tuple[Contribution, ...]:
    """Add up the factors of each source, and leave out the sources that cancel.

    Parameters
    ----------
    terms
        Contributions, in which a source may occur several times.

    Returns
    -------
    tuple of Contribution
        One for each source, as the functions below expect them.
    """
    found: list[Contribution] = []
    places: dict[ErrorSource, list[int]] = {}  # exact sizes are slow to hash, names are not
    for term in terms:
        mine = places.setdefault(term.source, [])
        for at in mine:
            one = found[at]
            if one.times == term.times and one.doubt == term.doubt:
                found[at] = replace(one, factor=one.factor + term.factor)
                break
        else:
            mine.append(len(found))
            found.append(term)
    return tuple(term for term in found if term.factor and term.doubt.size)


def variance_of(terms: Iterable[Contribution]) -> Fraction:
    """Compute the combined variance of joined terms, in square nanometres."""
    # The same as the sum of `term.variance`. Fractions are reduced at every step; whole numbers
    # over one of few denominators are not.
    sums: dict[int, int] = {}
    for term in terms:
        size, factor = term.doubt.size.nm, term.factor
        over = (size.denominator * factor.denominator) ** 2 * PARTS[term.doubt.shape]
        above = (size.numerator * factor.numerator) ** 2 * term.times
        sums[over] = sums.get(over, 0) + above
    return sum((Fraction(above, over) for over, above in sums.items()), Fraction(0))


def standard(variance: Fraction) -> Length:
    """Compute the standard uncertainty of a variance in square nanometres, down to 0.001 nm."""
    return Length(Fraction(isqrt(int(variance * _FINE**2)), _FINE))


def one_sided(percent: Fraction) -> Fraction:
    """Return how many standard uncertainties from a limit a normal lies within it that surely.

    Parameters
    ----------
    percent
        The chance to lie on the right side of one limit, from 50 to below 100.

    Returns
    -------
    Fraction
        The factor, rounded up in the third decimal: 1.645 for 95 (ISO 14253-1:2017).
    """
    if percent == _USUAL:
        return Fraction(1645, 1000)
    return Fraction(ceil(NormalDist().inv_cdf(float(percent) / 100) * 1000), 1000)


def reach_of(terms: Iterable[Contribution]) -> Length | None:
    """Compute the largest possible error of a length with these joined terms.

    Returns
    -------
    Length or None
        The sum of the half widths times their factors; None where a normal has no largest error.
    """
    reach = Fraction(0)
    for term in terms:
        if term.doubt.shape == "normal":
            return None
        reach += abs(term.factor) * term.doubt.size.nm * term.times
    return Length(reach)


def curve(terms: Iterable[Contribution]) -> Curve:
    """Build the distribution of the error that these joined terms make."""
    return curve_of(
        (Doubt(term.doubt.shape, term.doubt.size * abs(term.factor)), term.times) for term in terms
    )


def mean_of(values: Sequence[Length]) -> Length:
    """Compute the exact average of one or more readings."""
    return sum(values, ZERO) / len(values)


def deviation_of(values: Sequence[Length]) -> Length:
    """Compute the standard deviation that readings at some places show (JCGM 100:2008, 4.2.2).

    Parameters
    ----------
    values
        The readings at the places, at least one.

    Returns
    -------
    Length
        The root of the sum of squares over one less than their number; zero for one reading.
    """
    return _deviation([(value, 1) for value in values])


def mean_and_deviation(counts: Mapping[Length, int]) -> tuple[Length, Length]:
    """Compute the mean and the standard deviation of lengths that were counted.

    Parameters
    ----------
    counts
        How often each length was found, at least one of them once.

    Returns
    -------
    tuple of (Length, Length)
        The exact mean, and the deviation as `deviation_of` has it.
    """
    number = sum(counts.values())
    total = sum((length.nm * count for length, count in counts.items()), Fraction(0))
    return Length(total / number), _deviation([*counts.items()])


def _deviation(counts: Sequence[tuple[Length, int]]) -> Length:
    number = sum(count for _, count in counts)
    if number == 1:
        return ZERO
    # n * (sum of squares) - (square of the sum) is n times the sum of squares around the mean.
    over = lcm(*{length.nm.denominator for length, _ in counts})
    whole = [(length.nm.numerator * (over // length.nm.denominator), n) for length, n in counts]
    squares = (
        number * sum(one * one * n for one, n in whole) - sum(one * n for one, n in whole) ** 2
    )
    return standard(Fraction(squares, over * over * number * (number - 1)))
