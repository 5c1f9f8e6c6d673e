"""The loosest build of one gap, whatever its window: what a trial build is to be made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.builds.counts import miss_block
from solver.engines.cp_sat import Program
from solver.engines.descent import descend, one_by_one
from solver.engines.expressions import scale
from solver.engines.limits import Clock, Limits
from solver.problem import judge
from solver.rebuild.model import Model
from specs.errors import JudgeError

if TYPE_CHECKING:
    from solver.problem.instance import Build, Instance


def loosest(instance: Instance, limits: Limits | None = None) -> Build | None:
    """Find the build of one gap that leaves the most, its window dropped and all else held.

    Parameters
    ----------
    instance
        The instance; it has one gap.
    limits
        Seconds, workers and a watch; a minute on one worker by default.

    Returns
    -------
    Build or None
        None where there are too few parts for its places, or where time ran out.

    Raises
    ------
    JudgeError
        Where the engine's build does not hold in plain integers.
    """
    program = Program()
    block, miss = miss_block(instance, instance.gaps[0], program)
    model = Model(instance, program, [block])
    found = descend(program, one_by_one(scale(miss.gap, -1)), Clock(limits or Limits()))
    build = model.read(found.values) if found.status == "optimal" else None
    if build is not None:
        wrong = judge.faults(instance, build, windows=False)
        if wrong:
            raise JudgeError(f"the loosest build is not allowed: {'; '.join(wrong)}")
    return build
