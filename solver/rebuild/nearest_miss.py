"""How near a job without a fit comes: for each gap alone, and for all together.

Alone, all other windows are dropped and everything else stays hard. Together, the largest miss
is made least relative to its window, then the sum of these. The programs count parts and
drop the windows, so they share no rows with the proof that nothing fits.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.builds.counts import miss_block
from solver.engines.cp_sat import Program
from solver.engines.descent import descend, one_by_one
from solver.engines.expressions import add
from solver.problem import judge
from solver.problem.solution import Miss, NoFit
from solver.rebuild.model import Model
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.builds.counts import MissRows
    from solver.engines.expressions import Expression
    from solver.engines.limits import Clock, Status
    from solver.problem.instance import Build, Instance


def nearest_miss(instance: Instance, clock: Clock) -> NoFit:
    """Say how near each gap comes, and all of them together."""
    clock.limits.watch.words = "nothing fits; looking for the nearest miss"
    found = [_alone(instance, index, clock) for index in range(len(instance.gaps))]
    alone = tuple(miss for miss, _ in found)
    lone = len(instance.gaps) == 1 and len(instance.gaps[0].layouts) == 1  # one width, one miss
    together = found[0][1] if lone else _together(instance, clock)
    if together is not None and not judge.faults(instance, together):
        raise JudgeError("one search says nothing fits, another found a fit")
    return NoFit(instance, alone, together)


def _rows(instance: Instance, *, measured: bool = False) -> tuple[Model, list[MissRows]]:
    program = Program()
    pairs = [miss_block(instance, gap, program, measured=measured) for gap in instance.gaps]
    return Model(instance, program, [block for block, _ in pairs]), [miss for _, miss in pairs]


def _alone(instance: Instance, index: int, clock: Clock) -> tuple[Miss, Build | None]:
    """The least miss of one gap, and of the gaps that miss so little the tightest."""
    model, misses = _rows(instance)
    status, build = _least(model, [misses[index].length, misses[index].gap], clock)
    if build is None:
        return Miss("unfillable" if status == "infeasible" else "unknown"), None
    _check(instance, build)
    gap, by = judge.gap_of(instance, build, index), judge.miss_of(instance, build, index)
    return Miss("near", gap, by, build[index].layout), build


def _together(instance: Instance, clock: Clock) -> Build | None:
    return least_miss(instance, clock)[1]


def least_miss(
    instance: Instance, clock: Clock, add_rows: Callable[[Model], None] | None = None
) -> tuple[Status, Build | None]:
    """Find the build whose largest miss is least, and of these the one whose sum is.

    With `add_rows` the model also measures the levels, and the rows it adds hold as well. No build
    where there is none (infeasible) or where time ran out.
    """
    model, misses = _rows(instance, measured=add_rows is not None)
    if add_rows is not None:
        add_rows(model)
    worst = model.program.integer(0, 2**60)
    for miss in misses:
        model.program.row(add({worst: 1}, {v: -f for v, f in miss.ratio.items()}), 0, None)
    total = add(*(miss.ratio for miss in misses))
    status, build = _least(model, [{worst: 1}, total], clock)
    if build is not None:
        _check(instance, build)
    return status, build


def _least(model: Model, goals: list[Expression], clock: Clock) -> tuple[Status, Build | None]:
    """Make goals least in order; no build where that cannot be done, or not in time."""
    found = descend(model.program, one_by_one(*goals), clock)
    return found.status, model.read(found.values) if found.status == "optimal" else None


def _check(instance: Instance, build: Build) -> None:
    wrong = judge.faults(instance, build, windows=False)
    if wrong:
        raise JudgeError(f"the nearest miss is not allowed: {'; '.join(wrong)}")
