"""The chance that several gaps lie in their windows together, where sources tie them.

The source they share that moves them most is parted into cells. Within a cell each gap's window
moves by no more than the cell is wide: the gap holds for certain in the narrowest window that is
common to the cell, and at most in the widest. With that source settled, gaps that share no other
are independent and their chances are multiplied; of others it is known that together they are no
surer than the least sure one, and no less sure than what is left when each one's doubt is taken
away in turn (Bonferroni). Both are bounds, not estimates. What the chance of a cell may be off by
enters no more than twice for each gap, for along the source the chance of a gap rises once and
falls once: all curves here are log-concave.
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
APART = 2_500  # bounds nearer than this, in millionths, need not be brought nearer


@dataclass(frozen=True, slots=True)
class Doubtful:
    """One gap: how far its limits are from it, what makes it doubtful, and its own chance."""

    low: Length | None
    high: Length | None
    terms: Sequence[Contribution]
    chance: Chance


def chance_together(gaps: Sequence[Doubtful]) -> Chance:
    """The chance that all of some tied gaps lie in their windows, between its bounds."""
    least, most = _whatever_ties([gap.chance for gap in gaps])
    if most - least <= APART:
        return Chance(least, most)
    first, *others = _shared(gaps)
    edges = _edges(first)
    alone = curve([first])
    parted = [_within_cells(gap, first.source, edges) for gap in gaps]
    low = high = weighed = 0.0
    for (start, end), *within in zip(pairwise(edges), *parted, strict=True):
        chance = max(0.0, _middle(alone.between(None, end)) - _middle(alone.between(None, start)))
        bounds = _whatever_ties(within) if others else _independent(within)
        low += chance * bounds[0] / MILLION
        high += chance * bounds[1] / MILLION
        weighed += chance
    lost = max(0.0, 1 - weighed) + 2 * len(gaps) * (alone.error + 1 / MILLION)
    return Chance(
        max(least, int(MILLION * (low - lost))), min(most, int(MILLION * (high + lost)) + 1)
    )


def _whatever_ties(chances: Sequence[Chance]) -> tuple[int, int]:
    lost = sum(MILLION - chance.least for chance in chances)
    return max(0, MILLION - lost), min(chance.most for chance in chances)


def _independent(chances: Sequence[Chance]) -> tuple[int, int]:
    together = prod(chances, start=CERTAIN)
    return together.least, together.most


def _shared(gaps: Sequence[Doubtful]) -> list[Contribution]:
    """The sources that more than one gap has, what moves them most first, as of factor one.

    None of them may be known better in one gap than in another; a reading never is.
    """
    seen: defaultdict[ErrorSource, list[Contribution]] = defaultdict(list)
    for gap in gaps:
        for term in gap.terms:
            seen[term.source].append(term)
    shared = {source: terms for source, terms in seen.items() if len(terms) > 1}

    def moved(source: ErrorSource) -> Fraction:
        return sum((term.variance for term in shared[source]), Fraction(0))

    return [
        replace(shared[source][0], factor=Fraction(1))
        for source in sorted(shared, key=moved, reverse=True)
    ]


def _edges(shared: Contribution) -> list[Length]:
    """Where the cells of a source's errors begin and end."""
    half = reach_of([shared]) or standard(variance_of([shared])) * FAR
    return [half * Fraction(2 * nth - CELLS, CELLS) for nth in range(CELLS + 1)]


def _middle(chance: Chance) -> float:
    return (chance.least + chance.most) / 2 / MILLION


def _within_cells(gap: Doubtful, source: ErrorSource, edges: Sequence[Length]) -> list[Chance]:
    """Bounds of the chance that a gap lies in its window, wherever in each cell a source is."""
    factor = sum((term.factor for term in gap.terms if term.source == source), Fraction(0))
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
    """Put together the gaps that some source ties to each other."""
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
