"""The sentences of `--why`: what each aim costs, and how far each reading may be off."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING

from solver.problem import judge
from specs.values.lengths import Length, number, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.explanation import Explanation, StableRange
    from solver.explain.aim_costs import AimCost, More, Shift
    from solver.problem.instance import Build, Instance
    from solver.problem.solution import Fit
    from specs.values.lengths import LengthUnit

PRINTED = {"in": 2_540, "mm": 1_000, "thou": 2_540}  # nanometres in the last printed decimal


def why_words(why: Explanation, found: Fit, unit: LengthUnit) -> Iterator[str]:
    """Say why a build is the answer, line by line."""
    yield "what each aim costs"
    widest = max((len(cost.aim) for cost in why.costs), default=0)
    for cost in why.costs:
        yield f"  {cost.aim:<{widest}}  {_more(found, cost, unit)}"
        yield from (f"  {'':<{widest}}  {gains}" for gains in _without(found.instance, cost, unit))
    yield "how far each reading may be off before another build is better"
    names = [f"{held.gap}: {held.reading}" if held.gap else held.reading for held in why.ranges]
    widest = max(map(len, names), default=0)
    for name, held in zip(names, why.ranges, strict=True):
        yield f"  {name:<{widest}}  {show(held.value, unit)}: {_span(held, unit)}"


def _more(found: Fit, cost: AimCost, unit: LengthUnit) -> str:
    more = cost.more
    if more is None:
        return "ran out of time"
    if more.none:
        return "no build is better on it"
    if more.missing is not None:
        return f"better only outside a window: {_misses(found.instance, more.missing, unit)}"
    return _yielding(found.instance, more, unit)


def _yielding(instance: Instance, more: More, unit: LengthUnit) -> str:
    gain, price = more.gain, more.yields
    if gain is None or price is None:
        return "no build is better on it"
    yields = f"`{price.level.aim}` by {_shift_words(instance, price, unit)}"
    return f"better by {_shift_words(instance, gain, unit)} if it may cost {yields}"


def _misses(instance: Instance, build: Build, unit: LengthUnit) -> str:
    misses = [
        (gap.name, judge.miss_of(instance, build, nth)) for nth, gap in enumerate(instance.gaps)
    ]
    return ", ".join(
        f"{name} misses by {show(Length(miss * instance.step), unit)}"
        for name, miss in misses
        if miss
    )


def _without(instance: Instance, cost: AimCost, unit: LengthUnit) -> Iterator[str]:
    """Say what the later aims would gain without this one."""
    if cost.gains is None:
        yield "without it: ran out of time"
    elif cost.gains:
        gains = (
            f"`{gain.level.aim}` by {_shift_words(instance, gain, unit)}" for gain in cost.gains
        )
        yield f"without it better: {', '.join(gains)}"


def _shift_words(instance: Instance, shift: Shift, unit: LengthUnit) -> str:
    """Say how much better or worse a level becomes, in words of the bench."""
    by, level = abs(shift.by), shift.level
    measure = level.declared
    if measure.by_grade:
        packs = "packs that shift" if level.shifts else "packs that hold"
        grades = max(choice.grade for choice in instance.choices)
        grade = f" of grade {level.grade}" if grades > 1 else ""
        return f"{_count(by, measure.noun)}{grade} in {packs}"
    if measure.quantity == "length":
        return f"{show(Length(by * instance.step), unit)} {measure.noun}"
    if measure.quantity == "number":
        return _count(by, measure.noun)
    share = f"{by / 100:.2f} % of a window"
    return share if level.worst else f"{share} over all gaps"


def _count(number_: int, noun: str) -> str:
    head, blank, tail = noun.partition(" (")
    first, of, rest = head.partition(" of ")
    plural = f"{first}{'' if number_ == 1 else 's'}{of}{rest}"
    return f"{number_} {plural}{blank}{tail}"


def _span(held: StableRange, unit: LengthUnit) -> str:
    """Write the range of a reading, its ends rounded toward the reading."""
    step = PRINTED[unit]
    low = None if held.low is None else Length(ceil(held.low.nm / step) * step)
    high = None if held.high is None else Length(floor(held.high.nm / step) * step)
    maybe = "" if held.proved else ", or more: ran out of time"
    if low is None and high is None:
        return f"any{maybe}"
    if low is None:
        return f"up to {show(high or Length(0), unit)}{maybe}"
    if high is None:
        return f"{show(low, unit)} or more{maybe}"
    return f"{number(low, unit)} to {show(high, unit)}{maybe}"
