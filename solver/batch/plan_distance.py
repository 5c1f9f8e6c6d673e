"""How far a plan is from an earlier one: gap by gap, what a person could tell apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.batch.components import Component
    from solver.batch.instance import Batch
    from solver.problem.instance import Build, GapBuild, Instance

Seen = tuple[str, tuple[tuple[tuple[str, str], int], ...]]


def seen(instance: Instance, gap: int, built: GapBuild) -> Seen:
    """A gap's layout, and how many it holds of each size."""
    return instance.gaps[gap].layouts[built.layout].name, tuple(
        sorted(instance.counts(built).items())
    )


def differing(batch: Batch, job: int, component: Component, build: Build) -> int:
    """How many gaps of a component are built otherwise than in the earlier plan."""
    kept, instance = batch.jobs[job].kept, component.instance
    return sum(
        instance.gaps[nth].name in kept
        and kept[instance.gaps[nth].name] != seen(instance, nth, built)
        for nth, built in enumerate(build)
    )
