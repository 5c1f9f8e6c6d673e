"""Counts the drums of a history by what a kit must hold to serve each.

A drum is served by one pattern for each of its gaps, all drawn from one kit; a shared part counts
once. For a gap at one space only the parts that its patterns draw matter, and of two patterns with
the same shared parts only the one that draws less. Spaces with equal patterns form one class, and
drums whose gaps are of equal classes are counted together.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from solver.builds.dominance import Weighed, undominated
from solver.builds.patterns import list_patterns

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from solver.builds.patterns import Pattern
    from solver.problem.instance import ChoiceRule, Instance

PLENTY = 1_000_000  # more parts of a size than any drum takes
Spaces = tuple[int, ...]
"""For each gap, its room beyond that of the instance, in steps."""


@dataclass(frozen=True, slots=True, order=True)
class Draw:
    """The parts that one pattern takes out of a kit."""

    parts: tuple[tuple[int, int], ...]
    """Choices, each with the number of parts; shared parts excluded."""
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
        For the spaces of each drum, in steps beyond the room of the instance, the number of drums.

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
    A rule over the whole job counts as one over each gap: an instance of several gaps has none.
    """
    drum = drum_maker(instance)
    found: Counter[Drum] = Counter()
    for spaces, count in history.items():
        found[drum(spaces)] += count
    return found


def drum_maker(instance: Instance) -> Callable[[Spaces], Drum]:
    """Return a function from the spaces of a drum to the sets of parts that serve it.

    The function works out each space of a gap once, and raises TooManyError where a gap has too
    many builds to list.
    """

    @cache
    def ways(index: int, more: int) -> Ways:
        return _ways(instance, index, more)

    return lambda spaces: tuple(ways(index, more) for index, more in enumerate(spaces))


def landing(instance: Instance, index: int, more: int) -> list[Pattern]:
    """List the patterns of a gap with more room, in the order of the tie-break.

    Parameters
    ----------
    instance
        The instance of the unit, with the catalogue.
    index
        The gap's index.
    more
        Its room beyond that of the instance, in steps.

    Returns
    -------
    list of Pattern
        Those that land in the window and keep the rules of the gap and of the whole job.

    Raises
    ------
    TooManyError
        Where the gap has too many builds to list.
    """
    gap = instance.gaps[index]
    layouts = tuple(replace(layout, room=layout.room + more) for layout in gap.layouts)
    return [
        pattern
        for pattern in list_patterns(instance, replace(gap, layouts=layouts))
        if all(_holds(rule, pattern) for rule in instance.rules if rule.gap in (index, -1))
    ]


def drawn_by(pattern: Pattern) -> Draw:
    """Return the parts that a pattern takes."""
    return Draw(pattern.uses, tuple(sorted(pattern.shares)))


def _ways(instance: Instance, index: int, more: int) -> Ways:
    """Return what the gap's patterns draw, without those that draw more than another does."""
    draws = sorted(set(map(drawn_by, landing(instance, index, more))))
    choices = sorted({choice for draw in draws for choice, _ in draw.parts})
    counts = (Counter(dict(draw.parts)) for draw in draws)
    weighed = [
        Weighed(draw.shares, tuple(count[choice] for choice in choices))
        for draw, count in zip(draws, counts, strict=True)
    ]
    return tuple(draws[nth] for nth in undominated(weighed))


def _holds(rule: ChoiceRule, pattern: Pattern) -> bool:
    counts = Counter(dict(pattern.uses))
    counts.update(choice for _, choice in set(pattern.shares))
    first, second = (sum(counts[c] for c in kinds) for kinds in (rule.first, rule.second))
    return rule.met_by(first, second)


def most_of(drum: Drum) -> Counter[int]:
    """Return for each choice the most parts that one drum could draw."""
    most: Counter[int] = Counter()
    for ways in drum:
        here: Counter[int] = Counter()
        for draw in ways:
            here |= Counter(dict(draw.parts))
        most += here
    most.update(choice for _, choice in {one for w in drum for d in w for one in d.shares})
    return most


def servable(drums: Mapping[Drum, int]) -> int:
    """Count the drums that a kit with plenty of every size would serve."""
    plenty = {
        choice: PLENTY
        for drum in drums
        for ways in drum
        for draw in ways
        for choice, _ in (*draw.parts, *((choice, 1) for _, choice in draw.shares))
    }
    return served(drums, plenty)


def served(drums: Mapping[Drum, int], contents: Mapping[int, int]) -> int:
    """Count the drums that a kit serves, by trying the patterns of each.

    Parameters
    ----------
    drums
        Kinds of drum, each with the number of drums of that kind.
    contents
        For each choice, the number of parts in the kit.
    """
    return sum(count for drum, count in drums.items() if serves(drum, contents))


def serves(drum: Drum, contents: Mapping[int, int], shares: Iterable[tuple[int, int]] = ()) -> bool:
    """Return whether a kit holds the parts of one drum.

    Parameters
    ----------
    drum
        For each gap, the sets of parts that land it in its window.
    contents
        For each choice, the number of parts in the kit.
    shares
        Shared parts that are chosen already, each with its choice.
    """
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
