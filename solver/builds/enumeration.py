"""Lists every build of a gap, from every way to fill the places of one layout.

Places of the same family and factor form a group: moving a part between them does not change the
gap. So a build is a multiset of parts for each group, and only the best order of each multiset is
kept. That loses nothing. For a given multiset the order affects no aim but `heat` and `change`
(sums over places) and the tie-break. So the order that is least on these, by the order of the aims
and then by the ranks in order of assembly, is as good for the whole job as deciding the order in
the model. The best order is found place by place: two beginnings that use the same parts have the
same continuations, so the better beginning stays the better.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

from solver.problem.aims import Changes, OfParts
from solver.problem.shared_parts import draw_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap, GridLayout, GridPlace
    from solver.problem.instance import Instance
    from solver.problem.shared_parts import Draw

Parts = tuple[tuple[int, ...], ...]
MOST_STEPS = 50_000


class TooManyError(Exception):
    """There are more builds than are worth listing."""


@dataclass(frozen=True, slots=True)
class PlaceGroup:
    """Places whose parts may be exchanged without changing the gap."""

    places: tuple[int, ...]
    """Indices of the layout's places, in order of assembly."""


@dataclass(frozen=True, slots=True)
class GroupBuild:
    """One multiset of parts for a group of places, in its best order."""

    takes: int
    values: tuple[int, ...]
    """Its parts' addition to each level."""
    placed: tuple[tuple[int, tuple[int, ...]], ...]
    """The indices of the places, each with its parts."""


@dataclass(frozen=True, slots=True)
class LayoutBuild:
    """The parts at every place of a layout, independent of the space."""

    takes: int
    values: tuple[int, ...]
    """Its parts' addition to each level."""
    draw: Draw
    parts: Parts


def groups(layout: GridLayout) -> list[PlaceGroup]:
    """Split a layout's places into groups; a shared part or a place for shims stands alone."""
    found: dict[object, list[int]] = {}
    for index, place in enumerate(layout.places):
        key = (place.family, place.factor) if place.single else index
        found.setdefault(key, []).append(index)
    return [PlaceGroup(tuple(indices)) for indices in found.values()]


def layout_builds(
    instance: Instance, gap: GridGap, layout: GridLayout, most: int, anywhere: int = 0
) -> Iterator[LayoutBuild]:
    """List the builds of a layout that leave a gap in its window, or all that there are.

    Parameters
    ----------
    instance
        The instance, with its stock and levels.
    gap
        The gap that the layout belongs to.
    layout
        The layout.
    most
        The most builds of a group of places.
    anywhere
        Where above 0, list the builds of any space; it is the most of them.

    Yields
    ------
    LayoutBuild
        The builds, in no particular order. The stock may hold too few parts for some of them.

    Raises
    ------
    TooManyError
        Where a group has more than `most` builds, the layout more than `anywhere`, or finding them
        would take more than MOST_STEPS steps.
    """
    ways = [group_builds(instance, gap, layout, group, most) for group in groups(layout)]
    ways = ways or [[GroupBuild(0, (0,) * len(instance.levels), ())]]
    number = 1
    for builds in ways:
        number *= len(builds)
    if anywhere and number > anywhere:
        raise TooManyError
    for chosen in _combined(layout, ways, anywhere=anywhere > 0):
        yield _joined(layout, chosen)


def _combined(
    layout: GridLayout, ways: list[list[GroupBuild]], *, anywhere: bool
) -> Iterator[tuple[GroupBuild, ...]]:
    """Yield one build of every group: those that together land in the window, or all."""
    ways = sorted(ways, key=len)
    begun: list[tuple[GroupBuild, ...]] = [()]
    for builds in ways[:-1]:
        begun = [(*chosen, build) for chosen in begun for build in builds]
        if len(begun) > MOST_STEPS:
            raise TooManyError
    last = sorted(ways[-1], key=lambda build: build.takes)
    sums = [build.takes for build in last]
    for chosen in begun:
        left = layout.room - sum(build.takes for build in chosen)
        landing = slice(None) if anywhere else layout.landing(sums, left)
        yield from ((*chosen, build) for build in last[landing])


def _joined(layout: GridLayout, chosen: tuple[GroupBuild, ...]) -> LayoutBuild:
    parts: list[tuple[int, ...]] = [()] * len(layout.places)
    for build in chosen:
        for place, here in build.placed:
            parts[place] = here
    return LayoutBuild(
        sum(build.takes for build in chosen),
        tuple(map(sum, zip(*(build.values for build in chosen), strict=True))),
        draw_of(layout, parts),
        tuple(parts),
    )


