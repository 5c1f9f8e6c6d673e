"""Finds ways out where nothing fits, each verified by solving the job with it.

The ways are: parts to buy, in whole packs as they are sold; a kept part or a preference to drop;
another layout where the job asks for one; a reading to repeat where every miss is within the error
of the gauges. Conditions that guard someone are never offered, and no way contains another.

Whatever helps drops a condition of every reason, so a purchase is looked for each size whose stock
the reason names: of that size alone where it will do, else the cheapest with others. Ways stand in
the order of the aims of the builds they lead to, and cost decides between those that are as good.
"""

from __future__ import annotations

from collections import Counter
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
    from collections.abc import Collection, Iterator, Sequence

    from solver.engines.limits import Clock
    from solver.explain.conflict import Reason
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance
    from solver.problem.solution import NoFit

Kind = Literal["buy", "release", "layout", "read again"]
Buys = tuple[tuple[int, int], ...]  # choices, each with a number of parts
MOST: dict[Kind, int] = {"buy": 5, "release": 2, "layout": 2, "read again": 1}
TIES = ("change", "aim", "spare")  # aims that count after the price where nothing follows them


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way out, and the fit it leads to."""

    kind: Kind
    fit: Fit
    buys: Buys = ()
    """What to buy: choices, each with the number of parts in its whole packs."""
    cost: int | None = None
    """Of the packs to buy, in ten-thousandths of the currency; None where a price is not stated."""
    given_up: tuple[Condition, ...] = ()
    gaps: tuple[int, ...] = ()
    """The gaps whose readings are to be repeated."""


def ways_out(
    answer: NoFit, reason: Reason, tells: tuple[int, ...], clock: Clock
) -> tuple[WayOut, ...]:
    """Find ways out of a no fit, each verified by solving the job with it.

    Parameters
    ----------
    answer
        The no fit. Its instance must hold the catalogue, or nothing can be bought.
    reason
        Why nothing fits: a purchase is looked for each size whose stock it names.
    tells
        For each gap, the error that its gauges may make, in steps of the grid.
    clock
        The time for all ways; those not verified in time are left out.

    Returns
    -------
    tuple of WayOut
        The best of each kind first, then the others, at most MOST of a kind; both in the order
        of the aims of their builds, then fewest changes as reach weighs them, then least price.
    """
    ways = [
        *_buying(answer.instance, reason, clock),
        *_giving_up(answer.instance, "release", clock),
        *_giving_up(answer.instance, "layout", clock),
        *_reading_again(answer, tells, clock),
    ]
    first: list[WayOut] = []
    others: list[WayOut] = []
    seen: Counter[Kind] = Counter()
    for way in sorted(ways, key=lambda way: _rank(answer.instance, way)):
        seen[way.kind] += 1
        if seen[way.kind] <= MOST[way.kind]:
            (first if seen[way.kind] == 1 else others).append(way)
    return (*first, *others)


def _rank(instance: Instance, way: WayOut) -> tuple[object, ...]:
    """Return what ways are sorted by: aims, changes, price, and last the aims that break ties.

    A build that waits for a reading is judged by the windows as they are.
    """
    at = instance if way.kind == "read again" else way.fit.instance
    aims = list(instance.aims)
    while aims and aims[-1] in TIES:
        aims.pop()
    values = list(zip(at.levels, judge.values(at, way.fit.build), strict=True))
    return (
        [value for level, value in values if level.aim in aims],
        judge.values(replace(at, aims=("change",)), way.fit.build),
        (bool(way.buys) and way.cost is None, way.cost or 0),
        [value for level, value in values if level.aim not in aims],
    )


def _buying(instance: Instance, reason: Reason, clock: Clock) -> Iterator[WayOut]:
    """Yield a purchase for each size whose stock the reason names, as far as there is one."""
    named = [condition.size for condition in reason.conditions if condition.kind == "stock"]
    sold = [[c for c in instance.sizes[size] if instance.choices[c].sold] for size in named]
    for buys in _purchases(instance, [part for part in sold if part], clock):
        solved = fit(instance.with_more(dict(buys)), clock.rest())
        if isinstance(solved, Fit):
            choices = [(instance.choices[choice], count) for choice, count in buys]
            known = all(choice.price is not None for choice, _ in choices)
            cost = sum((choice.price or 0) * count for choice, count in choices)
            yield WayOut("buy", solved, buys, cost if known else None)


def _purchases(instance: Instance, parts: Sequence[list[int]], clock: Clock) -> list[Buys]:
    """Find for each of some parts a purchase with it of which no pack can be spared.

    Each part is a size's choices that are sold. One purchase may be for several of them; none
    contains another.
    """
    alone = (cheapest(instance, clock, only=part) for part in parts)
    found = [whole_packs(instance, lacking) for lacking in alone if lacking]
    for part in parts:
        while not _first_with(part, found):
            lacking = cheapest(instance, clock, shut_out=found, needs=part)
            if not lacking:
                break
            found.append(_spared(instance, whole_packs(instance, lacking), clock))
    return [*dict.fromkeys(buys for part in parts if (buys := _first_with(part, found)))]


def _first_with(part: Collection[int], found: list[Buys]) -> Buys:
    return next((buys for buys in found if any(choice in part for choice, _ in buys)), ())


def _spared(instance: Instance, buys: Buys, clock: Clock) -> Buys:
    """Return a purchase without the packs that it can do without, one pack tried after another."""
    needed = dict(buys)
    for choice, _ in buys:
        pack = instance.choices[choice].pack
        while needed[choice]:
            fewer = needed | {choice: needed[choice] - pack}
            if can_hold(instance.with_more(fewer), clock) != "optimal":
                break
            needed = fewer
    return tuple((choice, count) for choice, count in needed.items() if count)


def whole_packs(instance: Instance, lacking: Buys) -> Buys:
    """Return the parts that come where parts are lacking: whole packs, as each size is sold."""
    packs = ((choice, instance.choices[choice].pack, count) for choice, count in lacking)
    return tuple((choice, -(-count // pack) * pack) for choice, pack, count in packs)


def cheapest(
    instance: Instance,
    clock: Clock,
    *,
    shut_out: Sequence[Buys] = (),
    needs: Collection[int] = (),
    only: Collection[int] | None = None,
) -> Buys:
    """Find the parts that are lacking for a fit and cost least to buy in whole packs.

    Parameters
    ----------
    instance
        The instance, with the catalogue among its choices.
    clock
        The time that is left.
    shut_out
        Purchases of whole packs that this one must not contain.
    needs
        Choices of one of which at least a pack must be bought; none where empty.
    only
        The choices that may be bought; all that are sold where it is None.

    Returns
    -------
    tuple of pairs of int
        Choices, each with the number that is lacking; empty where no parts make a fit, or time
        ran out. A part that `needs` asks for and the build does without is not among them.
    """
    buyable = {
        index
        for index, choice in enumerate(instance.choices)
        if choice.sold and (only is None or index in only)
    }
    sizes = {(instance.choices[index].family, instance.choices[index].size) for index in buyable}
    plenty = without(instance, [Condition("stock", size=size) for size in sorted(sizes)])
    program = Program()
    blocks = [bare_block(plenty, gap, program) for gap in plenty.gaps]
    model = Model(plenty, program, blocks)
    packs = {}
    for index in sorted(buyable):
        if model.drawn[index]:
            choice = instance.choices[index]
            packs[index] = program.integer(0, _most(instance, index))
            short = add({packs[index]: choice.pack}, scale(model.drawn[index], -1))
            program.row(short, -choice.count, None)
    if needs:  # of a size that only a layout set aside takes, nothing can be bought
        program.row({packs[index]: 1 for index in needs if index in packs}, 1, None)
    for buys in shut_out:
        fewer = {program.boolean(): (index, count) for index, count in buys}
        for less, (index, count) in fewer.items():
            most = count // instance.choices[index].pack - 1
            program.row({packs[index]: 1, less: PLENTY}, None, most + PLENTY)
        program.row(dict.fromkeys(fewer, 1), 1, None)
    found = model.best(clock, _purchase(instance, packs))
    if found.status != "optimal" or found.build is None:
        return ()
    drawn = judge.drawn(instance, found.build)
    missing = {index: drawn[index] - instance.choices[index].count for index in packs}
    return tuple((index, count) for index, count in sorted(missing.items()) if count > 0)


def _purchase(instance: Instance, packs: dict[int, int]) -> list[Goal]:
    """Return the goals: least cost, then fewest packs, then parts in a fixed order.

    A pack without a price counts as dearer than any other, so that none is bought unnoticed.
    """
    choices = {index: instance.choices[index] for index in packs}
    known = {i: one.price * one.pack for i, one in choices.items() if one.price is not None}
    dearer = max(known.values(), default=0) + 1
    cost = {variable: known.get(index, dearer) for index, variable in packs.items()}
    return [
        Goal(cost, 0, sum(cost[packs[index]] * _most(instance, index) for index in packs)),
        Goal(dict.fromkeys(packs.values(), 1), 0, sum(_most(instance, i) for i in packs)),
        *(Goal({packs[index]: 1}, 0, _most(instance, index)) for index in reversed(packs)),
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
