"""Measures a build of an instance in whole numbers, for the oracles; the judge has its own way.

Everything is read off one list: which part lies at which place of which gap.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.problem.aims import Level
    from solver.problem.gaps import GridLayout, GridPlace
    from solver.problem.instance import Build, ChoiceRule, Instance


@dataclass(frozen=True, slots=True)
class Laid:
    """What lies at one place."""

    gap: int
    place: GridPlace
    parts: tuple[int, ...]


def laid(instance: Instance, build: Build) -> list[Laid]:
    """What lies where."""
    return [
        Laid(index, place, parts)
        for index, (gap, chosen) in enumerate(zip(instance.gaps, build, strict=True))
        for place, parts in zip(gap.layouts[chosen.layout].places, chosen.parts, strict=True)
    ]


def layouts(instance: Instance, build: Build) -> list[GridLayout]:
    """The layouts chosen."""
    return [gap.layouts[chosen.layout] for gap, chosen in zip(instance.gaps, build, strict=True)]


def gap_left(instance: Instance, build: Build, index: int) -> int:
    """The gap a build leaves."""
    taken = sum(
        at.place.takes[c] for at in laid(instance, build) if at.gap == index for c in at.parts
    )
    return layouts(instance, build)[index].room - taken


def used(instance: Instance, build: Build, gap: int | None = None) -> Counter[int]:
    """How many of each choice a build or one gap of it uses; a shared part is one part."""
    here = [at for at in laid(instance, build) if gap in (None, at.gap)]
    counts = Counter(c for at in here if at.place.shared < 0 for c in at.parts)
    return counts + Counter(
        {at.place.shared: at.parts[0] for at in here if at.place.shared >= 0}.values()
    )


def allowed(instance: Instance, build: Build) -> bool:
    """Whether a build lands in all windows with the parts there are, by all rules."""
    for index, layout in enumerate(layouts(instance, build)):
        left = gap_left(instance, build, index)
        below = layout.low is not None and left < layout.low
        if below or (layout.high is not None and left > layout.high):
            return False
    if any(not at.place.least <= len(at.parts) <= at.place.most for at in laid(instance, build)):
        return False
    in_stock = all(n <= instance.choices[c].count for c, n in used(instance, build).items())
    joint = {(at.place.shared, at.parts) for at in laid(instance, build) if at.place.shared >= 0}
    agreed = len({shared for shared, _ in joint}) == len(joint)
    return in_stock and agreed and all(_holds(instance, build, rule) for rule in instance.rules)


def _holds(instance: Instance, build: Build, rule: ChoiceRule) -> bool:
    counts = used(instance, build, None if rule.gap < 0 else rule.gap)
    first, second = (sum(counts[c] for c in choices) for choices in (rule.first, rule.second))
    return {
        "must": first == 0 or second > 0,
        "never": first == 0 or second == 0,
        "at most": first <= rule.bound,
        "at least": first >= rule.bound,
    }[rule.kind]


def measured(instance: Instance, build: Build) -> tuple[int, ...]:
    """The value of every level."""
    return tuple(_value(instance, build, level) for level in instance.levels)


def _value(instance: Instance, build: Build, level: Level) -> int:  # noqa: PLR0911 - one a measure
    chosen = layouts(instance, build)
    off = [abs(gap_left(instance, build, n) - layout.aim) for n, layout in enumerate(chosen)]
    ratios = [
        (10_000 * d + layout.width - 1) // layout.width
        for d, layout in zip(off, chosen, strict=True)
    ]
    beyond = [
        ratio if layout.nearest else max(0, ratio - 2_500)
        for ratio, layout in zip(ratios, chosen, strict=True)
    ]
    match level.measure:
        case "rank":
            return sum(layout.rank for layout in chosen)
        case "near limits":
            return sum(
                _lacking(layout, gap_left(instance, build, n)) for n, layout in enumerate(chosen)
            )
        case "worst middle":
            return max(beyond)
        case "middle":
            return sum(beyond)
        case "worst":
            return max(ratios)
        case "ratio":
            return sum(ratios)
        case "deviation":
            return sum(off)
        case "change":
            return sum(layout.moved for layout in chosen) + _changed(instance, build)
        case "scarce":
            return _scarce(instance, build)
        case _:
            return sum(_at(instance, at, level) for at in laid(instance, build))


def _lacking(layout: GridLayout, gap: int) -> int:
    """What a gap lacks of its distance from both limits, in ten-thousandths, rounded up."""
    guard, short = layout.guard, Fraction(0)
    if guard is None:
        return 0
    if guard.low is not None and gap < guard.low + guard.band:
        short = guard.low + guard.band - gap
    if guard.high is not None and gap > guard.high - guard.band:
        short = max(short, gap - guard.high + guard.band)
    return -int(-10_000 * short / layout.width // 1)


def _at(instance: Instance, at: Laid, level: Level) -> int:
    parts = [instance.choices[choice] for choice in at.parts]
    if level.measure == "heat":
        return sum(at.place.heat * part.deficit for part in parts)
    if level.measure == "shims":
        return len(parts) if (at.place.least, at.place.most) != (1, 1) else 0
    mine = instance.gaps[at.gap].shifts == level.shifts
    return sum(part.grade == level.grade for part in parts) if mine else 0


def _changed(instance: Instance, build: Build) -> int:
    total = 0
    shared: dict[int, tuple[int, ...]] = {}
    for at in laid(instance, build):
        if at.place.shared >= 0:
            shared[at.place.shared] = at.parts
        elif at.place.now is not None:
            total += at.place.weight * _differ(at.parts, at.place.now)
    return total + sum(
        one.weight * _differ(shared.get(nth, ()), one.now)
        for nth, one in enumerate(instance.shared)
        if one.now is not None
    )


def _differ(new: tuple[int, ...], old: tuple[int, ...]) -> int:
    come, go = Counter(new) - Counter(old), Counter(old) - Counter(new)
    return max(come.total(), go.total())


def _scarce(instance: Instance, build: Build) -> int:
    counts = used(instance, build)
    total = 0
    for choices in instance.sizes.values():
        left = sum(instance.choices[c].count for c in choices)
        for _ in range(sum(counts[c] for c in choices)):
            total += 10_000 // left
            left -= 1
    return total
