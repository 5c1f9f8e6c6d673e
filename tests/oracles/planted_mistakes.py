"""Builds with one mistake in them, put together again from the unit file and measured anew.

A build is altered as a hand at the bench would get it wrong, and its gap is added up from the
stack: nothing is told by how far a mistake moves a gap.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from tests.oracles.brute_files import own_space

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case
    from specs.models.gaps import Arrangement

Part = tuple[str, str, Fraction]
"""Its family, its size, its thickness in nanometres."""
Stacks = dict[str, tuple[str, list[list[Part]]]]
"""For each gap the layout, and the parts at every place of the stack, fixed ones too."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """What was done wrong, and what gaps then measure."""

    words: str
    gaps: dict[str, Fraction]


def layout_of(case: Case, gap: str, name: str) -> Arrangement:
    return case.unit.gaps[gap].arrangements[name]


def height_counts(case: Case, gap: str, name: str) -> bool:
    window = layout_of(case, gap, name).window or case.unit.gaps[gap].window
    assert window is not None
    return window.on == "height"


def measured(case: Case, stacks: Stacks, gap: str) -> Fraction:
    """What a gap measures with the parts that are in."""
    name, stack = stacks[gap]
    places = layout_of(case, gap, name).stack
    total = sum(
        (
            place.factor * part[2]
            for place, parts in zip(places, stack, strict=True)
            for part in parts
        ),
        Fraction(0),
    )
    space = own_space(case, gap, name)
    return space + total if height_counts(case, gap, name) else space - total


def mistakes(case: Case, stacks: Stacks) -> Iterator[Mistake]:
    """Every single mistake in the drum."""
    for gap, (name, stack) in stacks.items():
        for nth, parts in enumerate(stack):
            for at in range(len(parts)):
                yield from _with_one_part(case, stacks, gap, nth, at)
        yield from _other_families(case, stacks, gap, name)
    yield from _swaps(case, stacks)


def _altered(case: Case, stacks: Stacks, words: str, *gaps: str) -> Mistake:
    return Mistake(words, {gap: measured(case, stacks, gap) for gap in dict.fromkeys(gaps)})


def _with_one_part(case: Case, stacks: Stacks, gap: str, nth: int, at: int) -> Iterator[Mistake]:
    name, stack = stacks[gap]
    place = layout_of(case, gap, name).stack[nth]
    family, size, thickness = stack[nth][at]
    words = f"{family} {size}".strip() if size else place.part
    fewer, more = deepcopy(stacks), deepcopy(stacks)
    del fewer[gap][1][nth][at]
    yield _altered(case, fewer, f"{gap}: one {words} fewer than listed", gap)
    more[gap][1][nth].append(stack[nth][at])
    yield _altered(case, more, f"{gap}: one {words} more than listed", gap)
    if place.groove and place.groove.takes.high is not None:
        there = measured(case, stacks, gap) - (place.groove.takes.high.nm - thickness)
        yield Mistake(f"{gap}: the {words} held on the inner face of its groove", {gap: there})
    for other, spec in case.unit.families[family].sizes.items() if size else ():
        if other != size:
            wrong = deepcopy(stacks)
            shared = place.part in case.unit.shared_parts
            gaps = [g for g in stacks if shared and _holds(case, stacks, g, place.part)] or [gap]
            for where in gaps:
                index = _index(case, stacks, where, place.part) if shared else nth
                wrong[where][1][index][at] = (family, other, spec.nominal.nm)
            told = f"{' and '.join(gaps)}: {family} {other} where {size} is listed"
            yield _altered(case, wrong, told, *gaps)


def _holds(case: Case, stacks: Stacks, gap: str, part: str) -> bool:
    return any(place.part == part for place in layout_of(case, gap, stacks[gap][0]).stack)


def _index(case: Case, stacks: Stacks, gap: str, part: str) -> int:
    return [place.part for place in layout_of(case, gap, stacks[gap][0]).stack].index(part)


def _other_families(case: Case, stacks: Stacks, gap: str, name: str) -> Iterator[Mistake]:
    """All plates of a fixed family, and those of another of its kind in their stead."""
    places = layout_of(case, gap, name).stack
    for mine in dict.fromkeys(place.part for place in places):
        family = case.unit.families.get(mine)
        if family is None or family.fixed is None:
            continue
        for other, spec in case.unit.families.items():
            if other == mine or spec.kind != family.kind or not spec.fixed:
                continue
            wrong = deepcopy(stacks)
            for nth, place in enumerate(places):
                if place.part == mine:
                    wrong[gap][1][nth] = [(other, "", spec.fixed.nm)]
            yield _altered(case, wrong, f"{gap}: {other} parts in the place of {mine}", gap)


def _swaps(case: Case, stacks: Stacks) -> Iterator[Mistake]:
    spots = [
        (gap, nth, at, layout_of(case, gap, name).labels[nth])
        for gap, (name, stack) in stacks.items()
        for nth, parts in enumerate(stack)
        for at, part in enumerate(parts)
        if part[1]
    ]
    for (gap, nth, at, label), (other, mth, bt, told) in combinations(spots, 2):
        one, two = stacks[gap][1][nth][at], stacks[other][1][mth][bt]
        if one[0] != two[0] or one[2] == two[2]:
            continue
        wrong = deepcopy(stacks)
        wrong[gap][1][nth][at], wrong[other][1][mth][bt] = two, one
        where = gap if gap == other else f"{gap} and {other}"
        words = f"{where}: {one[0]} {one[1]} and {two[1]} swapped ({label}, {told})"
        yield _altered(case, wrong, words, gap, other)
