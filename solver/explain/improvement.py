"""Asks a program for builds better than one that is known, without a weight that could round.

Better is less on the first level that differs. For each level that could be the first, a boolean
says that it is; where it is true the levels before it are held and the level itself lies below.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.expressions import add

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.builds.dominance import Listed
    from solver.problem.instance import Instance
    from solver.rebuild.model import Goal, Model


def ask_better(model: Model, goals: Sequence[Goal], values: Sequence[int]) -> None:
    """Ask that some goals, in their order, be better than some values of theirs."""
    first = {
        nth: model.program.boolean()
        for nth, (goal, value) in enumerate(zip(goals, values, strict=True))
        if value > goal.low
    }
    model.program.one_of(first.values())
    for nth, here in first.items():
        for index, goal in enumerate(goals[: nth + 1]):
            most = values[index] - (index == nth)
            held = add(goal.expression, {here: goal.high - most})
            model.program.row(held, None, goal.high)


def hopeful(instance: Instance, patterns: Listed, values: Sequence[int]) -> Listed:
    """Keep the patterns that may stand in a build better than some values; none where no may.

    With the other gaps at their least, a pattern must not pass a level that all before it leave
    undecided. Every gap is listed.
    """
    kept = [mine or [] for mine in patterns]
    for nth, (level, value) in enumerate(zip(instance.levels, values, strict=True)):
        if [] in kept:
            return []
        if not instance.parted(level):
            return [*kept]
        least = [min(pattern.values[nth] for pattern in mine) for mine in kept]
        together = max(least) if level.worst else sum(least)
        if together > value:
            return []
        slack = value - together
        kept = [
            [p for p in mine if p.values[nth] <= (value if level.worst else own + slack)]
            for mine, own in zip(kept, least, strict=True)
        ]
        if slack:
            return [*kept]
    return []
