"""The best build that is accepted as a whole, where no sum over gaps says whether it is.

The best build is asked about; one that is not accepted is shut out, and the search goes on. What is
left out so was better and not accepted, so the first accepted one is the best.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Clock, Limits
from solver.problem import judge
from solver.problem.solution import Answer, Miss, NoFit, Undecided
from solver.rebuild.fit import judged, model_of, weighable
from solver.rebuild.model import descend
from solver.rebuild.nearest_miss import nearest_miss

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.builds.patterns import Pattern
    from solver.problem.instance import Build, Task
    from solver.rebuild.model import Model


def fit_until(
    task: Task, accepted: Callable[[Build], bool], limits: Limits | None = None
) -> Answer:
    """Choose the parts of one rebuild so that the whole build is accepted.

    Builds that differ only in the order of like parts are asked about once. Raises InputError
    where a gap has too many builds to list, JudgeError where the engine's answer does not hold in
    plain integers.
    """
    clock = Clock(limits or Limits())
    patterns = [weighable(task, gap) for gap in task.gaps]
    if [] in patterns:
        return nearest_miss(task, clock)
    refused: list[Build] = []
    while True:
        model = model_of(task, [*patterns])
        for build in refused:
            _shut_out(model, patterns, build)
        found = descend(model, clock)
        if found.status == "infeasible":
            return _none(task, refused[0]) if refused else nearest_miss(task, clock)
        if found.build is None:
            return Undecided(task)
        if accepted(found.build):
            return judged(task, found)
        refused.append(found.build)


def _shut_out(model: Model, patterns: list[list[Pattern]], build: Build) -> None:
    """Ask that some gap be filled by another pattern."""
    chosen: dict[int, int] = {}
    for block, mine, gap in zip(model.blocks, patterns, build, strict=True):
        rank = next(nth for nth, pattern in enumerate(mine) if pattern.build == gap)
        ((digit, _),) = block.digits  # a gap of patterns has one digit: which of them it is
        chosen |= {variable: 1 for variable, nth in digit.items() if nth == rank}
    model.program.row(chosen, None, len(chosen) - 1)


def _none(task: Task, best: Build) -> NoFit:
    """No build is accepted, though each gap can be had."""
    alone = (
        Miss("near", judge.gap_of(task, best, index), 0, built.layout)
        for index, built in enumerate(best)
    )
    return NoFit(task, tuple(alone), None)
