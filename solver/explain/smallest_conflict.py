"""Finds the fewest conditions that cannot hold together, by hitting sets.

Any conflict contains a condition of every set that can be dropped to make the rest hold. So the
fewest conditions that hit all such sets found so far are a lower bound. Where they cannot hold
together, they are a smallest conflict. Where they can, growing them reveals a set not yet hit.
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
    """Find a conflict with the fewest conditions.

    Parameters
    ----------
    instance
        An instance that has no fit.
    reason
        A conflict that was found, as `reason_of` returns it.
    clock
        The time that is left.

    Returns
    -------
    Reason
        A smallest conflict; that of `reason` where none has fewer conditions. Where the job has
        more than MOST conditions, or time ran out, `reason` as it was given.
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
    """Return the fewest conditions that hit every set, the first ones where there is a choice."""
    program = Program()
    held = [program.boolean() for _ in range(count)]
    for conditions in missed:
        program.row({held[nth]: 1 for nth in conditions}, 1, None)
    each = count * count  # more than the sum of all indices, which break ties
    outcome = program.least({held[nth]: each + nth for nth in range(count)}, clock)
    if outcome.status != "optimal":
        return None
    return {nth for nth in range(count) if outcome.values[held[nth]]}


def _together(
    instance: Instance, conditions: tuple[Condition, ...], kept: Collection[int], clock: Clock
) -> Status:
    given_up = [condition for nth, condition in enumerate(conditions) if nth not in kept]
    return can_hold(without(instance, given_up), clock)
