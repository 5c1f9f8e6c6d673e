"""How far a plan is from an earlier one: gap by gap, what a person could tell apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.batch.components import Component
    from solver.batch.instance import Batch
    from solver.problem.instance import Build, GapBuild, Task

Seen = tuple[str, tuple[tuple[tuple[str, str], int], ...]]


def seen(task: Task, gap: int, built: GapBuild) -> Seen:
    """A gap's layout, and how many it holds of each size."""
    return task.gaps[gap].layouts[built.layout].name, tuple(sorted(task.counts(built).items()))


def differing(batch: Batch, job: int, component: Component, build: Build) -> int:
    """How many gaps of a component are built otherwise than in the earlier plan."""
    kept, task = batch.jobs[job].kept, component.task
    return sum(
        task.gaps[nth].name in kept and kept[task.gaps[nth].name] != seen(task, nth, built)
        for nth, built in enumerate(build)
    )
