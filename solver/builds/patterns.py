"""A gap put into the program as a choice among all its fillings that land in the window.

Everything about a filling is worked out here in plain integers; the program only chooses one
pattern for each gap, so that stock, shared parts and rules hold together.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING

from solver.builds.block import Block
from solver.builds.enumeration import Fill, Group, TooManyError, fills, groups
from solver.engines.cp_sat import CONSTANT
from solver.problem.instance import GapBuild

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from solver.engines.cp_sat import Program
    from solver.problem.aims import Level
    from solver.problem.instance import Gap, Layout, Task

MOST_PATTERNS = 5_000
MOST_WEIGHED = 20_000
"""Where builds are weighed there is no other way than to list them."""
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

    Where builds must be sure enough, only those that are.
    Raises TooManyError where there are more than MOST_PATTERNS of them, or where finding them
    would pass MOST_STEPS.
    """
    found = []
    most = MOST_PATTERNS if task.sure is None else MOST_WEIGHED
    for index, layout in enumerate(gap.layouts):
        of_gap = cache(partial(levels_off, task, layout))
        for chosen in combined(layout, shares_of(task, gap, layout)):
            found.append(_pattern(index, layout, chosen, of_gap))
            if len(found) > most:
                raise TooManyError
    if task.sure is not None:
        found = [pattern for pattern in found if sure_enough(task, gap, pattern.build)]
    return sorted(found, key=lambda pattern: (pattern.build.layout, pattern.build.parts))


def shares_of(task: Task, gap: Gap, layout: Layout) -> list[list[Share]]:
    """List what the fillings of each group of a layout's places add; raises TooManyError."""
    most = MOST_PATTERNS if task.sure is None else MOST_WEIGHED
    ways = [
        [_share(task, gap, layout, group, f) for f in fills(task, layout, group, most)]
        for group in groups(layout)
    ]
    return ways or [[Share(0, (0,) * len(task.levels), (), (), ())]]


def sure_enough(task: Task, gap: Gap, build: GapBuild) -> bool:
    """Whether a build of a gap is as sure as is asked."""
    layout = gap.layouts[build.layout]
    return task.sure is None or task.sure(gap.name, layout, build, layout.left(build.parts))


@dataclass(frozen=True, slots=True)
class Share:
    """What one filling of a group of places adds to a pattern."""

    takes: int
    values: tuple[int, ...]
    uses: tuple[tuple[int, int], ...]
    shares: tuple[tuple[int, int], ...]
    placed: tuple[tuple[int, tuple[int, ...]], ...]


def _share(task: Task, gap: Gap, layout: Layout, group: Group, fill: Fill) -> Share:
    placed = tuple(zip(group.places, fill.parts, strict=True))
    filled = [(layout.places[place], parts) for place, parts in placed]
    grades = Counter(task.choices[part].grade for parts in fill.parts for part in parts)
    shims = sum(len(here) for place, here in filled if (place.least, place.most) != (1, 1))
    measured = {"heat": fill.heat, "change": fill.change, "shims": shims}

    def value(level: Level) -> int:
        if level.measure == "thin":
            return grades[level.grade] if level.shifts == gap.shifts else 0
        return measured.get(level.measure, 0)

    uses = Counter(part for place, here in filled if place.shared < 0 for part in here)
    shares = tuple((place.shared, here[0]) for place, here in filled if place.shared >= 0)
    return Share(fill.takes, tuple(map(value, task.levels)), tuple(uses.items()), shares, placed)


def levels_off(task: Task, layout: Layout, off: int) -> tuple[int, ...]:
    """What a layout adds to each level when its gap is so far off its aim."""
    ratio, middle = layout.ratio(off), layout.beyond_middle(off)
    measured = {
        "rank": layout.rank,
        "worst middle": middle,
        "middle": middle,
        "change": layout.moved,
        "worst": ratio,
        "ratio": ratio,
        "deviation": off,
    }
    return tuple(measured.get(level.measure, 0) for level in task.levels)


def combined(layout: Layout, ways: list[list[Share]]) -> Iterator[tuple[Share, ...]]:
    """Combine the groups of a layout into fillings whose gap lies in the window."""
    ways = sorted(ways, key=len)
    begun: list[tuple[Share, ...]] = [()]
    for shares in ways[:-1]:
        begun = [(*chosen, share) for chosen in begun for share in shares]
        if len(begun) > MOST_STEPS:
            raise TooManyError
    last = sorted(ways[-1], key=lambda share: share.takes)
    sums = [share.takes for share in last]
    for chosen in begun:
        left = layout.room - sum(share.takes for share in chosen)
        yield from ((*chosen, share) for share in last[layout.landing(sums, left)])


def _pattern(
    index: int, layout: Layout, chosen: tuple[Share, ...], of_gap: Callable[[int], tuple[int, ...]]
) -> Pattern:
    parts, uses = assembled(layout, chosen)
    off = abs(layout.room - layout.aim - sum(share.takes for share in chosen))
    values = zip(of_gap(off), *(share.values for share in chosen), strict=True)
    shares = tuple(shared for share in chosen for shared in share.shares)
    return Pattern(GapBuild(index, parts), tuple(map(sum, values)), uses, shares)


def assembled(
    layout: Layout, chosen: tuple[Share, ...]
) -> tuple[tuple[tuple[int, ...], ...], Counter[int]]:
    """Put a filling of every group together: the parts at each place, and how many are used."""
    parts: list[tuple[int, ...]] = [()] * len(layout.places)
    uses: Counter[int] = Counter()
    for share in chosen:
        for place, here in share.placed:
            parts[place] = here
        for part, count in share.uses:
            uses[part] += count
    return tuple(parts), uses


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
        low = min(column)  # taken out of every pattern, so that weights multiply spans alone
        above = {x: value - low for x, value in zip(chosen, column, strict=True) if value > low}
        block.levels.append({CONSTANT: low, **above})
        block.spans.append((low, max(column)))
    for variable, pattern in zip(chosen, patterns, strict=True):
        for choice, count in pattern.uses.items():
            block.uses.setdefault(choice, {})[variable] = count
            block.most[choice] = max(block.most.get(choice, 0), count)
        for shared, choice in pattern.shares:
            block.shares.setdefault(shared, {}).setdefault(choice, {})[variable] = 1
    return block
