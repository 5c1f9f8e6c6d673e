"""The fewest conditions that cannot hold together, by hitting sets.

Whatever cannot hold must hold one condition of every set that, left out, lets the rest hold. So
the fewest conditions that meet all such sets found so far are a bound; where they cannot hold
together they are a smallest reason, and where they can, growing them shows a set they missed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Program
from solver.explain.conditions import can_hold, conditions_of, without
from solver.explain.conflict import Reason

if TYPE_CHECKING:
    from collections.abc import Collection

    from solver.engines.limits import Clock, Status
    from solver.explain.conditions import Condition
    from solver.problem.instance import Instance

MOST = 20  # conditions: with more, growing takes too long


def smallest_reason(instance: Instance, reason: Reason, clock: Clock) -> Reason:
    """Find a reason of the fewest conditions; the one given where there is none of fewer.

    The one given comes back as it is where the job has too many conditions, or time ran out.
    """
    conditions = conditions_of(instance)
    if len(conditions) > MOST or not reason.irreducible:
        return reason
    missed: list[set[int]] = []
    while clock.left:
        chosen = _fewest(len(conditions), missed, clock)
        if chosen is None:
            return reason
        if len(chosen) >= len(reason.conditions):
            return Reason(reason.conditions, irreducible=True, smallest=True)
        status = _together(instance, conditions, chosen, clock)
        if status == "unknown":
            return reason
        if status == "infeasible":
            fewest = tuple(conditions[nth] for nth in sorted(chosen))
            return Reason(fewest, irreducible=True, smallest=True)
        for nth in range(len(conditions)):
            if _together(instance, conditions, chosen | {nth}, clock) == "optimal":
                chosen |= {nth}
        missed.append(set(range(len(conditions))) - chosen)
    return reason


def _fewest(count: int, missed: list[set[int]], clock: Clock) -> set[int] | None:
    """The fewest conditions that meet every set, the first ones if there is a choice."""
    program = Program()
    held = [program.boolean() for _ in range(count)]
    for conditions in missed:
        program.row({held[nth]: 1 for nth in conditions}, 1, None)
    each = count * count  # more than all the numbers of the conditions add up to
    outcome = program.least({held[nth]: each + nth for nth in range(count)}, clock)
    if outcome.status != "optimal":
        return None
    return {nth for nth in range(count) if outcome.values[held[nth]]}


def _together(
    instance: Instance, conditions: tuple[Condition, ...], kept: Collection[int], clock: Clock
) -> Status:
    given_up = [condition for nth, condition in enumerate(conditions) if nth not in kept]
    return can_hold(without(instance, given_up), clock)
