"""Drums of a history, by what a kit must hold to serve each.

A drum is served by one pattern for each of its gaps, all drawn from the one kit, shared parts
being one part. Of a gap at one space only what its patterns draw matters, and of two patterns
with the same shared parts only the one that draws less. Spaces with equal patterns are one class,
and drums of equal classes are counted together.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from solver.builds.patterns import list_patterns

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from solver.builds.patterns import Pattern
    from solver.problem.instance import ChoiceRule, Instance

PLENTY = 1_000_000  # more parts of a size than any drum takes
Spaces = tuple[int, ...]
"""How much more room each gap has than in the instance, in steps."""


@dataclass(frozen=True, slots=True, order=True)
class Draw:
    """What one pattern takes out of a kit."""

    parts: tuple[tuple[int, int], ...]
    """Choices and how many of each, shared parts apart."""
    shares: tuple[tuple[int, int], ...]
    """Shared parts, each with its choice."""


Ways = tuple[Draw, ...]
Drum = tuple[Ways, ...]


def drums_of(instance: Instance, history: Mapping[Spaces, int]) -> Counter[Drum]:
    """Count the drums of a history by what a kit must hold to serve them.

    Parameters
    ----------
    instance
        The instance of the unit, with the catalogue.
    history
        For the spaces of each drum, as steps more room than the instance has in each gap, how
        many drums have them.

    Returns
    -------
    Counter of Drum
        A drum is, for each of its gaps, the sets of parts that land it in its window.

    Raises
    ------
    TooManyError
        Where a gap has too many builds to list.

    Notes
    -----
    A rule over the whole job is taken for one over each gap: an instance of several gaps has none.
    """
    drum = drum_maker(instance)
    found: Counter[Drum] = Counter()
    for spaces, count in history.items():
        found[drum(spaces)] += count
    return found


def drum_maker(instance: Instance) -> Callable[[Spaces], Drum]:
    """Say what serves a drum by its spaces; each space of a gap is looked at once."""

    @cache
    def ways(index: int, more: int) -> Ways:
        return _ways(instance, index, more)

    return lambda spaces: tuple(ways(index, more) for index, more in enumerate(spaces))


def landing(instance: Instance, index: int, more: int) -> list[Pattern]:
    """The patterns of a gap with so much more room, in the order of the tie-break."""
    gap = instance.gaps[index]
    layouts = tuple(replace(layout, room=layout.room + more) for layout in gap.layouts)
    return [
        pattern
        for pattern in list_patterns(instance, replace(gap, layouts=layouts))
        if all(_holds(rule, pattern) for rule in instance.rules if rule.gap in (index, -1))
    ]


def drawn_by(pattern: Pattern) -> Draw:
    """What a pattern takes."""
    return Draw(pattern.uses, tuple(sorted(pattern.shares)))


def _ways(instance: Instance, index: int, more: int) -> Ways:
    draws = set(map(drawn_by, landing(instance, index, more)))
    return tuple(sorted(draw for draw in draws if not any(_less(one, draw) for one in draws)))


def _less(one: Draw, other: Draw) -> bool:
    """Whether a pattern has the same shared parts as another and draws less."""
    return one.shares == other.shares and Counter(dict(one.parts)) < Counter(dict(other.parts))


def _holds(rule: ChoiceRule, pattern: Pattern) -> bool:
    counts = Counter(dict(pattern.uses))
    counts.update(choice for _, choice in set(pattern.shares))
    first, second = (sum(counts[c] for c in kinds) for kinds in (rule.first, rule.second))
    return rule.met_by(first, second)


def most_of(drum: Drum) -> Counter[int]:
    """The most of each choice that one drum could draw."""
    most: Counter[int] = Counter()
    for ways in drum:
        here: Counter[int] = Counter()
        for draw in ways:
            here |= Counter(dict(draw.parts))
        most += here
    most.update(choice for _, choice in {one for w in drum for d in w for one in d.shares})
    return most


def servable(drums: Mapping[Drum, int]) -> int:
    """How many drums a kit with plenty of everything serves."""
    plenty = {
        choice: PLENTY
        for drum in drums
        for ways in drum
        for draw in ways
        for choice, _ in (*draw.parts, *((choice, 1) for _, choice in draw.shares))
    }
    return served(drums, plenty)


def served(drums: Mapping[Drum, int], contents: Mapping[int, int]) -> int:
    """How many drums a kit serves, by trying the patterns of each."""
    return sum(count for drum, count in drums.items() if serves(drum, contents))


def serves(drum: Drum, contents: Mapping[int, int], shares: Iterable[tuple[int, int]] = ()) -> bool:
    """Whether a kit holds the parts of one drum."""
    if not drum:
        return True
    agreed = dict(shares)
    for draw in drum[0]:
        if any(agreed.get(shared, choice) != choice for shared, choice in draw.shares):
            continue
        left = Counter(dict(contents))
        left.subtract(dict(draw.parts))
        left.subtract(choice for shared, choice in draw.shares if shared not in agreed)
        if min(left.values(), default=0) >= 0:
            more = {**agreed, **dict(draw.shares)}
            if serves(drum[1:], left, more.items()):
                return True
    return False
