"""A task with only some conditions kept, rewritten on its own and asked of another solver."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tests.oracles import milp

if TYPE_CHECKING:
    from collections.abc import Collection

    from solver.conditions import Condition
    from solver.task import Gap, Layout, Task

PLENTY = 50


def can_hold(task: Task, kept: Collection[Condition]) -> bool:
    """Whether some build keeps these conditions, all others being given up."""
    return milp.best_values(replace(only(task, kept), aims=("layout",))) is not None


def only(task: Task, kept: Collection[Condition]) -> Task:
    """The task with these conditions alone."""
    told: set[tuple[object, ...]] = {(c.kind, c.gap, c.name, c.rule, c.size) for c in kept}
    stocked = {c.size for c in kept if c.kind == "stock"}
    return replace(
        task,
        choices=tuple(
            choice
            if (choice.family, choice.size) in stocked or not choice.sold
            else replace(choice, count=choice.count + PLENTY)
            for choice in task.choices
        ),
        rules=tuple(
            rule for nth, rule in enumerate(task.rules) if ("rule", -1, "", nth, ("", "")) in told
        ),
        gaps=tuple(_gap(gap, index, told) for index, gap in enumerate(task.gaps)),
    )


def _gap(gap: Gap, index: int, told: set[tuple[object, ...]]) -> Gap:
    def asked(kind: str, name: str = "") -> bool:
        return (kind, index, name, -1, ("", "")) in told

    def freed(layout: Layout) -> Layout:
        return replace(
            layout,
            low=layout.low if asked("lowest") else None,
            high=layout.high if asked("highest") else None,
            places=tuple(
                place
                if asked("kept", place.label)
                else replace(place, takes={**place.takes, **place.let_go})
                for place in layout.places
            ),
        )

    aside = [barred.layout for barred in gap.barred if not asked("layout", barred.layout.name)]
    return replace(gap, layouts=tuple(map(freed, (*gap.layouts, *aside))))
