"""Tells the gaps that have nothing to do with the others of a job.

A gap stands apart where it holds no part another gap holds, draws on no family another draws on,
and is bound with none by a rule. Levels are sums or worsts over gaps, and every worst is followed
by the sum of the same. So in a best build of the job a gap that stands apart is at its own best,
whatever the others are; they, in turn, see of it only how much worst it leaves them.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from solver.task import Gap, Level, Task


def stands_apart(task: Task, index: int) -> bool:
    """Whether the best build of a gap is its own affair."""
    ties = _ties(task, task.gaps[index])
    others = (gap for nth, gap in enumerate(task.gaps) if nth != index)
    return not any(ties & _ties(task, gap) for gap in others)


def _ties(task: Task, gap: Gap) -> set[Hashable]:
    """All that could tie a gap to another: families, which shared parts draw on too, and rules."""
    places = [place for layout in gap.layouts for place in layout.places]
    choices = {choice for place in places for choice in place.takes}
    rules = {
        ("rule", nth)
        for nth, rule in enumerate(task.rules)
        if rule.gap < 0 and choices & (rule.first | rule.second)
    }
    return {("family", place.family) for place in places} | rules


def alone(task: Task, index: int) -> Task:
    """The job of one gap that stands apart.

    The first gap also has what no gap has a part in: a rule over parts nobody takes, a shared
    part that no layout holds.
    """
    held = [_held(gap) for gap in task.gaps]
    counted = [_counted(gap) for gap in task.gaps]
    rules = [
        replace(rule, gap=min(rule.gap, 0))
        for rule in task.rules
        if rule.gap == index
        or (rule.gap < 0 and _first(counted, rule.first | rule.second) == index)
    ]
    shared = tuple(
        one if _first(held, {nth}) == index else replace(one, now=None)
        for nth, one in enumerate(task.shared)
    )
    return replace(task, gaps=(task.gaps[index],), rules=tuple(rules), shared=shared)


def _held(gap: Gap) -> set[int]:
    """The shared parts a gap may hold."""
    return {place.shared for layout in gap.layouts for place in layout.places}


def _counted(gap: Gap) -> set[int]:
    """The choices a gap may take."""
    return {c for layout in gap.layouts for place in layout.places for c in place.takes}


def _first(sets: Sequence[set[int]], wanted: set[int] | frozenset[int]) -> int:
    """The first gap with any of what is wanted; the first of all where none has."""
    return next((nth for nth, one in enumerate(sets) if one & wanted), 0)


def together(task: Task, parts: Sequence[tuple[Task, tuple[int, ...]]]) -> tuple[int, ...]:
    """The levels of a whole job from those of its gaps."""
    each: list[dict[Level, int]] = [
        dict(zip(part.levels, values, strict=True)) for part, values in parts
    ]
    return tuple(
        (max if level.worst else sum)(found.get(level, 0) for found in each)
        for level in task.levels
    )
