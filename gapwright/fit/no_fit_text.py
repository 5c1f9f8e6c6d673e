"""The sentences of a no fit: how near each gap comes, why nothing fits, and what would help."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.fit.conformance_text import percent
from gapwright.fit.gap_text import gap_name, gap_text, measured_name, sides_of
from gapwright.output.money import money
from gapwright.record.former_units_text import like_words
from gapwright.shelf.text import packs_words
from solver.problem.solution import NoFit
from specs.gaps.job_gap import JobGap
from specs.values.lengths import ZERO, Length, number, show, show_beside_limits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.report import Report, TriedWay
    from solver.explain.conditions import Condition
    from solver.explain.ways_out import WayOut
    from solver.problem.instance import Instance
    from specs.values.lengths import LengthUnit

MOST_MISTAKES = 6


def advice(report: Report, answer: NoFit, unit: LengthUnit) -> Iterator[str]:
    """Say that nothing fits, how near each gap comes, why, and the ways out."""
    instance = answer.instance
    yield "No build from what is on hand lands every gap in its window."
    for gap, miss in zip(instance.gaps, answer.alone, strict=True):
        if miss.status == "unfillable":
            yield f"  {gap.name}: too few parts on hand to fill its places"
        elif miss.status == "unknown":
            yield f"  {gap.name}: ran out of time before its nearest miss was proved"
        elif not miss.by:
            yield f"  {gap.name}: can be had alone"
        else:
            yield from _missed(report, answer, gap.name, unit)
        before = like_words(report.former, gap.name, unit)
        yield from [f"    {before}"] * bool(before)
    if all(miss.status == "near" and not miss.by for miss in answer.alone):
        yield "Each gap can be had alone, but not together: they share parts, stock or rules."
    yield from _doubtful(report, unit)
    yield from _reason(report, answer.instance, unit)
    yield from _ways(report, answer.instance, unit)


def _missed(report: Report, answer: NoFit, name: str, unit: LengthUnit) -> Iterator[str]:
    index = next(i for i, gap in enumerate(answer.instance.gaps) if gap.name == name)
    miss, step = answer.alone[index], answer.instance.step
    layout = answer.instance.gaps[index].layouts[miss.layout]
    low, high = (None if end is None else Length(end * step) for end in (layout.low, layout.high))
    nearest = Length(miss.gap * step)
    written = report.case.unit.gaps[name]
    on = written.arrangements[layout.name].window.on
    side = sides_of(on)[low is None or nearest >= low]
    limits = " to ".join(number(end, unit) for end in (low, high) if end is not None)
    only = f" with {layout.name}" if written.layouts and len(written.layouts) > 1 else ""
    yield (
        f"  {name}: nearest{only} {show_beside_limits(nearest, low, high, unit)}, "
        f"{show(Length(miss.by * step), unit)} too {side} (window {limits})"
    )
    if JobGap(report.case, name).settled:
        yield (
            "    It has no part to choose: it is misassembled, worn, or built with plates of "
            "another thickness. Measure one steel and one friction first."
        )
    preload = low is not None and low < ZERO
    if name in report.case.unit.end_plays and on == "gap" and not preload:
        yield "    A shaft that does not turn freely is not put right by a washer."


def _doubtful(report: Report, unit: LengthUnit) -> Iterator[str]:
    for name, mistakes in report.doubtful.items():
        yield f"{name}: no size the unit is made in could serve this space, so doubt the reading"
        if mistakes:
            yield "  one mistake that would explain it, each to be looked at, none corrected here:"
        for mistake in mistakes[:MOST_MISTAKES]:
            meant = show(mistake.meant, unit)
            yield f"  - {mistake.words}: `{mistake.reading}` would then be {meant}"
        if mistakes[MOST_MISTAKES:]:
            yield f"  and {len(mistakes) - MOST_MISTAKES} more"


def _reason(report: Report, instance: Instance, unit: LengthUnit) -> Iterator[str]:
    if report.reason is None or not report.reason.conditions:
        return
    exact = "any one less and the rest could" if report.reason.irreducible else "time ran out here"
    if report.reason.smallest:
        exact = "any one less and the rest could; no reason is shorter"
    yield f"why: these cannot hold together ({exact})"
    for condition in report.reason.conditions:
        yield f"  - {condition_words(report, instance, condition, unit)}"


def condition_words(
    report: Report, instance: Instance, condition: Condition, unit: LengthUnit
) -> str:
    """Write one condition of a reason in words of the bench."""
    if condition.kind == "rule":
        rule = instance.rules[condition.rule]
        return f"{'preference' if rule.preference else 'rule'}: {rule.words}"
    if condition.kind == "stock":
        family, size = condition.size
        count = sum(instance.choices[choice].count for choice in instance.sizes[condition.size])
        return f"{count or 'no'} {family} {size} on hand"
    gap = instance.gaps[condition.gap]
    if condition.kind == "kept":
        kept = JobGap(report.case, gap.name).kept[condition.name]
        what = "the one that is in" if kept == "now" else kept
        return f"{gap.name}: you keep the {condition.name}, {what}"
    if condition.kind == "layout":
        why = next(b.why for b in gap.barred if b.layout.name == condition.name)
        return f"{gap.name}: no {condition.name}: {why or 'the job asks for another layout'}"
    return f"{gap.name}: {_limit_words(report, instance, condition, unit)}"


def _limit_words(report: Report, instance: Instance, condition: Condition, unit: LengthUnit) -> str:
    gap = instance.gaps[condition.gap]
    written, lowest = report.case.unit.gaps[gap.name], condition.kind == "lowest"
    ends = {layout.low if lowest else layout.high for layout in gap.layouts}
    on = written.arrangements[gap.layouts[0].name].window.on
    what = measured_name(on, ZERO, pack=written.of_pack)
    if len(ends) > 1:
        return f"{condition.kind} {what}"
    limit = Length((ends.pop() or 0) * instance.step)
    preload = " (a preload)" * (measured_name(on, limit, pack=written.of_pack) == "preload")
    return f"{condition.kind} {what} {show(limit, unit)}{preload}"


def _ways(report: Report, instance: Instance, unit: LengthUnit) -> Iterator[str]:
    if not report.ways:
        yield "No part of the unit's sizes, and nothing that may be given up, makes it fit."
        kinds = (
            {condition.kind for condition in report.reason.conditions} if report.reason else set()
        )
        if kinds.isdisjoint({"layout", "kept", "rule"}):
            yield "Look for a measuring or an assembly error before anything else."
        return
    yield "ways out, each tried, the best first"
    for number_, way in enumerate(report.ways, 1):
        yield f"  {number_}  {_way(report, instance, way.out, unit)}"
        when = "as it reads now" if way.out.kind == "read again" else "then"
        yield f"       {when}: {'; '.join(_led_to(report, instance, way, unit))}"


def _led_to(report: Report, instance: Instance, way: TriedWay, unit: LengthUnit) -> Iterator[str]:
    """Write each gap a way leads to with its chance."""
    for index in _touched(instance, report):
        gap, chance = way.gaps[index], percent(way.chances[index].least)
        yield f"{gap_name(gap)} {gap_text(gap, unit)}, {chance} in its window"


def _touched(instance: Instance, report: Report) -> list[int]:
    """Return the gaps to name after a way out: those that could not be had alone, or all."""
    answer = report.answer
    alone = answer.alone if isinstance(answer, NoFit) else ()
    missed = [n for n, miss in enumerate(alone) if miss.by or miss.status != "near"]
    return missed or list(range(len(instance.gaps)))


def _way(report: Report, instance: Instance, way: WayOut, unit: LengthUnit) -> str:
    if way.kind == "buy":
        bought = [(instance.choices[choice], count) for choice, count in way.buys]
        parts = [
            packs_words(count // choice.pack, choice.pack, f"{choice.family} {choice.size}")
            for choice, count in bought
        ]
        price = "" if way.cost is None else f" ({money(way.cost)})"
        return f"buy {', '.join(parts)}{price}"
    if way.kind == "read again":
        names = " and ".join(instance.gaps[index].name for index in way.gaps)
        return f"read {names} again: the miss is less than the gauge can tell"
    words = [condition_words(report, instance, condition, unit) for condition in way.given_up]
    return f"give up: {'; '.join(words)}"
