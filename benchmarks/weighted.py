"""One weighted solve in place of levels: as many of the first levels as weights keep apart.

Exact on paper while the weights stay below 2^53, and still not a thing to build on: an engine
that works to a tolerance may take a large weight's small change for nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmarks.peers import HIGHS_OPTIMAL, Highs
from solver.problem.gaps import RATIO

if TYPE_CHECKING:
    from benchmarks.positions import Terms
    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap, GridLayout
    from solver.problem.instance import Instance

LARGEST = 2**53  # no whole number above it is sure to be a float


def by_weights(instance: Instance) -> tuple[int, ...]:
    """Solve once with HiGHS; gives the levels that were weighed in, or nothing."""
    program = Highs(instance)
    covered, weights = _weights(instance)
    objective: Terms = {}
    levels = program.positions.levels[:covered]
    for weight, level in zip(weights, levels, strict=True):
        for column, amount in level.items():
            objective[column] = objective.get(column, 0) + weight * amount
    found = program.least(objective)
    if found.status != HIGHS_OPTIMAL:
        return ()
    return tuple(
        round(sum(amount * found.x[column] for column, amount in level.items())) for level in levels
    )


def _weights(instance: Instance) -> tuple[int, list[int]]:
    """How many levels fit, and a weight for each that all later ones together never reach."""
    spans: list[int] = []
    product = 1
    for level in instance.levels:
        span = _highest(instance, level) + 1
        if product * span > LARGEST:
            break
        product *= span
        spans.append(span)
    weights = []
    for span in spans:
        product //= span
        weights.append(product)
    return len(spans), weights


def _highest(instance: Instance, level: Level) -> int:
    """A number the level never passes."""
    if level.measure == "scarce":
        return RATIO * sum(len(_largest(gap).places) for gap in instance.gaps)
    if level.worst:
        return RATIO
    shared = sum(part.weight for part in instance.shared) if level.measure == "change" else 0
    return shared + sum(
        max(_top(instance, layout, level) for layout in g.layouts) for g in instance.gaps
    )


def _largest(gap: GridGap) -> GridLayout:
    return max(gap.layouts, key=lambda layout: len(layout.places))


def _top(instance: Instance, layout: GridLayout, level: Level) -> int:
    deficit = max(choice.deficit for choice in instance.choices)
    tops = {
        "rank": layout.rank,
        "thin": sum(place.heat > 0 for place in layout.places),
        "heat": deficit * sum(place.heat for place in layout.places),
        "change": layout.moved + sum(place.weight for place in layout.places),
        "shims": 0,
        "deviation": layout.width,
    }
    return tops.get(level.measure, RATIO)
