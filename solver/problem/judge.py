"""Judges a build in plain integers. Shares no code with the engine; imports only the instance.

Every answer passes here before anyone sees it: a solver's word alone is never taken. What each
level counts is worked out here once more, from the words of the aims and not from their table; a
level without arithmetic of its own here is refused, never taken for 0.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, assert_never

from solver.problem.gaps import MIDDLE, RATIO

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.problem.aims import JobMeasure, Level
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import Build, ChoiceRule, Instance

    Parts = Counter[tuple[JobMeasure, bool, int]]
    """What parts count on a measure, for gaps that shift and in a grade where it has these."""
    Lies = dict[JobMeasure, int]
    """What one gap counts by where it lies."""


def gap_of(instance: Instance, build: Build, index: int) -> int:
    """The gap a build leaves, in steps of the grid."""
    layout = _layout(instance, build, index)
    gap = layout.room
    for place, parts in zip(layout.places, build[index].parts, strict=True):
        for choice in parts:
            gap -= place.takes[choice]
    return gap


def drawn(instance: Instance, build: Build, gap: int = -1) -> Counter[int]:
    """How many parts of each choice a build uses; a shared part counts once."""
    total: Counter[int] = Counter()
    seen: set[int] = set()
    for index in range(len(instance.gaps)) if gap < 0 else (gap,):
        layout = _layout(instance, build, index)
        for place, parts in zip(layout.places, build[index].parts, strict=True):
            if place.shared >= 0 and place.shared in seen:
                continue
            if place.shared >= 0:
                seen.add(place.shared)
            for choice in parts:
                total[choice] += 1
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
    parts, lies = _of_parts(instance, build), _of_gaps(instance, build)
    return tuple(_value(instance, build, parts, lies, level) for level in instance.levels)


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
    if instance.sure is not None:
        layout, left = _layout(instance, build, index), gap_of(instance, build, index)
        if not instance.sure(gap.name, layout, build[index], left):
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


def _value(
    instance: Instance, build: Build, parts: Parts, lies: Sequence[Lies], level: Level
) -> int:
    match level.measure:
        case "rank":
            return sum(_layout(instance, build, index).rank for index in range(len(build)))
        case "thin" | "heat" | "shims":
            return parts[level.measure, level.shifts, level.grade]
        case "near limits" | "middle" | "ratio" | "deviation":
            return sum(gap[level.measure] for gap in lies)
        case "worst middle" | "worst":
            return max((gap[level.measure] for gap in lies), default=0)
        case "change":
            return _change(instance, build)
        case "scarce":
            return _scarce(instance, build)
        case "pinned" | "priority" | "number" | "kept" | "cost":
            raise AssertionError(f"{level.measure} is of a plan, not of one rebuild")
        case _:
            assert_never(level.measure)  # an aim the judge has no arithmetic for


def _of_parts(instance: Instance, build: Build) -> Parts:
    """What the parts count, place by place; thin steels by whether their gap shifts, and grade."""
    total: Parts = Counter()
    for index, gap in enumerate(instance.gaps):
        heat = shims = 0
        for place, held in zip(
            _layout(instance, build, index).places, build[index].parts, strict=True
        ):
            for choice in held:
                part = instance.choices[choice]
                total["thin", gap.shifts, part.grade] += 1
                heat += place.heat * part.deficit
                shims += place.most > 1 or place.least < 1
        total["heat", False, 0] += heat
        total["shims", False, 0] += shims
    return total


def _of_gaps(instance: Instance, build: Build) -> list[Lies]:
    """What each gap counts by where it lies."""
    found: list[Lies] = []
    for index in range(len(build)):
        layout, gap = _layout(instance, build, index), gap_of(instance, build, index)
        off = abs(gap - layout.aim)
        ratio = -(-RATIO * off // layout.width)
        beyond = ratio if layout.nearest else max(0, ratio - MIDDLE)
        found.append(
            {
                "near limits": _near_limits(layout, gap),
                "worst middle": beyond,
                "middle": beyond,
                "worst": ratio,
                "ratio": ratio,
                "deviation": off,
            }
        )
    return found


def _near_limits(layout: GridLayout, gap: int) -> int:
    """How much of its guard band a gap lacks, in ten-thousandths of the window's width."""
    guard = layout.guard
    if guard is None:
        return 0
    band, over = guard.band.as_integer_ratio()
    ends = [gap - guard.low] if guard.low is not None else []
    ends += [guard.high - gap] if guard.high is not None else []
    lacks = max((band - over * left for left in ends), default=0)
    return -(-RATIO * max(0, lacks) // (layout.width * over))


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
