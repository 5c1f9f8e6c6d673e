"""Finds ways out where nothing fits, each verified by solving the job with it.

The ways are: parts to buy (a least-cost multiset over the whole job); a kept part or a preference
to drop; another layout where the job asks for one; a reading to repeat where every miss is within
the error of the gauges. Conditions that guard someone are never offered. No way contains another,
and there is one of each kind before a second of any.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from solver.builds.counts import bare_block
from solver.engines.cp_sat import Program
from solver.engines.descent import Goal
from solver.engines.expressions import add, scale
from solver.explain.conditions import PLENTY, Condition, can_hold, conditions_of, without
from solver.problem import judge
from solver.problem.solution import Fit
from solver.rebuild.fit import fit
from solver.rebuild.model import Model

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.engines.limits import Clock
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance
    from solver.problem.solution import NoFit

Buys = tuple[tuple[int, int], ...]  # choices, each with the number to buy
MOST_BUYS = 2


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way out, and the fit it leads to."""

    kind: Literal["buy", "release", "layout", "read again"]
    fit: Fit
    buys: Buys = ()
    cost: int | None = None
    """Of the parts to buy, in ten-thousandths of the currency; None where a price is not stated."""
    given_up: tuple[Condition, ...] = ()
    gaps: tuple[int, ...] = ()
    """The gaps whose readings are to be repeated."""


def ways_out(answer: NoFit, tells: tuple[int, ...], clock: Clock) -> tuple[WayOut, ...]:
    """Find ways out of a no fit, each verified by solving the job with it.

    Parameters
    ----------
    answer
        The no fit. Its instance must hold the catalogue, or nothing can be bought.
    tells
        For each gap, the error that its gauges may make, in steps of the grid.
    clock
        The time for all ways; those not verified in time are left out.

    Returns
    -------
    tuple of WayOut
        One of each kind before a second of any: buy, release, layout, read again.
    """
    kinds = [
        list(_buying(answer.instance, clock)),
        list(_giving_up(answer.instance, "release", clock)),
        list(_giving_up(answer.instance, "layout", clock)),
        list(_reading_again(answer, tells, clock)),
    ]
    return tuple(ways[nth] for nth in range(MOST_BUYS) for ways in kinds if nth < len(ways))


def _buying(instance: Instance, clock: Clock) -> Iterator[WayOut]:
    """Yield the cheapest parts to buy, then the cheapest that do not contain them."""
    found: list[Buys] = []
    while len(found) < MOST_BUYS:
        buys = cheapest(instance, found, clock)
        if not buys:
            return
        found.append(buys)
        solved = fit(instance.with_more(dict(buys)), clock.rest())
        if isinstance(solved, Fit):
            prices = [(instance.choices[choice].price, count) for choice, count in buys]
            cost = sum((price or 0) * count for price, count in prices)
            known = all(price is not None for price, _ in prices)
            yield WayOut("buy", solved, buys, cost if known else None)


def cheapest(instance: Instance, shut_out: list[Buys], clock: Clock) -> Buys:
    """Find a least-cost multiset of parts to buy that makes a fit.

    Parameters
    ----------
    instance
        The instance, with the catalogue among its choices.
    shut_out
        Multisets found before, which the new one must not contain.
    clock
        The time that is left.

    Returns
    -------
    tuple of pairs of int
        Choices, each with the number to buy; empty where no parts make a fit, or time ran out.
    """
    plenty = without(instance, [c for c in conditions_of(instance) if c.kind == "stock"])
    program = Program()
    blocks = [bare_block(plenty, gap, program) for gap in plenty.gaps]
    model = Model(plenty, program, blocks)
    extra = {}
    for index, choice in enumerate(instance.choices):
        if choice.sold and model.drawn[index]:
            extra[index] = program.integer(0, _most(instance, index))
            short = add({extra[index]: 1}, scale(model.drawn[index], -1))
            program.row(short, -choice.count, None)
    for buys in shut_out:
        fewer = {program.boolean(): index for index, _ in buys}
        for less, index in fewer.items():
            program.row({extra[index]: 1, less: PLENTY}, None, dict(buys)[index] - 1 + PLENTY)
        program.row(dict.fromkeys(fewer, 1), 1, None)
    found = model.best(clock, _purchase(instance, extra))
    if found.status != "optimal" or found.build is None:
        return ()
    drawn = judge.drawn(instance, found.build)
    missing = {index: drawn[index] - instance.choices[index].count for index in extra}
    return tuple((index, count) for index, count in sorted(missing.items()) if count > 0)


