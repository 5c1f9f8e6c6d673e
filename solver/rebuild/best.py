"""The best builds of a job, in order, that a person could tell apart.

Two builds differ if for some gap the layout or the counts by size do. Each class of builds that
look alike stands with its best; the classes are ordered by all aims.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Clock
from solver.rebuild.fit import judged, listed, model_of
from solver.rebuild.model import descend

if TYPE_CHECKING:
    from solver.engines.cp_sat import Limits
    from solver.problem.solution import Fit


def best_builds(first: Fit, count: int, limits: Limits) -> tuple[Fit, ...]:
    """The first `count` builds, beginning with the answer itself.

    Fewer where there are no more; the last is not proved where time ran out. Raises JudgeError
    where the engine's answer does not hold in plain integers.
    """
    clock = Clock(limits)
    task = first.task
    patterns = [listed(task, gap) for gap in task.gaps]
    found = [first]
    while len(found) < count and found[-1].proved:
        model = model_of(task, patterns)
        for fit in found:
            model.shut_out(fit.build)
        descent = descend(model, clock)
        if descent.build is None:
            break
        found.append(judged(task, descent))
    return tuple(found)
