"""A gap put into the program as a choice among all its fillings that land in the window.

Everything about a filling is worked out here in plain integers; the program only chooses one
pattern for each gap, so that stock, shared parts and rules hold together.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.block import Block
from solver.fills import Fill, TooManyError, fills, groups
from solver.task import MIDDLE, RATIO, GapBuild

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.engine import Program
    from solver.task import Gap, Layout, Level, Task

MOST_PATTERNS = 5_000
MOST_STEPS = 50_000


@dataclass(frozen=True, slots=True)
class Pattern:
    """One filling of a gap that lands in its window."""

    build: GapBuild
    values: tuple[int, ...]
    """What it adds to each level; scarcity is counted over the whole job and stands as 0."""
    uses: Counter[int]
    shares: tuple[tuple[int, int], ...]
    """The shared parts it holds, each with its choice."""


def list_patterns(task: Task, gap: Gap) -> list[Pattern]:
    """List a gap's patterns in the order of the tie-break.

    Raises TooManyError where there are more than MOST_PATTERNS of them, or where finding them
    would pass MOST_STEPS.
    """
    found = []
    for index, layout in enumerate(gap.layouts):
        for chosen in _combined(task, layout):
            found.append(_pattern(task, gap, index, chosen))
            if len(found) > MOST_PATTERNS:
                raise TooManyError
    return sorted(found, key=lambda pattern: (pattern.build.layout, pattern.build.parts))


def _combined(task: Task, layout: Layout) -> Iterator[tuple[Fill, ...]]:
    """Combine the groups of a layout into fillings whose gap lies in the window."""
    ways = [fills(task, layout, group, MOST_PATTERNS) for group in groups(layout)]
    order = sorted(range(len(ways)), key=lambda index: len(ways[index]))
    partial: list[tuple[Fill, ...]] = [()]
    for index in order[:-1]:
        partial = [(*chosen, fill) for chosen in partial for fill in ways[index]]
        if len(partial) > MOST_STEPS:
            raise TooManyError
    last = sorted(ways[order[-1]], key=lambda fill: fill.takes) if ways else [Fill(0, 0, 0, ())]
    sums = [fill.takes for fill in last]
    for chosen in partial:
        left = layout.room - sum(fill.takes for fill in chosen)
        first = 0 if layout.high is None else bisect_left(sums, left - layout.high)
        end = len(sums) if layout.low is None else bisect_right(sums, left - layout.low)
        for fill in last[first:end]:
            together = dict(zip(order, (*chosen, fill), strict=False))
            yield tuple(together[index] for index in range(len(ways)))


def _pattern(task: Task, gap: Gap, index: int, chosen: tuple[Fill, ...]) -> Pattern:
    layout = gap.layouts[index]
    parts: list[tuple[int, ...]] = [()] * len(layout.places)
    for group, fill in zip(groups(layout), chosen, strict=True):
        for place, here in zip(group.places, fill.parts, strict=True):
            parts[place] = here
    off = abs(layout.room - sum(fill.takes for fill in chosen) - layout.aim)
    ratio = -(-RATIO * off // layout.width)
    grades = Counter(task.choices[part].grade for here in parts for part in here)
    filled = list(zip(layout.places, parts, strict=True))
    middle = 0 if layout.nearest else max(0, ratio - MIDDLE)
    measured = {
        "rank": layout.rank,
        "heat": sum(fill.heat for fill in chosen),
        "worst middle": middle,
        "middle": middle,
        "change": layout.moved + sum(fill.change for fill in chosen),
        "worst": ratio,
        "ratio": ratio,
        "deviation": off,
        "shims": sum(len(here) for place, here in filled if (place.least, place.most) != (1, 1)),
        "scarce": 0,
    }

    def value(level: Level) -> int:
        if level.measure == "thin":
            return grades[level.grade] if level.shifts == gap.shifts else 0
        return measured[level.measure]

    return Pattern(
        GapBuild(index, tuple(parts)),
        tuple(map(value, task.levels)),
        Counter(part for place, here in filled if place.shared < 0 for part in here),
        tuple((place.shared, here[0]) for place, here in filled if place.shared >= 0),
    )


def pattern_block(task: Task, patterns: list[Pattern], program: Program) -> Block:
    """Choose one pattern of a gap; there is at least one."""
    chosen = [program.boolean() for _ in patterns]
    program.one_of(chosen)
    block = Block(
        read=lambda values: patterns[next(i for i, x in enumerate(chosen) if values[x])].build,
        layout={x: p.build.layout for x, p in zip(chosen, patterns, strict=True)},
        digits=[(dict(zip(chosen, range(len(chosen)), strict=True)), len(chosen))],
    )
    for level in range(len(task.levels)):
        column = [pattern.values[level] for pattern in patterns]
        block.levels.append({x: value for x, value in zip(chosen, column, strict=True) if value})
        block.spans.append((min(column), max(column)))
    for variable, pattern in zip(chosen, patterns, strict=True):
        for choice, count in pattern.uses.items():
            block.uses.setdefault(choice, {})[variable] = count
            block.most[choice] = max(block.most.get(choice, 0), count)
        for shared, choice in pattern.shares:
            block.shares.setdefault(shared, {}).setdefault(choice, {})[variable] = 1
    return block
