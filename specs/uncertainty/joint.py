"""The chance that several gaps lie in their windows together, where sources of error tie them.

The source they share that moves them most is divided into cells. Within a cell each gap's window
moves by no more than the cell is wide: the gap holds for certain in the narrowest window common to
the cell, and at most in the widest. With that source settled, gaps that share no other source are
independent, and their chances are multiplied. For gaps that share more, the joint chance is at
most that of the least sure one, and at least 1 less the sum of each one's doubt (Bonferroni). Both
are bounds, not estimates. The error of a cell's chance enters no more than twice for each gap,
because along the source the chance of a gap rises once and falls once: all curves here are
log-concave.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import prod
from typing import TYPE_CHECKING

from specs.uncertainty.distribution import CERTAIN, MILLION, Chance
from specs.uncertainty.propagation import curve, reach_of, standard, variance_of
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from specs.uncertainty.propagation import Contribution, ErrorSource

CELLS = 64
FAR = 5  # standard uncertainties of a normal: what lies beyond counts as lost
APART = 2_500  # bounds nearer than this, in millionths, are not narrowed further


@dataclass(frozen=True, slots=True)
class Doubtful:
    """One gap whose chance is asked for."""

    low: Length | None
    """The window's lowest gap less this gap; None where that side is open."""
    high: Length | None
    """The window's highest gap less this gap; None where that side is open."""
    terms: Sequence[Contribution]
    """Its joined sources of error."""
    chance: Chance
    """The chance that it lies in its window by itself."""


def chance_together(gaps: Sequence[Doubtful]) -> Chance:
    """Bound the chance that all of some tied gaps lie in their windows.

    Parameters
    ----------
    gaps
        The gaps of one group that `tied` yields.

    Returns
    -------
    Chance
        The bounds, never wider than Bonferroni's.
    """
    least, most = _whatever_ties([gap.chance for gap in gaps])
    if most - least <= APART:
        return Chance(least, most)
    first, *others = _shared(gaps)
    edges = _edges(first)
    alone = curve(first)
    parted = [_within_cells(gap, first[0].source, edges) for gap in gaps]
    low = high = weighed = 0.0
    for (start, end), *within in zip(pairwise(edges), *parted, strict=True):
        chance = max(0.0, _middle(alone.between(None, end)) - _middle(alone.between(None, start)))
        bounds = _whatever_ties(within) if others else _independent(within)
        low += chance * bounds[0] / MILLION
        high += chance * bounds[1] / MILLION
        weighed += chance
    # The chance beyond the cells and the errors of the cells' chances widen the bounds.
    lost = max(0.0, 1 - weighed) + 2 * len(gaps) * (alone.error + 1 / MILLION)
    return Chance(
        max(least, int(MILLION * (low - lost))), min(most, int(MILLION * (high + lost)) + 1)
    )


def _whatever_ties(chances: Sequence[Chance]) -> tuple[int, int]:
    """Bound a joint chance in millionths, however the gaps are tied."""
    lost = sum(MILLION - chance.least for chance in chances)
    return max(0, MILLION - lost), min(chance.most for chance in chances)


def _independent(chances: Sequence[Chance]) -> tuple[int, int]:
    together = prod(chances, start=CERTAIN)
    return together.least, together.most


def _shared(gaps: Sequence[Doubtful]) -> list[tuple[Contribution, ...]]:
    """List the sources that several gaps have, greatest variance first, each with a factor of one.

    A source has the same doubts in every gap; a reading has those of its gauge and its places.
    """
    seen: defaultdict[ErrorSource, list[tuple[Contribution, ...]]] = defaultdict(list)
    for gap in gaps:
        mine: defaultdict[ErrorSource, list[Contribution]] = defaultdict(list)
        for term in gap.terms:
            mine[term.source].append(term)
        for source, terms in mine.items():
            seen[source].append(tuple(terms))
    shared = {source: held for source, held in seen.items() if len(held) > 1}

    def moved(source: ErrorSource) -> Fraction:
        return sum((variance_of(terms) for terms in shared[source]), Fraction(0))

    return [
        tuple(replace(term, factor=Fraction(1)) for term in shared[source][0])
        for source in sorted(shared, key=moved, reverse=True)
    ]


def _edges(shared: Sequence[Contribution]) -> list[Length]:
    """Divide the range of a source's errors into cells of one width."""
    half = reach_of(shared) or standard(variance_of(shared)) * FAR
    return [half * Fraction(2 * nth - CELLS, CELLS) for nth in range(CELLS + 1)]


def _middle(chance: Chance) -> float:
    return (chance.least + chance.most) / 2 / MILLION


def _within_cells(gap: Doubtful, source: ErrorSource, edges: Sequence[Length]) -> list[Chance]:
    """Bound the chance that a gap lies in its window, wherever in each cell a source's error is."""
    factor = next((term.factor for term in gap.terms if term.source == source), Fraction(0))
    rest = curve(term for term in gap.terms if term.source != source)
    moved = [edge * factor for edge in (edges if factor >= 0 else reversed(edges))]
    nothing, all_ = Chance(0, 0), CERTAIN
    below = [nothing if gap.low is None else rest.between(None, gap.low - by) for by in moved]
    above = [all_ if gap.high is None else rest.between(None, gap.high - by) for by in moved]
    cells = [
        Chance(
            max(0, above[nth + 1].least - below[nth].most),
            max(0, above[nth].most - below[nth + 1].least),
        )
        for nth in range(len(edges) - 1)
    ]
    return cells if factor >= 0 else cells[::-1]


def tied(gaps: Sequence[Doubtful]) -> Iterator[list[int]]:
    """Group the gaps that share sources, directly or through others.

    Returns
    -------
    Iterator of list of int
        The positions of each group's gaps, in ascending order.
    """
    groups: list[tuple[list[int], set[ErrorSource]]] = []
    for nth, gap in enumerate(gaps):
        members, sources = [nth], {term.source for term in gap.terms}
        apart = []
        for group in groups:
            if group[1].isdisjoint(sources):
                apart.append(group)
            else:
                members, sources = [*group[0], *members], group[1] | sources
        groups = [*apart, (members, sources)]
    return (sorted(members) for members, _ in groups)
