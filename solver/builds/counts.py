"""Puts a gap into the program as counts: how many of each choice lie in each group of places.

This serves gaps with too many builds to list, and the nearest miss of gaps that cannot land. The
rows of the gap and of the stock are over counts alone, which keeps proofs short. A flow from counts
to slots decides which part lies in which place; only `heat`, `change` and the tie-break depend on
it. All variables of a layout are zero while another layout is chosen.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.builds.block import Block
from solver.builds.enumeration import groups
from solver.engines.expressions import CONSTANT, Expression, add, scale
from solver.problem.aims import Changes, OfGap, OfLayout, OfParts, Scarcity
from solver.problem.gaps import RATIO
from solver.problem.instance import GapBuild

if TYPE_CHECKING:
    from solver.builds.enumeration import PlaceGroup
    from solver.engines.cp_sat import Program
    from solver.problem.aims import Counts, Level, Lines
    from solver.problem.gaps import GridGap, GridLayout, GridPlace
    from solver.problem.instance import Instance

Slot = dict[int, int]  # for each choice, the variable that says the slot holds it


@dataclass(slots=True)
class CountedLayout:
    """One layout in the program."""

    layout: GridLayout
    chosen: Expression
    slots: list[list[Slot]]
    """The slots of each place."""
    counts: list[dict[int, int]]
    """For each group of places and each choice, the variable that counts its parts."""
    gap: Expression


@dataclass(frozen=True, slots=True)
class MissRows:
    """The distance of a gap from its window, as a length and as a ratio, and the gap itself."""

    length: Expression
    ratio: Expression
    gap: Expression


def counts_block(instance: Instance, gap: GridGap, program: Program) -> Block:
    """Add a gap that must land in its window, with its addition to every level.

    Parameters
    ----------
    instance
        The instance that the gap belongs to.
    gap
        The gap.
    program
        The engine, which receives the variables and rows.

    Returns
    -------
    Block
        The gap's expressions over these variables.
    """
    block, layouts = _landing(instance, gap, program)
    measure(instance, gap, layouts, block, program)
    return block


def bare_block(instance: Instance, gap: GridGap, program: Program) -> Block:
    """Add a gap that must land in its window, without the levels."""
    return _landing(instance, gap, program)[0]


def _landing(
    instance: Instance, gap: GridGap, program: Program
) -> tuple[Block, list[CountedLayout]]:
    layouts = _layouts(instance, gap, program)
    for counted in layouts:
        low, high = counted.layout.low, counted.layout.high
        if low is not None:
            program.row(add(counted.gap, scale(counted.chosen, -low)), 0, None)
        if high is not None:
            program.row(add(counted.gap, scale(counted.chosen, -high)), None, 0)
    return _block(instance, layouts), layouts


def miss_block(
    instance: Instance, gap: GridGap, program: Program, *, measured: bool = False
) -> tuple[Block, MissRows]:
    """Add a gap without its window, and the distance by which it misses the window.

    Parameters
    ----------
    instance
        The instance that the gap belongs to.
    gap
        The gap.
    program
        The engine, which receives the variables and rows.
    measured
        Whether to add the gap's addition to every level too.

    Returns
    -------
    block : Block
        The gap's expressions over the variables.
    miss : MissRows
        Its distance from the window in steps, and as a share of the window's width times RATIO.
        Each is at least the true distance, and equals it where it is minimised.
    """
    open_ = tuple(replace(layout, low=None, high=None) for layout in gap.layouts)
    layouts = _layouts(instance, replace(gap, layouts=open_), program)
    length: Expression = {}
    ratio: Expression = {}
    for counted, layout in zip(layouts, gap.layouts, strict=True):
        least, most = _extent(layout)
        worst = max(0, (layout.low or 0) - least, most - (layout.high or 0))
        miss = program.integer(0, worst)
        part = program.integer(0, layout.ratio(worst))
        if layout.low is not None:
            program.row(add({miss: 1}, counted.gap, scale(counted.chosen, -layout.low)), 0, None)
        if layout.high is not None:
            program.row(add({miss: -1}, counted.gap, scale(counted.chosen, -layout.high)), None, 0)
        program.row({part: layout.width, miss: -RATIO}, 0, None)
        length[miss], ratio[part] = 1, 1
    block = _block(instance, layouts)
    if measured:
        measure(instance, gap, layouts, block, program)
    return block, MissRows(length, ratio, add(*(counted.gap for counted in layouts)))


def _layouts(instance: Instance, gap: GridGap, program: Program) -> list[CountedLayout]:
    if len(gap.layouts) == 1:
        return [_layout(instance, gap.layouts[0], {CONSTANT: 1}, program)]
    chosen = [program.boolean() for _ in gap.layouts]
    program.one_of(chosen)
    return [
        _layout(instance, layout, {variable: 1}, program)
        for layout, variable in zip(gap.layouts, chosen, strict=True)
    ]


def _layout(
    instance: Instance, layout: GridLayout, chosen: Expression, program: Program
) -> CountedLayout:
    slots = [_slots(instance, place, chosen, program) for place in layout.places]
    counts, takes = [], []
    for group in groups(layout):
        count = _count(instance, group, slots, program)
        counts.append(count)
        worth = {c: t for index in group.places for c, t in layout.places[index].takes.items()}
        takes += [{variable: -worth[choice]} for choice, variable in count.items()]
    return CountedLayout(layout, chosen, slots, counts, add(scale(chosen, layout.room), *takes))


def _slots(
    instance: Instance, place: GridPlace, chosen: Expression, program: Program
) -> list[Slot]:
    """Add the slots of a place: filled from the first on, thinner ranks before thicker."""
    there = [choice for choice in place.takes if instance.choices[choice].count]
    slots = [{choice: program.boolean() for choice in there} for _ in range(place.most)]
    for nth, slot in enumerate(slots):
        filled = dict.fromkeys(slot.values(), 1)
        if nth < place.least:
            program.row(add(filled, scale(chosen, -1)), 0, 0)
        else:
            before = dict.fromkeys(slots[nth - 1].values(), 1) if nth else chosen
            program.row(add(filled, scale(before, -1)), None, 0)
        if nth:
            top = max(place.takes, default=0) + 1
            fall = add(_digit(slots[nth - 1]), scale(_digit(slot), -1), scale(filled, top))
            program.row(fall, None, top)
    return slots


def _digit(slot: Slot) -> Expression:
    """Return the rank of the choice in a slot, plus 1; 0 for an empty slot."""
    return {variable: choice + 1 for choice, variable in slot.items()}


def _count(
    instance: Instance, group: PlaceGroup, slots: list[list[Slot]], program: Program
) -> dict[int, int]:
    mine = [slot for index in group.places for slot in slots[index]]
    if len(mine) == 1:
        return mine[0]
    count = {}
    for choice in sorted({choice for slot in mine for choice in slot}):
        holding = [slot[choice] for slot in mine if choice in slot]
        count[choice] = program.integer(0, min(len(holding), instance.choices[choice].count))
        program.row({count[choice]: -1, **dict.fromkeys(holding, 1)}, 0, 0)
    return count


def _block(instance: Instance, layouts: list[CountedLayout]) -> Block:
    layout = add(*(scale(counted.chosen, nth) for nth, counted in enumerate(layouts)))
    block = Block(read=lambda values: _read(layouts, values), layout=layout)
    block.digits.append((layout, len(layouts)))
    for counted in layouts:
        for group, count in zip(groups(counted.layout), counted.counts, strict=True):
            place = counted.layout.places[group.places[0]]
            for choice, variable in count.items():
                if place.shared >= 0:
                    block.shares.setdefault((place.shared, choice), {})[variable] = 1
                    continue
                block.uses.setdefault(choice, {})[variable] = 1
                block.most[choice] = block.most.get(choice, 0) + instance.choices[choice].count
        for slots in counted.slots:
            block.digits += [(_digit(slot), len(instance.choices) + 1) for slot in slots]
    return block


def _read(layouts: list[CountedLayout], values: tuple[int, ...]) -> GapBuild:
    def holds(slot: Slot) -> list[int]:
        return [choice for choice, variable in slot.items() if values[variable]]

    for index, counted in enumerate(layouts):
        if all(variable == CONSTANT or values[variable] for variable in counted.chosen):
            parts = (sorted(c for slot in slots for c in holds(slot)) for slots in counted.slots)
            return GapBuild(index, tuple(map(tuple, parts)))
    raise AssertionError("the program chose no layout")


def measure(
    instance: Instance, gap: GridGap, layouts: list[CountedLayout], block: Block, program: Program
) -> None:
    """Add the gap's addition to each level, and its span, to a block.

    Each expression is at least the true value, and equals it where the level is minimised.

    Parameters
    ----------
    instance
        The instance, whose levels are added in their order.
    gap
        The gap.
    layouts
        Its layouts in the program.
    block
        The gap's block, to which the expressions are appended.
    program
        The engine, which receives the variables and rows.
    """
    known: dict[Counts, tuple[Expression, int]] = {}
    for level in instance.levels:
        counts = level.counts
        expression: Expression = {}
        top = 0
        if isinstance(counts, OfGap | Changes) and counts in known:
            expression, top = known[counts]
        elif level.concerns(shifts=gap.shifts):
            each = [_measured(instance, level, counted, program) for counted in layouts]
            expression, top = add(*(one for one, _ in each)), max(most for _, most in each)
            known[counts] = expression, top
        block.levels.append(expression)
        block.spans.append((0, top))


def _measured(
    instance: Instance, level: Level, counted: CountedLayout, program: Program
) -> tuple[Expression, int]:
    """Return a layout's addition to a level while it is chosen, and an upper bound on it."""
    counts = level.counts
    if isinstance(counts, OfLayout):
        rank = counts.count(counted.layout)
        return scale(counted.chosen, rank), rank
    if isinstance(counts, OfParts):
        return _of_parts(instance, counts, level.grade, counted)
    if isinstance(counts, OfGap):
        return _of_gap(counts.lines(counted.layout), counted, program)
    if isinstance(counts, Changes):
        return _change(counted, program)
    if isinstance(counts, Scarcity):
        return {}, 0  # added over the whole job
    raise AssertionError(f"{level.measure} cannot be counted, only listed")