def group_builds(
    instance: Instance, gap: GridGap, layout: GridLayout, group: PlaceGroup, limit: int
) -> list[GroupBuild]:
    """List every multiset of parts that a group of places can hold, each in its best order.

    Parameters
    ----------
    instance
        The instance, with its stock and levels.
    gap, layout
        The gap and the layout that the group belongs to.
    group
        The group of places.
    limit
        The most builds of the group.

    Returns
    -------
    list of GroupBuild
        One for each multiset.

    Raises
    ------
    TooManyError
        Where there are more than `limit`.
    """
    counting = _Counting(instance, gap, layout)
    if _at_least(instance, [layout.places[index] for index in group.places]) > limit:
        raise TooManyError
    found: dict[tuple[int, ...], _Begun] = {(): (counting.nothing, (), 0)}
    for index in group.places:
        place = layout.places[index]
        further: dict[tuple[int, ...], _Begun] = {}
        options = [
            (parts, counting.ordered(index, parts), sum(place.takes[part] for part in parts))
            for parts in _options(instance, place)
        ]
        for used, (costs, placed, takes) in found.items():
            for parts, more, taken in options:
                total = tuple(sorted(used + parts))
                if any(total.count(part) > instance.choices[part].count for part in parts):
                    continue
                new = tuple(map(int.__add__, costs, more)), (*placed, parts), takes + taken
                if total not in further or new < further[total]:
                    further[total] = new
            if len(further) > limit:
                raise TooManyError
        found = further
    return [counting.build(group, placed, takes) for _, placed, takes in found.values()]


_Begun = tuple[tuple[int, ...], Parts, int]
"""Parts of a group's first places: the cost of their order, the places, and their thickness."""


def _options(instance: Instance, place: GridPlace) -> Iterator[tuple[int, ...]]:
    """Yield every single part, or multiset of shims, that a place can take."""
    for count in range(place.least, place.most + 1):
        for parts in combinations_with_replacement(sorted(place.takes), count):
            if all(n <= instance.choices[part].count for part, n in Counter(parts).items()):
                yield parts


def _at_least(instance: Instance, places: list[GridPlace]) -> int:
    """Return a lower bound on a group's multisets, from choices all places take; 0 for shims."""
    if any(place.stacked for place in places):
        return 0
    ways = [1] + [0] * len(places)
    for choice in set.intersection(*(set(place.takes) for place in places)):
        most = instance.choices[choice].count
        ways = [sum(ways[max(0, n - most) : n + 1]) for n in range(len(ways))]
    return ways[-1]


class _Counting:
    """Works out the addition of parts to the levels; 0 for levels that do not depend on parts."""

    def __init__(self, instance: Instance, gap: GridGap, layout: GridLayout) -> None:
        self.layout = layout
        self.number = len(instance.levels)
        levels = [
            (nth, level)
            for nth, level in enumerate(instance.levels)
            if isinstance(level.counts, OfParts | Changes) and level.concerns(shifts=gap.shifts)
        ]
        self.each = {
            nth: [self._of_place(instance, level, place) for place in layout.places]
            for nth, level in levels
        }
        self.changes = [nth for nth, level in levels if isinstance(level.counts, Changes)]
        self.in_order = [
            nth
            for nth, level in levels
            if isinstance(level.counts, Changes) or level.counts.ordered  # type: ignore[union-attr]
        ]
        self.nothing = (0,) * len(self.in_order)

    def _of_place(self, instance: Instance, level: Level, place: GridPlace) -> dict[int, int]:
        """Return the addition of each choice at a place, where it is not 0."""
        if not isinstance(level.counts, OfParts):
            return {}
        count = level.counts.count
        each = {part: count(place, instance.choices[part], level.grade) for part in place.takes}
        return {part: value for part, value in each.items() if value}

    def value(self, nth: int, index: int, parts: tuple[int, ...]) -> int:
        """Return the addition of the parts at a place to a level."""
        if nth in self.changes:
            place = self.layout.places[index]
            return place.weight * changed(place, parts)
        each = self.each[nth][index]
        return sum(each.get(part, 0) for part in parts) if each else 0

    def ordered(self, index: int, parts: tuple[int, ...]) -> tuple[int, ...]:
        """Return the addition of parts to the levels that depend on their place, in order."""
        return tuple(self.value(nth, index, parts) for nth in self.in_order)

    def build(self, group: PlaceGroup, parts: Parts, takes: int) -> GroupBuild:
        """Make the build of a group from the parts at its places."""
        placed = tuple(zip(group.places, parts, strict=True))
        values = [0] * self.number
        for nth in self.each:
            values[nth] = sum(self.value(nth, index, here) for index, here in placed)
        return GroupBuild(takes, tuple(values), placed)


def changed(place: GridPlace, parts: tuple[int, ...]) -> int:
    """Return how many parts go in or come out at a place, whichever is more."""
    if place.before is None:
        return 0
    new, old = Counter(parts), Counter(place.before)
    return max((new - old).total(), (old - new).total())
