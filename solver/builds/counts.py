"""A gap put into the program as counts: how many of each choice lie in each group of places.

For gaps with too many fillings to list, and for the nearest miss of gaps that cannot land. The
gap and the stock are rows over counts alone, which keeps proofs short; which part lies in which
place is a flow from counts to slots, and only `heat`, `change` and the tie-break look at it.
Everything of a layout is zero while another layout is chosen.

What a gap that is counted adds to each level of the aims.

Each measure is an expression that is never below the true value and reaches it where the level is
made least.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.builds.block import Block
from solver.builds.enumeration import groups
from solver.engines.cp_sat import CONSTANT, Expression, Program, add, scale
from solver.problem.instance import MIDDLE, RATIO, GapBuild

if TYPE_CHECKING:
    from solver.builds.enumeration import Group
    from solver.problem.aims import Level
    from solver.problem.instance import Gap, Layout, Place, Task

Slot = dict[int, int]  # for each choice, the variable that says the slot holds it


@dataclass(slots=True)
class Counted:
    """One layout in the program."""

    layout: Layout
    chosen: Expression
    slots: list[list[Slot]]
    """The slots of each place."""
    counts: list[dict[int, int]]
    """For each group of places, the variable that counts each choice in it."""
    gap: Expression


@dataclass(frozen=True, slots=True)
class Miss:
    """How far a gap lies outside its window: as a length, as a ratio, and the gap itself."""

    length: Expression
    ratio: Expression
    gap: Expression


def counts_block(task: Task, gap: Gap, program: Program) -> Block:
    """Decide the counts of a gap that must land in its window."""
    block, layouts = _landing(task, gap, program)
    measure(task, gap, layouts, block, program)
    return block


def bare_block(task: Task, gap: Gap, program: Program) -> Block:
    """Decide the counts of a gap that must land in its window, whatever the aims."""
    return _landing(task, gap, program)[0]


def _landing(task: Task, gap: Gap, program: Program) -> tuple[Block, list[Counted]]:
    layouts = _layouts(task, gap, program)
    for counted in layouts:
        low, high = counted.layout.low, counted.layout.high
        if low is not None:
            program.row(add(counted.gap, scale(counted.chosen, -low)), 0, None)
        if high is not None:
            program.row(add(counted.gap, scale(counted.chosen, -high)), None, 0)
    return _block(task, layouts), layouts


def miss_block(
    task: Task, gap: Gap, program: Program, *, measured: bool = False
) -> tuple[Block, Miss]:
    """Decide the counts of a gap whose window is dropped, and how far it then misses."""
    open_ = tuple(replace(layout, low=None, high=None) for layout in gap.layouts)
    layouts = _layouts(task, replace(gap, layouts=open_), program)
    length: Expression = {}
    ratio: Expression = {}
    for counted, layout in zip(layouts, gap.layouts, strict=True):
        least, most = extent(layout)
        worst = max(0, (layout.low or 0) - least, most - (layout.high or 0))
        miss = program.integer(0, worst)
        part = program.integer(0, layout.ratio(worst))
        if layout.low is not None:
            program.row(add({miss: 1}, counted.gap, scale(counted.chosen, -layout.low)), 0, None)
        if layout.high is not None:
            program.row(add({miss: -1}, counted.gap, scale(counted.chosen, -layout.high)), None, 0)
        program.row({part: layout.width, miss: -RATIO}, 0, None)
        length[miss], ratio[part] = 1, 1
    block = _block(task, layouts)
    if measured:
        measure(task, gap, layouts, block, program)
    return block, Miss(length, ratio, add(*(counted.gap for counted in layouts)))


def _layouts(task: Task, gap: Gap, program: Program) -> list[Counted]:
    if len(gap.layouts) == 1:
        return [_layout(task, gap.layouts[0], {CONSTANT: 1}, program)]
    chosen = [program.boolean() for _ in gap.layouts]
    program.one_of(chosen)
    return [
        _layout(task, layout, {variable: 1}, program)
        for layout, variable in zip(gap.layouts, chosen, strict=True)
    ]


def _layout(task: Task, layout: Layout, chosen: Expression, program: Program) -> Counted:
    slots = [_slots(task, place, chosen, program) for place in layout.places]
    counts, takes = [], []
    for group in groups(layout):
        count = _count(task, group, slots, program)
        counts.append(count)
        worth = {c: t for index in group.places for c, t in layout.places[index].takes.items()}
        takes += [{variable: -worth[choice]} for choice, variable in count.items()]
    return Counted(layout, chosen, slots, counts, add(scale(chosen, layout.room), *takes))


def _slots(task: Task, place: Place, chosen: Expression, program: Program) -> list[Slot]:
    """The slots of a place: filled from the first on, thinner ranks before thicker."""
    there = [choice for choice in place.takes if task.choices[choice].count]
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
    """The rank of what lies in a slot, 0 for nothing."""
    return {variable: choice + 1 for choice, variable in slot.items()}


def _count(task: Task, group: Group, slots: list[list[Slot]], program: Program) -> dict[int, int]:
    mine = [slot for index in group.places for slot in slots[index]]
    if len(mine) == 1:
        return mine[0]
    count = {}
    for choice in sorted({choice for slot in mine for choice in slot}):
        holding = [slot[choice] for slot in mine if choice in slot]
        count[choice] = program.integer(0, min(len(holding), task.choices[choice].count))
        program.row({count[choice]: -1, **dict.fromkeys(holding, 1)}, 0, 0)
    return count


def _block(task: Task, layouts: list[Counted]) -> Block:
    layout = add(*(scale(counted.chosen, nth) for nth, counted in enumerate(layouts)))
    block = Block(read=lambda values: _read(layouts, values), layout=layout)
    block.digits.append((layout, len(layouts)))
    for counted in layouts:
        for group, count in zip(groups(counted.layout), counted.counts, strict=True):
            place = counted.layout.places[group.places[0]]
            for choice, variable in count.items():
                if place.shared >= 0:
                    block.shares.setdefault(place.shared, {}).setdefault(choice, {})[variable] = 1
                    continue
                block.uses.setdefault(choice, {})[variable] = 1
                block.most[choice] = block.most.get(choice, 0) + task.choices[choice].count
        for slots in counted.slots:
            block.digits += [(_digit(slot), len(task.choices) + 1) for slot in slots]
    return block


def _read(layouts: list[Counted], values: tuple[int, ...]) -> GapBuild:
    def holds(slot: Slot) -> list[int]:
        return [choice for choice, variable in slot.items() if values[variable]]

    for index, counted in enumerate(layouts):
        if all(variable == CONSTANT or values[variable] for variable in counted.chosen):
            parts = (sorted(c for slot in slots for c in holds(slot)) for slots in counted.slots)
            return GapBuild(index, tuple(map(tuple, parts)))
    raise AssertionError("the program chose no layout")


def measure(task: Task, gap: Gap, layouts: list[Counted], block: Block, program: Program) -> None:
    """Say what the gap adds to each level, and how much that can be."""
    measured = _measured(task, layouts, program)
    for level in task.levels:
        expression, top = measured.get(level.measure, ({}, 0))
        if level.measure == "thin":
            expression, top = _thin(task, gap, layouts, level)
        block.levels.append(expression)
        block.spans.append((0, top))


def extent(layout: Layout) -> tuple[int, int]:
    """Bounds on the gap, whatever lies at its places."""
    least = most = layout.room
    for place in layout.places:
        takes = [*place.takes.values()] or [0]
        few, many = place.least, place.most
        least -= max(max(takes) * few, max(takes) * many)
        most -= min(min(takes) * few, min(takes) * many)
    return least, most


def _thin(task: Task, gap: Gap, layouts: list[Counted], level: Level) -> tuple[Expression, int]:
    if gap.shifts != level.shifts:
        return {}, 0
    counts = [count for counted in layouts for count in counted.counts]
    thin: Expression = {
        variable: 1
        for count in counts
        for choice, variable in count.items()
        if task.choices[choice].grade == level.grade
    }
    return thin, max(len(counted.slots) for counted in layouts) if thin else 0


def _measured(
    task: Task, layouts: list[Counted], program: Program
) -> dict[str, tuple[Expression, int]]:
    """Each measure's expression and an upper bound, summed over the layouts."""
    parts = [_measures(task, counted, program) for counted in layouts]
    return {
        measure: (add(*(part[measure][0] for part in parts)), max(p[measure][1] for p in parts))
        for measure in parts[0]
    }


