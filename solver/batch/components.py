"""Splits a job into components that only stock ties together.

Gaps that hold one shared part, or that a rule counts together, form one component; every other
gap is a component of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.problem.components import blocks, part_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.problem.instance import Task


@dataclass(frozen=True, slots=True)
class Component:
    """Some gaps of a job, as a task of their own; choices are numbered as in the job."""

    gaps: tuple[int, ...]
    task: Task


def components(task: Task) -> list[Component]:
    """Split a job, in the order of its gaps."""
    return [Component(gaps, part_of(task, gaps)) for gaps in blocks(len(task.gaps), _ties(task))]


def _ties(task: Task) -> Iterator[list[int]]:
    for nth in range(len(task.shared)):
        yield [index for index, gap in enumerate(task.gaps) if nth in gap.shared]
    for rule in task.rules:
        yield [index for index, gap in enumerate(task.gaps) if rule.binds(gap)]
