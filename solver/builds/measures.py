"""What a gap that is counted adds to each level of the aims.

Each measure is an expression that is never below the true value and reaches it where the level is
made least.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.engines.cp_sat import Expression, Program, add, scale
from solver.problem.instance import MIDDLE, RATIO

if TYPE_CHECKING:
    from solver.builds.block import Block
    from solver.builds.counts import Counted
    from solver.problem.aims import Level
    from solver.problem.instance import Gap, Layout, Task


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
