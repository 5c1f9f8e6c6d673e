"""Defines linear expressions over plain integers, which every engine here accepts.

An expression maps the index of a variable to its coefficient, with the constant under CONSTANT.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

CONSTANT = -1


Expression = dict[int, int]


def add(*expressions: Mapping[int, int]) -> Expression:
    """Return the sum of expressions."""
    total: Expression = {}
    for expression in expressions:
        for index, factor in expression.items():
            total[index] = total.get(index, 0) + factor
    return total


def gather(total: Expression, more: Expression) -> None:
    """Add an expression to another in place."""
    for variable, factor in more.items():
        if factor:
            total[variable] = total.get(variable, 0) + factor


def scale(expression: Mapping[int, int], factor: int) -> Expression:
    """Return an expression times an integer."""
    return {index: value * factor for index, value in expression.items()}


def value_of(expression: Mapping[int, int], values: tuple[int, ...]) -> int:
    """Return the value of an expression for the variables' values."""
    return sum(
        factor if index == CONSTANT else factor * values[index]
        for index, factor in expression.items()
    )
