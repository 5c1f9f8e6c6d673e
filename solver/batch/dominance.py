"""Leaves out columns that another column of the same component replaces in every plan.

One column replaces another where it takes no more of anything contended and no more of any size,
costs no more, and is no worse on the levels in their order. A level that is a job's worst may
hide that a column is better on it, because another component is worse still; so after a better
worst the later levels must be no worse either. Without that the sum that follows could grow.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence


class Weighed(NamedTuple):
    """A column by what it takes, and by what it is worth."""

    takes: tuple[int, ...]
    values: tuple[int, ...]


def kept(columns: Sequence[Weighed], worst: Sequence[bool]) -> list[int]:
    """The columns to keep, by their indices, in their order; of equal ones the first."""
    order = sorted(range(len(columns)), key=lambda n: (sum(columns[n].takes), columns[n].values, n))
    found: list[int] = []
    for index in order:
        column = columns[index]
        if not any(_replaces(columns[other], column, worst) for other in found):
            found.append(index)
    return sorted(found)


def _replaces(one: Weighed, other: Weighed, worst: Sequence[bool]) -> bool:
    for a, b in zip(one.takes, other.takes, strict=True):
        if a > b:
            return False
    return _no_worse(one.values, other.values, worst)


def _no_worse(one: tuple[int, ...], other: tuple[int, ...], worst: Sequence[bool]) -> bool:
    for a, b, hidden in zip(one, other, worst, strict=True):
        if a > b:
            return False
        if a < b and not hidden:
            return True
    return True
