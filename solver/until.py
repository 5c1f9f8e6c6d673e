"""The best build that is accepted as a whole, where no sum over gaps says whether it is.

The best build is asked about; one that is not accepted is shut out, part by part, and the search
goes on. What is left out so was better and not accepted, so the first accepted one is the best.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver import judge
from solver.answer import Answer, Miss, NoFit, Undecided
from solver.engine import Clock, Limits
from solver.fit import judged, listed, model_of
from solver.miss import nearest_miss
from solver.model import descend

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.task import Build, Task


def fit_until(
    task: Task, accepted: Callable[[Build], bool], limits: Limits | None = None
) -> Answer:
    """Choose the parts of one rebuild so that the whole build is accepted.

    Builds alike in the parts of every gap are asked about once. Raises JudgeError where the
    engine's answer does not hold in plain integers.
    """
    clock = Clock(limits or Limits())
    patterns = [listed(task, gap) for gap in task.gaps]
    if [] in patterns:
        return nearest_miss(task, clock)
    refused: list[Build] = []
    while True:
        model = model_of(task, patterns)
        for build in refused:
            model.shut_out(build, exactly=True)
        found = descend(model, clock)
        if found.status == "infeasible":
            return _none(task, refused[0]) if refused else nearest_miss(task, clock)
        if found.build is None:
            return Undecided(task)
        if accepted(found.build):
            return judged(task, found)
        refused.append(found.build)


def _none(task: Task, best: Build) -> NoFit:
    """No build is accepted, though each gap can be had."""
    alone = (
        Miss("near", judge.gap_of(task, best, index), 0, built.layout)
        for index, built in enumerate(best)
    )
    return NoFit(task, tuple(alone), None)
