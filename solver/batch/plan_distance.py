"""Counts the gaps in which a plan differs visibly from an earlier one.

A gap differs where its layout or its number of parts of some size does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.batch.components import Component
    from solver.batch.instance import Batch
    from solver.problem.instance import Build, GapBuild, Instance

Seen = tuple[str, tuple[tuple[tuple[str, str], int], ...]]


def seen(instance: Instance, gap: int, built: GapBuild) -> Seen:
    """Return a gap's layout, and the number of its parts of each size."""
    return instance.gaps[gap].layouts[built.layout].name, tuple(
        sorted(instance.counts(built).items())
    )


def differing(batch: Batch, job: int, component: Component, build: Build) -> int:
    """Count the gaps of a component that are built otherwise than in the earlier plan."""
    kept, instance = batch.jobs[job].kept, component.instance
    return sum(
        instance.gaps[nth].name in kept
        and kept[instance.gaps[nth].name] != seen(instance, nth, built)
        for nth, built in enumerate(build)
    )
