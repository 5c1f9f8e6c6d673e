"""A gap put into the program as counts: how many of each choice lie in each group of places.

For gaps with too many fillings to list, and for the nearest miss of gaps that cannot land. The
gap and the stock are rows over counts alone, which keeps proofs short; which part lies in which
place is a flow from counts to slots, and only `heat`, `change` and the tie-break look at it.
Everything of a layout is zero while another layout is chosen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.builds.block import Block
from solver.builds.enumeration import groups
from solver.builds.measures import extent, measure
from solver.engines.cp_sat import CONSTANT, Expression, Program, add, scale
from solver.problem.instance import RATIO, GapBuild

if TYPE_CHECKING:
    from solver.builds.enumeration import Group
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
