"""Restricts a program to builds better than a known one, without a weight that could round.

Better means less on the first level that differs. For each level a boolean says that it is the
first. Where it is true, the levels before it are no worse and the level itself is lower.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.expressions import add

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.builds.dominance import Listed
    from solver.engines.descent import Goal
    from solver.problem.instance import Instance
    from solver.rebuild.model import Model


def ask_better(model: Model, goals: Sequence[Goal], values: Sequence[int]) -> None:
    """Add rows so that some goals, in their order, are better than given values.

    Parameters
    ----------
    model
        The model, whose program receives the rows.
    goals
        The goals, the most important first.
    values
        A value for each goal.
    """
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
    """Keep the patterns that may be in a build better than given values.

    A pattern is dropped where, with the other gaps at their least, it exceeds a level that all
    levels before it leave undecided.

    Parameters
    ----------
    instance
        The instance, with its levels.
    patterns
        The patterns of every gap; none may be None.
    values
        A value for each level.

    Returns
    -------
    list of list of Pattern
        For each gap the patterns kept; empty where no build can be better.
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
