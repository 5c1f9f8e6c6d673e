"""What every column is worth and takes, and which of them to keep.

Leaves out columns that another column of the same component replaces in every plan.

One column replaces another where it takes no more of anything contended and no more of any size,
costs no more, and is no worse on the levels in their order. A level that is a job's worst may
hide that a column is better on it, because another component is worse still; so after a better
worst the later levels must be no worse either. Without that the sum that follows could grow.
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
    """Weighs the columns of a batch."""

    def __init__(self, batch: Batch, scarce: frozenset[Pool]) -> None:
        self.batch = batch
        self.scarce = scarce

    def weighed(
        self, job: int, component: Component, columns: list[ComponentBuild]
    ) -> tuple[list[tuple[int, ...]], list[int]]:
        """The values of every column of a component, and the indices of those to keep."""
        on = (self._on(level, job, component, columns) for level in self.batch.levels)
        values = list(zip(*on, strict=True))
        return values, self._kept(job, columns, values)

    def key(self, job: int, component: Component, columns: list[ComponentBuild]) -> Hashable:
        """Equal for components whose columns are worth and take the same."""
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
        """What every column adds to a level of the batch; to those on totals nothing."""
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
        """What columns take of all that is contended, of every size, and what they cost."""
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
    """A column by what it takes, and by what it is worth."""

    takes: tuple[int, ...]
    values: tuple[int, ...]


def kept(columns: Sequence[Weighed], worst: Sequence[bool]) -> list[int]:
    """The columns to keep, by their indices, in their order; of equal ones the first."""
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
