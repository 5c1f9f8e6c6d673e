"""Counts the drums of a history by what a kit must hold to serve each.

A drum is served by one pattern for each of its gaps, all drawn from one kit; a shared part counts
once. For a gap at one space only the parts that its patterns draw matter, and of two patterns with
the same shared parts only the one that draws less. Spaces with equal patterns form one class, and
drums whose gaps are of equal classes are counted together.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from solver.builds.dominance import Weighed, undominated
from solver.builds.patterns import list_patterns
from solver.problem.shared_parts import Draw, in_one_job, most_in_one_gap, most_in_one_job

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from solver.builds.patterns import Pattern
    from solver.problem.instance import ChoiceRule, Instance

PLENTY = 1_000_000  # more parts of a size than any drum takes
Spaces = tuple[int, ...]
"""For each gap, its room beyond that of the instance, in steps."""


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


def _ways(instance: Instance, index: int, more: int) -> Ways:
    """Return what the gap's patterns draw, without those that draw more than another does."""
    draws = sorted({pattern.draw for pattern in landing(instance, index, more)})
    choices = sorted({choice for draw in draws for choice, _ in draw.parts})
    counts = (Counter(dict(draw.parts)) for draw in draws)
    weighed = [
        Weighed(draw.shares, tuple(count[choice] for choice in choices))
        for draw, count in zip(draws, counts, strict=True)
    ]
    return tuple(draws[nth] for nth in undominated(weighed))


def _holds(rule: ChoiceRule, pattern: Pattern) -> bool:
    counts = Counter(in_one_job([pattern.draw]))
    first, second = (sum(counts[c] for c in kinds) for kinds in (rule.first, rule.second))
    return rule.met_by(first, second)


def most_of(drum: Drum) -> Counter[int]:
    """Return for each choice the most parts that one drum could draw."""
    shares = (share for ways in drum for draw in ways for share in draw.shares)
    return most_in_one_job(map(most_in_one_gap, drum), shares)


def servable(drums: Mapping[Drum, int]) -> int:
    """Count the drums that a kit with plenty of every size would serve."""
    return served(drums, dict.fromkeys((c for drum in drums for c in most_of(drum)), PLENTY))


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


def serves(drum: Drum, contents: Mapping[int, int]) -> bool:
    """Return whether a kit holds the parts of one drum.

    Parameters
    ----------
    drum
        For each gap, the sets of parts that land it in its window.
    contents
        For each choice, the number of parts in the kit.
    """
    return next(ways_from(drum, contents), None) is not None


def ways_from(
    drum: Drum, left: Mapping[int, int], begun: tuple[Draw, ...] = ()
) -> Iterator[tuple[Draw, ...]]:
    """Yield each way to build a drum from the parts left, as begun: a draw for each gap."""
    parts = in_one_job(begun)
    if parts is None or any(left.get(choice, 0) < count for choice, count in parts.items()):
        return
    if len(begun) == len(drum):
        yield begun
        return
    for draw in drum[len(begun)]:
        yield from ways_from(drum, left, (*begun, draw))
