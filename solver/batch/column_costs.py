"""Values the columns of a batch, and leaves out those that another column replaces in every plan.

One column replaces another of the same component where it takes no more of any contended pool and
no more of any size, costs no more, and is no worse on the levels in their order. A level that is a
job's worst value may hide that a column is better on it, because another component is worse still.
So after a better value on such a level the later levels must be no worse either; otherwise the sum
on a later level could grow.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from solver.batch.plan_distance import differing
from solver.problem.aims import Scarcity

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    from solver.batch.columns import ComponentBuild
    from solver.batch.components import Component
    from solver.batch.instance import Batch, Pool
    from solver.problem.aims import Level


class Weighing:
    """Values the columns of a batch, and chooses those to keep in the program.

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

    def weighed(
        self, job: int, component: Component, columns: list[ComponentBuild]
    ) -> tuple[list[tuple[int, ...]], list[int]]:
        """Return the values of a component's columns, and the indices of the columns to keep.

        Parameters
        ----------
        job
            The job's index in the batch.
        component
            One component of that job.
        columns
            Every way to build the component.

        Returns
        -------
        values : list of tuple of int
            For each column its addition to each level of the batch, in the units of the batch.
        kept : list of int
            The columns that no other column replaces, in their order.
        """
        on = (self._on(level, job, component, columns) for level in self.batch.levels)
        values = list(zip(*on, strict=True))
        return values, self._kept(job, columns, values)

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
            return [differing(self.batch, job, component, column.build) for column in columns]
        if level not in component.instance.levels or isinstance(level.counts, Scarcity):
            return [0] * len(columns)
        nth, scale = component.instance.levels.index(level), self.batch.scale(job, level)
        return [column.values[nth] * scale for column in columns]

    def _kept(
        self, job: int, columns: list[ComponentBuild], values: list[tuple[int, ...]]
    ) -> list[int]:
        takes = self._takes(job, columns)
        weighed = [Weighed(takes(c), v) for c, v in zip(columns, values, strict=True)]
        return kept(weighed, [level.worst for level in self.batch.levels])

    def _takes(
        self, job: int, columns: list[ComponentBuild]
    ) -> Callable[[ComponentBuild], tuple[int, ...]]:
        """Return a function that lists a column's contended pools, its sizes, and its cost."""
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

        return takes


class Weighed(NamedTuple):
    """A column by the amounts it takes and by its values on the levels."""

    takes: tuple[int, ...]
    values: tuple[int, ...]


def kept(columns: Sequence[Weighed], worst: Sequence[bool]) -> list[int]:
    """Choose the columns that no other column replaces.

    Parameters
    ----------
    columns
        The columns of one component, all with amounts and values of the same length.
    worst
        For each level, whether it is the worst value of a job.

    Returns
    -------
    list of int
        Indices of the columns to keep, in their order; of equal columns the first.
    """
    order = sorted(range(len(columns)), key=lambda n: (sum(columns[n].takes), columns[n].values, n))
    found: list[int] = []
    for index in order:
        column = columns[index]
        if not any(_replaces(columns[other], column, worst) for other in found):
            found.append(index)
    return sorted(found)


def _replaces(one: Weighed, other: Weighed, worst: Sequence[bool]) -> bool:
    for a, b in zip(one.takes, other.takes, strict=True):
        if a > b:
            return False
    return _no_worse(one.values, other.values, worst)


def _no_worse(one: tuple[int, ...], other: tuple[int, ...], worst: Sequence[bool]) -> bool:
    for a, b, hidden in zip(one, other, worst, strict=True):
        if a > b:
            return False
        if a < b and not hidden:
            return True
    return True
