"""Ordering after counting is exact: each multiset of parts stands in its best order.

A group of places is tried out part by part; of the assignments that use the same parts, the one
with the least heat and change, in the order of the aims, and then the least ranks must be kept.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import TYPE_CHECKING

import pytest

from solver.builds.enumeration import TooManyError, group_builds, groups
from tests.amounts import few, share
from tests.oracles.against_brute import posed
from tests.oracles.random_jobs import LARGER, random_job

if TYPE_CHECKING:
    from solver.builds.enumeration import GroupBuild, PlaceGroup
    from solver.problem.gaps import GridLayout, GridPlace
    from solver.problem.instance import Instance

MOST = 5_000
Ranked = tuple[tuple[int, ...], tuple[tuple[int, ...], ...]]


def tried_out(
    instance: Instance, layout: GridLayout, group: PlaceGroup
) -> dict[tuple[int, ...], Ranked]:
    """The best order of every multiset of single parts at a group's places."""
    places = [layout.places[index] for index in group.places]
    best: dict[tuple[int, ...], Ranked] = {}
    for parts in product(*(sorted(place.takes) for place in places)):
        if any(n > instance.choices[choice].count for choice, n in Counter(parts).items()):
            continue
        ranked = cost(instance, places, parts), tuple((part,) for part in parts)
        multiset = tuple(sorted(parts))
        best[multiset] = min(best.get(multiset, ranked), ranked)
    return best


def cost(instance: Instance, places: list[GridPlace], parts: tuple[int, ...]) -> tuple[int, ...]:
    heat = change = 0
    for place, part in zip(places, parts, strict=True):
        heat += place.heat * instance.choices[part].deficit
        if place.now is not None and (part,) != place.now:
            change += place.weight * max(1, len(place.now))
    named = {"heat": heat, "change": change}
    return tuple(named[aim] for aim in instance.aims if aim in named)


def kept(instance: Instance, build: GroupBuild) -> Ranked:
    costs = zip(instance.levels, build.values, strict=True)
    ordered = tuple(cost for level, cost in costs if level.aim in ("heat", "change"))
    return ordered, tuple(parts for _, parts in build.placed)


@pytest.mark.parametrize("size", [1, LARGER])
def test_of_each_multiset_the_best_order_is_kept(size: int) -> None:
    tried = orders = 0
    for seed in few(range(600)):
        instance = posed(random_job(seed, size).case())
        for gap, layout in ((one, layout) for one in instance.gaps for layout in one.layouts):
            for group in groups(layout):
                places = [layout.places[index] for index in group.places]
                ways = 1
                for place in places:
                    ways *= len(place.takes)
                if len(places) == 1 or ways > MOST:
                    continue
                ours = group_builds(instance, gap, layout, group, MOST)
                best = tried_out(instance, layout, group)
                placed = [kept(instance, build) for build in ours]
                assert {
                    tuple(sorted(c for here in parts for c in here)): (cost, parts)
                    for cost, parts in placed
                } == best, seed
                assert len(ours) == len(best)
                tried += 1
                orders += any(list(parts) != sorted(parts) for _, parts in placed)
    assert tried >= share(151)
    assert orders >= share(31), "the order of the ranks alone would never have been wrong"


def test_a_group_holds_places_whose_parts_move_the_gap_alike() -> None:
    for seed in few(range(200)):
        instance = posed(random_job(seed).case())
        for layout in (layout for gap in instance.gaps for layout in gap.layouts):
            found = groups(layout)
            assert sorted(i for group in found for i in group.places) == [
                *range(len(layout.places))
            ]
            for group in found:
                alike = {(layout.places[i].family, layout.places[i].factor) for i in group.places}
                assert len(alike) == 1
                single = all(
                    layout.places[i].least == layout.places[i].most == 1
                    and layout.places[i].shared < 0
                    for i in group.places
                )
                assert single or len(group.places) == 1


def test_too_many_fillings_are_said_to_be_too_many() -> None:
    instance = posed(random_job(3, LARGER).case())
    layouts = ((x, gap) for gap in instance.gaps for x in gap.layouts)
    layout, gap = max(layouts, key=lambda one: len(one[0].places))
    with pytest.raises(TooManyError):
        group_builds(instance, gap, layout, groups(layout)[0], 0)