def _of_parts(
    instance: Instance, counts: OfParts, grade: int, counted: CountedLayout
) -> tuple[Expression, int]:
    """Return the sum of a value of every part; slots are used only where their order matters."""
    total: Expression = {}
    top = 0
    for place, slots in zip(counted.layout.places, counted.slots, strict=True):
        worth = {c: counts.count(place, instance.choices[c], grade) for c in place.takes}
        top += place.most * max(worth.values(), default=0)
        if counts.ordered:
            total |= {v: worth[c] for slot in slots for c, v in slot.items() if worth[c]}
    if not counts.ordered:
        for group, count in zip(groups(counted.layout), counted.counts, strict=True):
            place = counted.layout.places[group.places[0]]
            each = {v: counts.count(place, instance.choices[c], grade) for c, v in count.items()}
            total |= {variable: worth for variable, worth in each.items() if worth}
    return total, top


def _of_gap(lines: Lines, counted: CountedLayout, program: Program) -> tuple[Expression, int]:
    """Return a number that is at least 0 and at least each of the lines over the gap."""
    layout, (least, most) = counted.layout, _extent(counted.layout)
    low = least if layout.low is None else max(least, layout.low)
    high = most if layout.high is None else min(most, layout.high)
    top = max(lines.at(low), lines.at(high))  # the lines are highest at one of the ends
    if not top:
        return {}, 0
    value = program.integer(0, top)
    for slope, start in lines.lines:
        line = add(scale(counted.gap, -slope), scale(counted.chosen, -start))
        program.row(add({value: lines.over}, line), 0, None)
    return {value: 1}, top