def _measures(task: Task, counted: Counted, program: Program) -> dict[str, tuple[Expression, int]]:
    layout = counted.layout
    off, furthest = _off(counted, program)
    top = layout.ratio(furthest)
    ratio = program.integer(0, top)
    program.row({ratio: layout.width, off: -RATIO}, 0, None)
    middle: tuple[Expression, int] = ({}, 0)
    if not layout.nearest and top > MIDDLE:
        beyond = program.integer(0, top - MIDDLE)
        program.row(add({beyond: 1, ratio: -1}, scale(counted.chosen, MIDDLE)), 0, None)
        middle = ({beyond: 1}, top - MIDDLE)
    heat = [
        {v: place.heat * task.choices[c].deficit for slot in slots for c, v in slot.items()}
        for place, slots in zip(layout.places, counted.slots, strict=True)
    ]
    shims = [
        dict.fromkeys((v for slot in slots for v in slot.values()), 1)
        for place, slots in zip(layout.places, counted.slots, strict=True)
        if (place.least, place.most) != (1, 1)
    ]
    return {
        "rank": (scale(counted.chosen, layout.rank), layout.rank),
        "heat": (add(*heat), sum(max(place.values(), default=0) for place in heat)),
        "middle": middle,
        "worst middle": middle,
        "change": _change(counted, program),
        "worst": ({ratio: 1}, top),
        "ratio": ({ratio: 1}, top),
        "deviation": ({off: 1}, furthest),
        "shims": (add(*shims), sum(place.most for place in layout.places)),
    }


