"""Values the columns of a batch: what each adds to the levels, and what it takes of the stock."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.batch.instance import seen
from solver.builds.dominance import Weighed
from solver.problem.aims import Scarcity

if TYPE_CHECKING:
    from collections.abc import Hashable

    from solver.batch.columns import ComponentBuild
    from solver.batch.components import Component
    from solver.batch.instance import Batch, Pool
    from solver.problem.aims import Level
    from solver.problem.instance import Build


class Weighing:
    """Values the columns of a batch.

    Parameters
    ----------
    batch
        The jobs and their stock.
    scarce
        The contended pools, as `solver.batch.pools.contended` finds them.
    """

    def __init__(self, batch: Batch, scarce: frozenset[Pool]) -> None:
        self.batch = batch
        self.scarce = scarce

    def values(
        self, job: int, component: Component, columns: list[ComponentBuild]
    ) -> list[tuple[int, ...]]:
        """Return for each column its addition to each level, in the units of the batch.

        Parameters
        ----------
        job
            The job's index in the batch.
        component
            One component of that job.
        columns
            Every way to build the component.
        """
        on = (self._on(level, job, component, columns) for level in self.batch.levels)
        return list(zip(*on, strict=True))

    def key(self, job: int, component: Component, columns: list[ComponentBuild]) -> Hashable:
        """Return a key, equal for components whose columns have equal values and take the same."""
        kept = self.batch.jobs[job].kept
        earlier = tuple(
            (kept[gap.name], tuple(layout.name for layout in gap.layouts))
            if gap.name in kept
            else None
            for gap in component.instance.gaps
        )
        return id(columns), self.batch.pools[job], earlier

    def _on(
        self, level: Level, job: int, component: Component, columns: list[ComponentBuild]
    ) -> list[int]:
        """Return the addition of every column to a level; 0 on levels of the batch's totals."""
        if level.measure == "kept":
            return [self._differing(job, component, column.build) for column in columns]
        if level not in component.instance.levels or isinstance(level.counts, Scarcity):
            return [0] * len(columns)
        nth, scale = component.instance.levels.index(level), self.batch.scale(job, level)
        return [column.values[nth] * scale for column in columns]

    def _differing(self, job: int, component: Component, build: Build) -> int:
        """Count the gaps of a component that are built otherwise than in the earlier plan."""
        kept, instance = self.batch.jobs[job].kept, component.instance
        return sum(
            instance.gaps[nth].name in kept
            and kept[instance.gaps[nth].name] != seen(instance, nth, built)
            for nth, built in enumerate(build)
        )

    def weighed(
        self, job: int, columns: list[ComponentBuild], values: list[tuple[int, ...]]
    ) -> list[Weighed]:
        """Return the columns as they are compared: one may replace another in every plan.

        The parts of each size and the cost stand beside the contended pools: they count for levels
        of the whole plan, on which a column has no value of its own.

        Parameters
        ----------
        job
            The job's index in the batch.
        columns
            The columns of one of its components.
        values
            Their additions to the levels.
        """
        pools, choices = self.batch.pools[job], self.batch.jobs[job].instance.choices
        counted = sorted({c for column in columns for c, _ in column.uses})
        watched = [c for c in counted if choices[c].own or pools[c] in self.scarce]
        sizes = sorted(
            {(choices[c].family, choices[c].size) for c in counted if not choices[c].own}
        )

        def takes(column: ComponentBuild) -> tuple[int, ...]:
            uses = dict(column.uses)
            totals = Counter[tuple[str, str]]()
            for choice, count in column.uses:
                if not choices[choice].own:
                    totals[choices[choice].family, choices[choice].size] += count
            cost = sum((choices[c].price or 0) * n for c, n in column.uses if not choices[c].own)
            return (*(uses.get(c, 0) for c in watched), *(totals[size] for size in sizes), cost)

        return [Weighed(None, takes(c), v) for c, v in zip(columns, values, strict=True)]
