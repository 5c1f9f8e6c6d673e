"""Every way to fill the places of one layout, each with its best order.

Places of the same family and factor form a group: which of its places a part lies in does not
move the gap. So a pattern is a multiset of parts for each group, and only the best order of
each multiset is kept. That loses nothing: for a given multiset the order touches no aim but
`heat` and `change` (sums over places) and the tie-break, so taking the least of (heat, change)
in the order of the aims, then the least ranks in order of assembly, is as good for the whole job
as deciding the order inside the model. The best order is found place by place: two beginnings
that use the same parts end in the same ways, so the better beginning stays the better.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from solver.problem.instance import Layout, Place, Task

Parts = tuple[tuple[int, ...], ...]


class TooManyError(Exception):
    """There are more ways than it pays to list."""


@dataclass(frozen=True, slots=True)
class Fill:
    """One multiset of parts for a group of places, in its best order."""

    takes: int
    heat: int
    change: int
    parts: Parts


@dataclass(frozen=True, slots=True)
class Group:
    """Places whose parts may change places without moving the gap."""

    places: tuple[int, ...]
    """Indices into the layout's places, in order of assembly."""


def groups(layout: Layout) -> list[Group]:
    """Split a layout's places into groups."""
    found: dict[object, list[int]] = {}
    for index, place in enumerate(layout.places):
        single = place.least == place.most == 1 and place.shared < 0
        key = (place.family, place.factor) if single else index
        found.setdefault(key, []).append(index)
    return [Group(tuple(indices)) for indices in found.values()]


def fills(task: Task, layout: Layout, group: Group, limit: int) -> list[Fill]:
    """List every multiset of parts a group can hold; raises TooManyError past the limit."""
    places = [layout.places[index] for index in group.places]
    if _at_least(task, places) > limit:
        raise TooManyError
    key_of = _key(task)
    ways: dict[tuple[int, ...], tuple[tuple[int, ...], Fill]] = {(): ((0, 0), Fill(0, 0, 0, ()))}
    for index in group.places:
        place = layout.places[index]
        longer: dict[tuple[int, ...], tuple[tuple[int, ...], Fill]] = {}
        options = [(parts, _alone(task, place, parts)) for parts in _options(task, place)]
        for used, (_, fill) in ways.items():
            for parts, alone in options:
                total = tuple(sorted(used + parts))
                if any(total.count(part) > task.choices[part].count for part in parts):
                    continue
                new = _joined(fill, alone)
                key = key_of(new)
                if total not in longer or (key, new.parts) < (
                    longer[total][0],
                    longer[total][1].parts,
                ):
                    longer[total] = (key, new)
            if len(longer) > limit:
                raise TooManyError
        ways = longer
    return [fill for _, fill in ways.values()]


def _options(task: Task, place: Place) -> Iterator[tuple[int, ...]]:
    """Every single part or handful of shims a place can take."""
    for count in range(place.least, place.most + 1):
        for parts in combinations_with_replacement(sorted(place.takes), count):
            if all(n <= task.choices[part].count for part, n in Counter(parts).items()):
                yield parts


def _at_least(task: Task, places: list[Place]) -> int:
    """Count the multisets of the choices that all places take; of shims, none."""
    if any((place.least, place.most) != (1, 1) for place in places):
        return 0
    ways = [1] + [0] * len(places)
    for choice in set.intersection(*(set(place.takes) for place in places)):
        most = task.choices[choice].count
        ways = [sum(ways[max(0, n - most) : n + 1]) for n in range(len(ways))]
    return ways[-1]


def _alone(task: Task, place: Place, parts: tuple[int, ...]) -> Fill:
    return Fill(
        sum(place.takes[part] for part in parts),
        place.heat * sum(task.choices[part].deficit for part in parts),
        0 if place.shared >= 0 else place.weight * changed(place, parts),
        (parts,),
    )


def _joined(one: Fill, two: Fill) -> Fill:
    return Fill(
        one.takes + two.takes,
        one.heat + two.heat,
        one.change + two.change,
        one.parts + two.parts,
    )


def _key(task: Task) -> Callable[[Fill], tuple[int, ...]]:
    """What the order of parts is chosen by: heat and change as the aims name them."""
    return {
        (): lambda _: (),
        ("heat",): lambda fill: (fill.heat,),
        ("change",): lambda fill: (fill.change,),
        ("heat", "change"): lambda fill: (fill.heat, fill.change),
        ("change", "heat"): lambda fill: (fill.change, fill.heat),
    }[tuple(aim for aim in task.aims if aim in ("heat", "change"))]


def changed(place: Place, parts: tuple[int, ...]) -> int:
    """How many parts go in or come out at a place, whichever is more."""
    if place.now is None:
        return 0
    new, old = Counter(parts), Counter(place.now)
    return max((new - old).total(), (old - new).total())
