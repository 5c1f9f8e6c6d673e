"""Other builds as good as the answer: equal on every aim before `spare`.

They are looked for gap by gap, the other gaps held. Two builds of a gap are the same to a person
if their layouts and their counts by size are; of those, the best stands for all.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver import judge
from solver.fills import TooManyError
from solver.patterns import list_patterns

if TYPE_CHECKING:
    from solver.answer import Fit
    from solver.patterns import Pattern
    from solver.task import Build, GapBuild, Task

Looks = tuple[int, frozenset[tuple[tuple[str, str], int]]]


def equal_builds(fit: Fit, index: int) -> list[GapBuild] | None:
    """The other ways to build one gap as well; None where there are too many to list."""
    task = fit.task
    try:
        patterns = list_patterns(task, task.gaps[index])
    except TooManyError:
        return None
    visible = _before_spare(task)
    mine = next(p.values for p in patterns if p.build == fit.build[index])
    found: dict[Looks, tuple[tuple[int, ...], GapBuild]] = {}
    for pattern in patterns:
        if not _may_equal(task, pattern, mine, visible):
            continue
        build = (*fit.build[:index], pattern.build, *fit.build[index + 1 :])
        if judge.faults(task, build) or judge.values(task, build)[:visible] != fit.values[:visible]:
            continue
        looks = looks_of(task, build, index)
        rank = (judge.values(task, build), pattern.build)
        if looks not in found or rank[0] < found[looks][0]:
            found[looks] = rank
    found.pop(looks_of(task, fit.build, index), None)
    return [build for _, build in sorted(found.values(), key=lambda item: item[0])]


def looks_of(task: Task, build: Build, index: int) -> Looks:
    """What of a gap's build a person can tell apart: its layout and its counts by size."""
    counts: Counter[tuple[str, str]] = Counter()
    for parts in build[index].parts:
        counts.update((task.choices[part].family, task.choices[part].size) for part in parts)
    return build[index].layout, frozenset(counts.items())


def _before_spare(task: Task) -> int:
    aims = [level.aim for level in task.levels]
    return aims.index("spare") if "spare" in aims else len(aims)


def _may_equal(task: Task, pattern: Pattern, mine: tuple[int, ...], visible: int) -> bool:
    """With the other gaps held, sums over gaps stay equal only if this gap's share does."""
    return all(
        level.worst or ours == theirs
        for level, ours, theirs in zip(
            task.levels[:visible], mine[:visible], pattern.values[:visible], strict=True
        )
    )
