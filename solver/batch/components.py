"""Splits a job into components that only stock ties together.

Gaps that hold one shared part, or that a rule counts together, form one component; every other
gap is a component of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.task import Gap, Rule, Shared, Task


@dataclass(frozen=True, slots=True)
class Component:
    """Some gaps of a job, as a task of their own; choices are numbered as in the job."""

    gaps: tuple[int, ...]
    task: Task


def components(task: Task) -> list[Component]:
    """Split a job, in the order of its gaps."""
    found: list[Component] = []
    for gaps in _joined(task):
        first = not found
        shared = tuple(
            part if _holds(task, gaps, nth) or (first and not _held(task, nth)) else _unknown(part)
            for nth, part in enumerate(task.shared)
        )
        rules = tuple(_renumbered(rule, gaps) for rule in task.rules if _is_of(task, rule, gaps))
        part = replace(task, gaps=tuple(task.gaps[g] for g in gaps), shared=shared, rules=rules)
        found.append(Component(gaps, part))
    return found


def _unknown(shared: Shared) -> Shared:
    """A shared part that is another component's to count."""
    return replace(shared, now=None)


def _joined(task: Task) -> list[tuple[int, ...]]:
    home = list(range(len(task.gaps)))
    for tied in _ties(task):
        least = min((home[gap] for gap in tied), default=0)
        merged = {home[gap] for gap in tied}
        home = [least if gap in merged else gap for gap in home]
    return [tuple(g for g, at in enumerate(home) if at == h) for h in sorted(set(home))]


def _ties(task: Task) -> Iterator[list[int]]:
    gaps = range(len(task.gaps))
    for nth in range(len(task.shared)):
        yield [gap for gap in gaps if _holds(task, (gap,), nth)]
    for rule in task.rules:
        if rule.gap < 0:
            counted = rule.first | rule.second
            yield [gap for gap in gaps if not counted.isdisjoint(_choices(task.gaps[gap]))]


def _choices(gap: Gap) -> set[int]:
    places = (place for layout in gap.layouts for place in layout.places)
    return {choice for place in places for choice in place.takes}


def _held(task: Task, shared: int) -> bool:
    return _holds(task, tuple(range(len(task.gaps))), shared)


def _holds(task: Task, gaps: tuple[int, ...], shared: int) -> bool:
    layouts = (layout for gap in gaps for layout in task.gaps[gap].layouts)
    return any(place.shared == shared for layout in layouts for place in layout.places)


def _is_of(task: Task, rule: Rule, gaps: tuple[int, ...]) -> bool:
    """Whether a rule is for these gaps; one that no gap can meet is for the first."""
    if rule.gap >= 0:
        return rule.gap in gaps
    counted = rule.first | rule.second
    tied = [g for g, gap in enumerate(task.gaps) if not counted.isdisjoint(_choices(gap))]
    return (tied or [0])[0] in gaps


def _renumbered(rule: Rule, gaps: tuple[int, ...]) -> Rule:
    return rule if rule.gap < 0 else replace(rule, gap=gaps.index(rule.gap))