def _off(counted: Counted, program: Program) -> tuple[int, int]:
    """The deviation from the aim: its variable, and the most it can be."""
    layout, (least, most) = counted.layout, extent(counted.layout)
    low = least if layout.low is None else max(least, layout.low)
    high = most if layout.high is None else min(most, layout.high)
    furthest = max(abs(high - layout.aim), abs(low - layout.aim))
    off = program.integer(0, furthest)
    above = add(counted.gap, scale(counted.chosen, -layout.aim))
    program.row(add({off: 1}, scale(above, -1)), 0, None)
    program.row(add({off: 1}, above), 0, None)
    return off, furthest


def _change(counted: Counted, program: Program) -> tuple[Expression, int]:
    """How many parts go in or come out, weighted; shared parts are counted with the job."""
    total, top = scale(counted.chosen, counted.layout.moved), counted.layout.moved
    for place, slots in zip(counted.layout.places, counted.slots, strict=True):
        if place.now is None or place.shared >= 0:
            continue
        moved = program.integer(0, max(place.most, len(place.now)))
        old = Counter(place.now)
        kept: Expression = {}
        for choice, count in old.items():
            holding = [slot[choice] for slot in slots if choice in slot]
            stays = program.integer(0, min(len(holding), count))
            program.row({stays: 1, **dict.fromkeys(holding, -1)}, None, 0)
            kept[stays] = -1
        new = dict.fromkeys((v for slot in slots for v in slot.values()), -1)
        program.row(add({moved: 1}, new, scale(kept, -1)), 0, None)
        before = scale(counted.chosen, -len(place.now))
        program.row(add({moved: 1}, before, scale(kept, -1)), 0, None)
        total = add(total, {moved: place.weight})
        top += place.weight * max(place.most, len(place.now))
    return total, top
