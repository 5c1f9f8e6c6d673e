"""Linear expressions of plain integers, which every engine here takes.

An expression maps the index of a variable to its coefficient, with the constant under CONSTANT.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

CONSTANT = -1


Expression = dict[int, int]


def add(*expressions: Mapping[int, int]) -> Expression:
    """Add expressions up."""
    total: Expression = {}
    for expression in expressions:
        for index, factor in expression.items():
            total[index] = total.get(index, 0) + factor
    return total


def gather(total: Expression, more: Expression) -> None:
    """Add to an expression in its place."""
    for variable, factor in more.items():
        if factor:
            total[variable] = total.get(variable, 0) + factor


def scale(expression: Mapping[int, int], factor: int) -> Expression:
    """Multiply an expression."""
    return {index: value * factor for index, value in expression.items()}


def value_of(expression: Mapping[int, int], values: tuple[int, ...]) -> int:
    """Work out an expression in plain integers."""
    return sum(
        factor if index == CONSTANT else factor * values[index]
        for index, factor in expression.items()
    )