def _extent(layout: GridLayout) -> tuple[int, int]:
    """Return the least and the greatest gap of a layout in steps, whatever lies at its places."""
    least = most = layout.room
    for place in layout.places:
        takes = [*place.takes.values()] or [0]
        few, many = place.least, place.most
        least -= max(max(takes) * few, max(takes) * many)
        most -= min(min(takes) * few, min(takes) * many)
    return least, most


def _change(counted: CountedLayout, program: Program) -> tuple[Expression, int]:
    """Return the weighted number of parts that go in or come out, without shared parts."""
    total, top = scale(counted.chosen, counted.layout.moved), counted.layout.moved
    for place, slots in zip(counted.layout.places, counted.slots, strict=True):
        if place.before is None:
            continue
        moved = program.integer(0, max(place.most, len(place.before)))
        old = Counter(place.before)
        kept: Expression = {}
        for choice, count in old.items():
            holding = [slot[choice] for slot in slots if choice in slot]
            stays = program.integer(0, min(len(holding), count))
            program.row({stays: 1, **dict.fromkeys(holding, -1)}, None, 0)
            kept[stays] = -1
        new = dict.fromkeys((v for slot in slots for v in slot.values()), -1)
        program.row(add({moved: 1}, new, scale(kept, -1)), 0, None)
        before = scale(counted.chosen, -len(place.before))
        program.row(add({moved: 1}, before, scale(kept, -1)), 0, None)
        total = add(total, {moved: place.weight})
        top += place.weight * max(place.most, len(place.before))
    return total, top
