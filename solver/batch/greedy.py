"""A first plan, taken job by job: what there is when a search ends before it has found any."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.batch.pools import tied

if TYPE_CHECKING:
    from solver.batch.columns import Column
    from solver.batch.levels import Levels
    from solver.batch.model import BatchModel, Part
    from solver.batch.problem import Pool


def first_plan(model: BatchModel, levels: Levels) -> tuple[int, ...]:
    """Values of a plan that keeps every row; none where pools overlap or parts are counted."""
    if any(len(pools) > 1 for _, pools in tied(model.pools)):
        return ()
    if any(part.counted is not None for parts in model.parts.values() for part in parts):
        return ()
    values = [0] * model.program.columns
    left: Counter[Pool] = Counter()
    for pool in model.pools:
        left[pool] = sum(model.batch.items[item].count for item in pool)
    jobs = model.batch.jobs
    for job in sorted(model.parts, key=lambda n: (not jobs[n].pinned, -jobs[n].priority, n)):
        own = Counter(dict(enumerate(choice.count for choice in jobs[job].task.choices)))
        chosen = [_first(model, job, part, left, own) for part in model.parts[job]]
        if None in chosen:
            for part, nth in zip(model.parts[job], chosen, strict=True):
                if nth is not None:
                    _take(model, job, _columns(part)[nth], left, own, -1)
            continue
        values[model.complete[job]] = 1
        for part, nth in zip(model.parts[job], chosen, strict=True):
            if part.group:
                values[part.group.variables[nth or 0]] += 1
    return levels.settled(tuple(values))


def _columns(part: Part) -> list[Column]:
    return part.group.columns if part.group else []


def _first(
    model: BatchModel, job: int, part: Part, left: Counter[Pool], own: Counter[int]
) -> int | None:
    """Take the first column there is enough for."""
    pools, choices = model.batch.pools[job], model.batch.jobs[job].task.choices
    for nth, column in enumerate(_columns(part)):
        enough = (
            count <= (own[choice] if choices[choice].own else left[pools[choice]])
            for choice, count in column.uses
        )
        if all(enough):
            _take(model, job, column, left, own, 1)
            return nth
    return None


def _take(
    model: BatchModel,
    job: int,
    column: Column,
    left: Counter[Pool],
    own: Counter[int],
    times: int,
) -> None:
    pools, choices = model.batch.pools[job], model.batch.jobs[job].task.choices
    for choice, count in column.uses:
        if choices[choice].own:
            own[choice] -= times * count
        else:
            left[pools[choice]] -= times * count
