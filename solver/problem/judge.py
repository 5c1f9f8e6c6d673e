"""Judges a build in plain integers. Shares no code with the engine; imports only the instance.

Every answer passes here before anyone sees it: a solver's word alone is never taken. What each
level counts is worked out here once more, from the words of the aims and not from their table; a
level without arithmetic of its own here is refused, never taken for 0.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, assert_never

from solver.problem.gaps import MIDDLE, RATIO

if TYPE_CHECKING:
    from solver.problem.aims import Level
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import Build, ChoiceRule, Instance


def gap_of(instance: Instance, build: Build, index: int) -> int:
    """The gap a build leaves, in steps of the grid."""
    layout = _layout(instance, build, index)
    taken = sum(
        place.takes[choice]
        for place, parts in zip(layout.places, build[index].parts, strict=True)
        for choice in parts
    )
    return layout.room - taken


def drawn(instance: Instance, build: Build, gap: int = -1) -> Counter[int]:
    """How many parts of each choice a build uses; a shared part counts once."""
    total: Counter[int] = Counter()
    seen: set[int] = set()
    for index in range(len(instance.gaps)) if gap < 0 else (gap,):
        layout = _layout(instance, build, index)
        for place, parts in zip(layout.places, build[index].parts, strict=True):
            if place.shared >= 0 and place.shared in seen:
                continue
            seen |= {place.shared} - {-1}
            total.update(parts)
    return total


def faults(instance: Instance, build: Build, *, windows: bool = True) -> list[str]:
    """Name everything that keeps a build from being allowed; empty when it is.

    Parameters
    ----------
    instance
        The instance.
    build
        For each of its gaps a layout and the choices at each place, in the order of the gaps.
    windows
        Whether gaps must land in their windows, which a nearest miss need not.
    """
    if len(build) != len(instance.gaps):
        return ["not every gap is built"]
    found = [fault for index in range(len(build)) for fault in _filling(instance, build, index)]
    if found:
        return found
    if windows:
        found += [f for index in range(len(build)) for f in _window(instance, build, index)]
    for choice, count in drawn(instance, build).items():
        if count > instance.choices[choice].count:
            found.append(
                f"{count} of choice {choice} drawn, {instance.choices[choice].count} on hand"
            )
    found += [
        f"rule broken: {rule.words}" for rule in instance.rules if not _kept(instance, build, rule)
    ]
    return found + _agreement(instance, build)


def values(instance: Instance, build: Build) -> tuple[int, ...]:
    """Work out the value of every level of a build, in the order of `instance.levels`.

    Written from the definitions of the aims in solver/README.md, not from their table. Lengths are
    in steps of the grid, shares of a window in ten-thousandths. Raises AssertionError at a level it
    has no arithmetic for.
    """
    return tuple(_value(instance, build, level) for level in instance.levels)


def miss_of(instance: Instance, build: Build, index: int) -> int:
    """How far a gap lies outside its window, in steps."""
    layout, gap = _layout(instance, build, index), gap_of(instance, build, index)
    under = 0 if layout.low is None else layout.low - gap
    over = 0 if layout.high is None else gap - layout.high
    return max(0, under, over)


def _layout(instance: Instance, build: Build, index: int) -> GridLayout:
    return instance.gaps[index].layouts[build[index].layout]


def _filling(instance: Instance, build: Build, index: int) -> list[str]:
    layout = _layout(instance, build, index)
    if len(layout.places) != len(build[index].parts):
        return [f"{instance.gaps[index].name}: wrong number of places"]
    found = []
    for place, parts in zip(layout.places, build[index].parts, strict=True):
        if not place.least <= len(parts) <= place.most:
            found.append(f"{place.label}: {len(parts)} parts")
        if any(choice not in place.takes for choice in parts):
            found.append(f"{place.label}: a part that is not allowed there")
    return found


def _window(instance: Instance, build: Build, index: int) -> list[str]:
    miss, gap = miss_of(instance, build, index), instance.gaps[index]
    if miss:
        return [f"{gap.name}: {miss} outside its window"]
    layout, left = _layout(instance, build, index), gap_of(instance, build, index)
    if instance.sure is not None and not instance.sure(gap.name, layout, build[index], left):
        return [f"{gap.name}: not as sure as is asked"]
    return []


def _agreement(instance: Instance, build: Build) -> list[str]:
    """A shared part is one part: every gap must see the same."""
    seen: dict[int, tuple[int, ...]] = {}
    for index in range(len(build)):
        for place, parts in zip(
            _layout(instance, build, index).places, build[index].parts, strict=True
        ):
            if place.shared >= 0 and seen.setdefault(place.shared, parts) != parts:
                return [f"{place.label}: gaps disagree on a shared part"]
    return []


def _kept(instance: Instance, build: Build, rule: ChoiceRule) -> bool:
    counts = drawn(instance, build, rule.gap)
    first = sum(counts[choice] for choice in rule.first)
    second = sum(counts[choice] for choice in rule.second)
    if rule.kind == "must":
        return not first or second > 0
    if rule.kind == "never":
        return not first or not second
    return first <= rule.bound if rule.kind == "at most" else first >= rule.bound


def _value(instance: Instance, build: Build, level: Level) -> int:
    gaps = range(len(build))
    match level.measure:
        case "rank":
            return sum(_layout(instance, build, index).rank for index in gaps)
        case "thin" | "heat" | "shims":
            return sum(_of_parts(instance, build, index, level) for index in gaps)
        case "near limits" | "middle" | "ratio" | "deviation":
            return sum(_of_gap(instance, build, index, level) for index in gaps)
        case "worst middle" | "worst":
            return max((_of_gap(instance, build, index, level) for index in gaps), default=0)
        case "change":
            return _change(instance, build)
        case "scarce":
            return _scarce(instance, build)
        case "pinned" | "priority" | "number" | "kept" | "cost":
            raise AssertionError(f"{level.measure} is of a plan, not of one rebuild")
        case _:
            assert_never(level.measure)  # an aim the judge has no arithmetic for


def _of_parts(instance: Instance, build: Build, index: int, level: Level) -> int:
    """What the parts of a gap count, place by place."""
    layout, total = _layout(instance, build, index), 0
    for place, parts in zip(layout.places, build[index].parts, strict=True):
        for choice in parts:
            part = instance.choices[choice]
            if level.measure == "thin":
                total += part.grade == level.grade and instance.gaps[index].shifts == level.shifts
            elif level.measure == "heat":
                total += place.heat * part.deficit
            else:
                total += place.most > 1 or place.least < 1
    return total


def _of_gap(instance: Instance, build: Build, index: int, level: Level) -> int:
    """What a gap counts by where it lies."""
    layout, gap = _layout(instance, build, index), gap_of(instance, build, index)
    if level.measure == "near limits":
        return _near_limits(layout, gap)
    off = abs(gap - layout.aim)
    ratio = -(-RATIO * off // layout.width)
    if level.measure == "deviation":
        return off
    if level.measure in ("worst middle", "middle"):
        return ratio if layout.nearest else max(0, ratio - MIDDLE)
    return ratio


def _near_limits(layout: GridLayout, gap: int) -> int:
    """How much of its guard band a gap lacks, in ten-thousandths of the window's width."""
    guard, lacks = layout.guard, [Fraction(0)]
    if guard is not None and guard.low is not None:
        lacks.append(guard.band - (gap - guard.low))
    if guard is not None and guard.high is not None:
        lacks.append(guard.band - (guard.high - gap))
    return ceil(RATIO * max(lacks) / layout.width)


def _change(instance: Instance, build: Build) -> int:
    total = 0
    held: dict[int, tuple[int, ...]] = {}
    for index in range(len(build)):
        layout = _layout(instance, build, index)
        total += layout.moved
        for place, parts in zip(layout.places, build[index].parts, strict=True):
            if place.shared >= 0:
                held[place.shared] = parts
            elif place.now is not None:
                total += place.weight * _differ(parts, place.now)
    return total + sum(
        shared.weight * _differ(held.get(index, ()), shared.now)
        for index, shared in enumerate(instance.shared)
        if shared.now is not None
    )


def _differ(new: tuple[int, ...], old: tuple[int, ...]) -> int:
    """How many parts go in or come out, whichever is more."""
    come, go = Counter(new) - Counter(old), Counter(old) - Counter(new)
    return max(come.total(), go.total())


def _scarce(instance: Instance, build: Build) -> int:
    counts = drawn(instance, build)
    total = 0
    for choices in instance.sizes.values():
        on_hand = sum(instance.choices[choice].count for choice in choices)
        taken = sum(counts[choice] for choice in choices)
        total += sum(RATIO // left for left in range(on_hand, on_hand - taken, -1))
    return total