def _purchase(instance: Instance, extra: dict[int, int]) -> list[Goal]:
    """Return the goals: least cost, then fewest parts, then parts in a fixed order.

    A part without a price counts as dearer than any other, so that none is bought unnoticed.
    """
    prices = [choice.price for choice in instance.choices if choice.price is not None]
    dearer = max(prices, default=0) + 1
    known = {index: instance.choices[index].price for index in extra}
    cost = {v: dearer if known[i] is None else int(known[i] or 0) for i, v in extra.items()}
    return [
        Goal(cost, 0, sum(cost[extra[index]] * _most(instance, index) for index in extra)),
        Goal(dict.fromkeys(extra.values(), 1), 0, sum(_most(instance, index) for index in extra)),
        *(Goal({extra[index]: 1}, 0, _most(instance, index)) for index in reversed(extra)),
    ]


def _most(instance: Instance, choice: int) -> int:
    """Return the number of places that could take a choice, which no job exceeds."""
    layouts = (layout for gap in instance.gaps for layout in gap.layouts)
    return sum(place.most for layout in layouts for place in layout.places if choice in place.takes)


def _giving_up(
    instance: Instance, kind: Literal["release", "layout"], clock: Clock
) -> Iterator[WayOut]:
    """Yield single conditions to drop, or the fewest that help together where none does alone."""
    offered = [c for c in conditions_of(instance) if _may_be_given_up(instance, c) == kind]
    single = [c for c in offered if can_hold(without(instance, [c]), clock) == "optimal"]
    ways: list[tuple[Condition, ...]] = [(condition,) for condition in single]
    if not ways and len(offered) > 1 and can_hold(without(instance, offered), clock) == "optimal":
        needed = list(offered)
        for condition in offered:
            rest = [other for other in needed if other != condition]
            if can_hold(without(instance, rest), clock) == "optimal":
                needed = rest
        ways = [tuple(needed)]
    for given_up in ways:
        solved = fit(without(instance, given_up), clock.rest())
        if isinstance(solved, Fit):
            yield WayOut(kind, solved, given_up=given_up)


def _may_be_given_up(instance: Instance, condition: Condition) -> str:
    if condition.kind == "kept":
        return "release"
    if condition.kind == "rule" and instance.rules[condition.rule].preference:
        return "release"
    if condition.kind == "layout":
        aside = {barred.layout.name: barred.why for barred in instance.gaps[condition.gap].barred}
        return "" if aside[condition.name] else "layout"
    return ""


def _reading_again(answer: NoFit, tells: tuple[int, ...], clock: Clock) -> Iterator[WayOut]:
    """Yield readings to repeat, where the nearest build misses by no more than their error."""
    if answer.together is None:
        return
    instance, build = answer.instance, answer.together
    missed = {n: judge.miss_of(instance, build, n) for n in range(len(build))}
    missed = {index: miss for index, miss in missed.items() if miss}
    if any(miss > tells[index] for index, miss in missed.items()):
        return
    gaps = tuple(
        _widened(gap, missed[index]) if index in missed else gap
        for index, gap in enumerate(instance.gaps)
    )
    solved = fit(replace(instance, gaps=gaps), clock.rest())
    if isinstance(solved, Fit):
        yield WayOut("read again", solved, gaps=tuple(missed))


def _widened(gap: GridGap, by: int) -> GridGap:
    return replace(
        gap,
        layouts=tuple(
            replace(
                layout,
                low=None if layout.low is None else layout.low - by,
                high=None if layout.high is None else layout.high + by,
            )
            for layout in gap.layouts
        ),
    )
