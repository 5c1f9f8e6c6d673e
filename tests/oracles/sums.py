"""Dynamic programming over sums for a job of one gap, with the full vector of aims.

Place by place, a state is the sum taken so far with the parts used so far; of each state all
undominated pairs of heat and change are kept. The tie-break is left out.
"""

from __future__ import annotations

from collections import Counter
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.problem.instance import ChoiceRule, GridLayout, GridPlace, Task

State = tuple[int, tuple[int, ...]]
"""The sum taken, and how many of each choice are used."""
Costs = set[tuple[int, int]]
"""Undominated pairs of heat and change."""


def best_values(task: Task) -> tuple[int, ...] | None:
    """The least value of every level in order; nothing where nothing fits."""
    (gap,) = task.gaps
    vectors = [
        vector for layout in gap.layouts for vector in _vectors(task, layout, shifts=gap.shifts)
    ]
    return min(vectors, default=None)


def _vectors(task: Task, layout: GridLayout, *, shifts: bool) -> Iterator[tuple[int, ...]]:
    states: dict[State, Costs] = {(0, (0,) * len(task.choices)): {(0, 0)}}
    for place in layout.places:
        states = _further(task, states, place)
    stacked = [place for place in layout.places if (place.least, place.most) != (1, 1)]
    single = len(layout.places) - len(stacked)
    for (taken, used), costs in states.items():
        left = layout.room - taken
        inside = (layout.low is None or layout.low <= left) and (
            layout.high is None or left <= layout.high
        )
        if not inside or not all(_holds(rule, used) for rule in task.rules):
            continue
        for heat, change in costs:
            found = _of_sum(layout, left) | _of_used(task, used, shifts=shifts)
            found |= {
                "rank": layout.rank,
                "heat": heat,
                "change": layout.moved + change,
                "shims": sum(used) - single,
            }
            yield tuple(
                found.get(f"thin {level.shifts} {level.grade}", 0)
                if level.measure == "thin"
                else found[level.measure]
                for level in task.levels
            )


def _further(task: Task, states: dict[State, Costs], place: GridPlace) -> dict[State, Costs]:
    longer: dict[State, Costs] = {}
    handfuls = [
        parts
        for number in range(place.least, place.most + 1)
        for parts in combinations_with_replacement(place.takes, number)
    ]
    for (taken, used), costs in states.items():
        for parts in handfuls:
            now = list(used)
            for part in parts:
                now[part] += 1
            if any(now[part] > task.choices[part].count for part in parts):
                continue
            heat = place.heat * sum(task.choices[part].deficit for part in parts)
            change = 0 if place.now is None else place.weight * _differ(parts, place.now)
            state = taken + sum(place.takes[part] for part in parts), tuple(now)
            more = {(h + heat, c + change) for h, c in costs}
            longer[state] = _undominated(longer.get(state, set()) | more)
    return longer


def _undominated(costs: Costs) -> Costs:
    return {
        (heat, change)
        for heat, change in costs
        if not any(
            other != (heat, change) and other[0] <= heat and other[1] <= change for other in costs
        )
    }


def _differ(parts: tuple[int, ...], now: tuple[int, ...]) -> int:
    new, old = Counter(parts), Counter(now)
    return max((new - old).total(), (old - new).total())


def _holds(rule: ChoiceRule, used: tuple[int, ...]) -> bool:
    first, second = (sum(used[c] for c in choices) for choices in (rule.first, rule.second))
    return {
        "must": not first or bool(second),
        "never": not first or not second,
        "at most": first <= rule.bound,
        "at least": first >= rule.bound,
    }[rule.kind]


def _of_sum(layout: GridLayout, left: int) -> dict[str, int]:
    off = abs(left - layout.aim)
    ratio = (10_000 * off + layout.width - 1) // layout.width
    beyond = 0 if layout.nearest else max(0, ratio - 2_500)
    middle = dict.fromkeys(("middle", "worst middle"), beyond)
    return {"deviation": off, "ratio": ratio, "worst": ratio} | middle


def _of_used(task: Task, used: tuple[int, ...], *, shifts: bool) -> dict[str, int]:
    grades: Counter[str] = Counter()
    for choice, number in zip(task.choices, used, strict=True):
        grades[f"thin {shifts} {choice.grade}"] += number
    scarce = 0
    for choices in task.sizes.values():
        on_hand = sum(task.choices[c].count for c in choices)
        taken = sum(used[c] for c in choices)
        scarce += sum(10_000 // (on_hand - nth) for nth in range(taken))
    return {**grades, "scarce": scarce}
