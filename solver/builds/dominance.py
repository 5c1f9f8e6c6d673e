"""Leaves out builds that another build replaces wherever they could be used.

One rule serves the patterns of a rebuild, the columns of a batch and what a gap asks of a kit. A
build replaces another of its kind where it takes no more of any part that others may ask for, and
is no worse on the levels in their order, up to the first on which it is better. Two sorts of levels
do not settle it so, and the later ones must be no worse either: where a level is the worst value
over gaps, a better gap may be hidden behind a worse one; and scarcity is counted over all gaps, so
no more of any size may be taken, while taking fewer may be rounded to nothing.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING, NamedTuple

from solver.problem.aims import Scarcity
from solver.problem.shared_parts import most_in_one_gap, most_in_one_job

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    from solver.builds.patterns import Pattern
    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance

Listed = list[list["Pattern"] | None]


class Weighed(NamedTuple):
    """A build by what it takes and what it is worth."""

    kind: Hashable
    """Builds of different kinds never replace each other."""
    takes: tuple[int, ...]
    """The number of each part that others may ask for."""
    values: tuple[int, ...] = ()
    """Its addition to each level; of no meaning for scarcity."""
    sizes: tuple[int, ...] = ()
    """The number of parts of each size, where scarcity is a level."""
    rank: int = 0
    """Its place in the tie-break, where builds equal on every level are not alike."""

    def profile(self, scarce: int) -> tuple[int, ...]:
        """Return what it is compared by, in order; `scarce` is the index of scarcity if any."""
        before, after = self.values[:scarce], self.values[scarce + 1 :]
        return (*self.takes, *before, *self.sizes, *after, self.rank)


def undominated(builds: Sequence[Weighed], levels: Sequence[Level] = ()) -> list[int]:
    """Choose the builds that no other build replaces.

    Parameters
    ----------
    builds
        Builds of one gap or one component. All take and are worth equally many numbers.
    levels
        The levels of their values.

    Returns
    -------
    list of int
        Indices of the builds to keep, in rising order; of equal builds the first.

    Notes
    -----
    In the order of their profiles, builds are replaced by earlier ones only. Sets of builds are the
    bits of integers, so an entry is compared with those of all earlier builds at once.
    """
    if not builds:
        return []
    scarce = _scarcity_among(levels)
    profiles = [build.profile(scarce) for build in builds]
    sums = [not level.worst for level in levels]
    amounts = [[False] * len(parts) for parts in (builds[0].takes, builds[0].sizes)]
    settling = [*amounts[0], *sums[:scarce], *amounts[1], *sums[scarce + 1 :], True]
    order = sorted(range(len(builds)), key=lambda nth: (profiles[nth], nth))
    alike: defaultdict[Hashable, int] = defaultdict(int)
    rivals: dict[int, int] = {}  # of each build not decided yet, those that are no worse so far
    for place, nth in enumerate(order):
        rivals[place] = alike[builds[nth].kind]
        alike[builds[nth].kind] |= 1 << place
    kept = _without_rivals(rivals)
    for entry, settles in enumerate(settling):
        if not rivals:
            break
        _compare(rivals, [profiles[nth][entry] for nth in order], settles=settles)
        kept += _without_rivals(rivals)
    return sorted(order[place] for place in kept)


def _scarcity_among(levels: Sequence[Level]) -> int:
    """Return the index of scarcity among levels; their number where it is not one of them."""
    return [*(isinstance(level.counts, Scarcity) for level in levels), True].index(True)


def _without_rivals(rivals: dict[int, int]) -> list[int]:
    """Take out the builds that none can replace any more, and return them."""
    found = [place for place, others in rivals.items() if not others]
    for place in found:
        del rivals[place]
    return found


def _compare(rivals: dict[int, int], values: list[int], *, settles: bool) -> None:
    """Compare one entry; take out the builds that are replaced, where being less settles it."""
    same: defaultdict[int, int] = defaultdict(int)
    for place, value in enumerate(values):
        same[value] |= 1 << place
    no_more, below = {}, 0
    for value in sorted(same):
        below |= same[value]
        no_more[value] = below
    for place in [*rivals]:
        rivals[place] &= no_more[values[place]]
        if settles:
            equal = rivals[place] & same[values[place]]
            if rivals[place] != equal:
                del rivals[place]


def undominated_patterns(instance: Instance, listed: Listed) -> Listed:
    """Keep the patterns that may be in a best build.

    Shared parts are of the kind, and so is each choice that a rule counts, because a rule may ask
    for at least so many.

    Parameters
    ----------
    instance
        The instance of the gaps.
    listed
        For each gap its patterns in the order of the tie-break; None where it is not listed.

    Returns
    -------
    list of list of Pattern, or None
        For each gap the patterns kept, in the same order; None where it is not listed.
    """
    ruled = frozenset[int]().union(*(rule.first | rule.second for rule in instance.rules))
    weighed = _weighing(instance, sorted(_contended(instance, listed) - ruled), ruled)
    return [
        patterns and [patterns[nth] for nth in undominated(weighed(patterns), instance.levels)]
        for patterns in listed
    ]


def _weighing(
    instance: Instance, contended: list[int], ruled: frozenset[int]
) -> Callable[[list[Pattern]], list[Weighed]]:
    """Return a function that weighs a gap's patterns by the choices that are contended."""
    numbers = {size: nth for nth, size in enumerate(instance.sizes)}
    if _scarcity_among(instance.levels) == len(instance.levels):
        numbers = {}
    size_of = {
        c: numbers[s] for s, choices in instance.sizes.items() if s in numbers for c in choices
    }

    def weighed(pattern: Pattern, rank: int) -> Weighed:
        uses = dict(pattern.draw.parts)
        sizes = [0] * len(numbers)
        if sizes:
            for choice, count in pattern.draw.parts:
                sizes[size_of[choice]] += count
        counted = frozenset(use for use in pattern.draw.parts if use[0] in ruled)
        takes = tuple(uses.get(choice, 0) for choice in contended)
        return Weighed((pattern.draw.shares, counted), takes, pattern.values, tuple(sizes), rank)

    return lambda patterns: [weighed(pattern, nth) for nth, pattern in enumerate(patterns)]


def _contended(instance: Instance, listed: Listed) -> frozenset[int]:
    """Return the choices of which the gaps together could need more than there are."""
    each = (
        _needed_unlisted(instance, gap)
        if patterns is None
        else most_in_one_gap(pattern.draw for pattern in patterns)
        for gap, patterns in zip(instance.gaps, listed, strict=True)
    )
    needed = most_in_one_job(each, (share for gap in instance.gaps for share in gap.shares))
    return frozenset(c for c, most in needed.items() if most > instance.choices[c].count)


def _needed_unlisted(instance: Instance, gap: GridGap) -> Counter[int]:
    places = (place for layout in gap.layouts for place in layout.places if place.shared < 0)
    return Counter({c: instance.choices[c].count for place in places for c in place.takes})
