"""Explains why nothing fits, by an irreducible set of conditions that cannot hold together.

The set is found by deletion. Beginning with all conditions, each in a fixed order, stock last, is
left out on trial, and stays out where nothing fits even so. The rest is irreducible: when a
condition was kept, something fitted without it, and so it does without it among fewer conditions.

One with the fewest conditions is found by hitting sets. Any conflict contains a condition of every
set that can be dropped to make the rest hold. So the fewest conditions that hit all such sets found
so far are a lower bound. Where they cannot hold together, they are a smallest conflict. Where they
can, growing them reveals a set not yet hit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.engines.cp_sat import Program
from solver.explain.conditions import Condition, can_hold, conditions_of, without

if TYPE_CHECKING:
    from collections.abc import Collection

    from solver.engines.limits import Clock, Status
    from solver.problem.instance import Instance
    from solver.problem.solution import Miss

MOST = 20  # conditions: with more, growing takes too long


@dataclass(frozen=True, slots=True)
class Reason:
    """Conditions that cannot hold together."""

    conditions: tuple[Condition, ...]
    irreducible: bool
    """Whether it is proved that the others can hold without any one; False where time ran out."""
    smallest: bool = False
    """Whether it is proved that every other such set has at least as many conditions."""


def reason_of(instance: Instance, alone: tuple[Miss, ...], clock: Clock) -> Reason:
    """Find an irreducible conflict: conditions that cannot hold together, but can without any one.

    Parameters
    ----------
    instance
        An instance that has no fit.
    alone
        The nearest miss of each gap by itself. Where one gap cannot fit even by itself, the limits
        of the other gaps are not part of the conflict.
    clock
        The time for all solves.

    Returns
    -------
    Reason
        The conflict; not proved irreducible where time ran out.
    """
    everything = list(conditions_of(instance))
    kept = [condition for condition in everything if not _beside_the_point(condition, alone)]
    if kept != everything and not _stuck(instance, kept, clock):
        kept = everything
    complete = True
    for group in (*_together(instance, kept, alone), *([condition] for condition in kept)):
        rest = [condition for condition in kept if condition not in group]
        if len(rest) == len(kept):
            continue
        status = can_hold(without(instance, _others(instance, rest)), clock)
        if status == "infeasible":
            kept = rest
        complete &= status != "unknown"
    return Reason(tuple(kept), complete)


def _others(instance: Instance, kept: list[Condition]) -> list[Condition]:
    return [condition for condition in conditions_of(instance) if condition not in kept]


def _stuck(instance: Instance, kept: list[Condition], clock: Clock) -> bool:
    return can_hold(without(instance, _others(instance, kept)), clock) == "infeasible"


def _beside_the_point(condition: Condition, alone: tuple[Miss, ...]) -> bool:
    """Return whether a condition is of another gap than one that cannot fit even by itself."""
    missed = _missed(alone)
    return missed is not None and condition.gap not in (-1, missed)


def _missed(alone: tuple[Miss, ...]) -> int | None:
    """Return the first gap that cannot fit even by itself; None where all can."""
    wrong = (n for n, miss in enumerate(alone) if miss.status == "unfillable" or miss.by)
    return next(wrong, None)


def _together(
    instance: Instance, kept: list[Condition], alone: tuple[Miss, ...]
) -> list[list[Condition]]:
    """Return conditions to leave out at once: stock of families the missed gap does not use."""
    missed = _missed(alone)
    if missed is None:
        return []
    gap = instance.gaps[missed]
    layouts = (*gap.layouts, *(barred.layout for barred in gap.barred))
    used = {place.family for layout in layouts for place in layout.places}
    return [[c for c in kept if c.kind == "stock" and c.size[0] not in used]]


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
        status = _can_hold(instance, conditions, chosen, clock)
        if status == "unknown":
            return reason
        if status == "infeasible":
            fewest = tuple(conditions[nth] for nth in sorted(chosen))
            return Reason(fewest, irreducible=True, smallest=True)
        for nth in range(len(conditions)):
            if _can_hold(instance, conditions, chosen | {nth}, clock) == "optimal":
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


def _can_hold(
    instance: Instance, conditions: tuple[Condition, ...], kept: Collection[int], clock: Clock
) -> Status:
    given_up = [condition for nth, condition in enumerate(conditions) if nth not in kept]
    return can_hold(without(instance, given_up), clock)
