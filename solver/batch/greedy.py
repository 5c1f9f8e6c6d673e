"""Makes a first plan job by job, so that a search which ends early still has a plan to return."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.batch.pools import tied

if TYPE_CHECKING:
    from solver.batch.columns import ComponentBuild
    from solver.batch.groups import Group
    from solver.batch.instance import Pool
    from solver.batch.model import BatchModel
    from solver.batch.objectives import Objectives


def first_plan(model: BatchModel, levels: Objectives) -> tuple[int, ...]:
    """Build the jobs one after the other, each by the first columns that the stock allows.

    Pinned jobs come first, then the others by priority.

    Parameters
    ----------
    model
        The program of the batch.
    levels
        Its levels, which settle the variables that follow from the columns.

    Returns
    -------
    tuple of int
        A value for each variable, which satisfies every row. Empty where pools overlap or where a
        component is counted rather than listed.
    """
    if any(len(pools) > 1 for _, pools in tied(model.pools)):
        return ()
    listed = dict(model.listed())
    if len(listed) < len(model.parts):
        return ()
    values = [0] * model.program.columns
    left: Counter[Pool] = Counter()
    for pool in model.pools:
        left[pool] = sum(model.batch.items[item].count for item in pool)
    jobs = model.batch.jobs
    for job in sorted(listed, key=lambda n: (not jobs[n].pinned, -jobs[n].priority, n)):
        chosen = _chosen(model, job, listed[job], left)
        if chosen is not None:
            values[model.complete[job]] = 1
            for group, nth in zip(listed[job], chosen, strict=True):
                values[group.variables[nth]] += 1
    return levels.settled(tuple(values))


def _chosen(
    model: BatchModel, job: int, groups: list[Group], left: Counter[Pool]
) -> list[int] | None:
    """Choose for each component the first column in stock; None where a component has none."""
    own = Counter(
        dict(enumerate(choice.count for choice in model.batch.jobs[job].instance.choices))
    )
    chosen: list[int] = []
    for group in groups:
        nth = _first(model, job, group.columns, left, own)
        if nth is None:
            for before, taken in zip(groups, chosen, strict=False):
                _take(model, job, before.columns[taken], left, own, -1)
            return None
        _take(model, job, group.columns[nth], left, own, 1)
        chosen.append(nth)
    return chosen


def _first(
    model: BatchModel,
    job: int,
    columns: list[ComponentBuild],
    left: Counter[Pool],
    own: Counter[int],
) -> int | None:
    """Return the first column that the stock suffices for."""
    pools, choices = model.batch.pools[job], model.batch.jobs[job].instance.choices
    for nth, column in enumerate(columns):
        enough = (
            count <= (own[choice] if choices[choice].own else left[pools[choice]])
            for choice, count in column.uses
        )
        if all(enough):
            return nth
    return None


def _take(
    model: BatchModel,
    job: int,
    column: ComponentBuild,
    left: Counter[Pool],
    own: Counter[int],
    times: int,
) -> None:
    pools, choices = model.batch.pools[job], model.batch.jobs[job].instance.choices
    for choice, count in column.uses:
        if choices[choice].own:
            own[choice] -= times * count
        else:
            left[pools[choice]] -= times * count
