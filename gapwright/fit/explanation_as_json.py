"""Why a build is the answer, as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gapwright.output.exact_json import aim, exact, length
from solver.problem import judge
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.fit.explanation import Holding, Why
    from solver.explain.aim_costs import AimCost, More, Shift
    from solver.problem.instance import Task
    from solver.problem.solution import Fit
    from specs.values.lengths import Unit


def why_shape(why: Why, found: Fit, unit: Unit) -> dict[str, Any]:
    """What each aim costs and how far each reading may be off, as plain data."""
    return {
        "costs": [_cost(cost, found.task, unit) for cost in why.costs],
        "readings": [_holding(held, unit) for held in why.holdings],
    }


def _cost(cost: AimCost, task: Task, unit: Unit) -> dict[str, Any]:
    gains = None if cost.gains is None else [_shift(gain, task) for gain in cost.gains]
    more = None if cost.more is None else _more(cost.more, task, unit)
    return {"aim": cost.aim, "better without it": gains, "more of it": more}


def _more(more: More, task: Task, unit: Unit) -> dict[str, Any]:
    return {
        "possible": not more.none,
        "gain": more.gain and _shift(more.gain, task),
        "yields": more.yields and _shift(more.yields, task),
        "misses": [
            {"gap": gap.name, "by": length(Length(miss * task.step), unit)}
            for nth, gap in enumerate(task.gaps)
            if more.missing and (miss := judge.miss_of(task, more.missing, nth))
        ],
    }


def _shift(shift: Shift, task: Task) -> dict[str, Any]:
    scaled = task.step if shift.level.in_steps else 1
    return aim(shift.level) | {"by": exact(shift.by * scaled)}


def _holding(held: Holding, unit: Unit) -> dict[str, Any]:
    return {
        "gap": held.gap or None,
        "reading": held.reading,
        "value": length(held.value, unit),
        "from": length(held.low, unit),
        "to": length(held.high, unit),
        "proved": held.proved,
    }
