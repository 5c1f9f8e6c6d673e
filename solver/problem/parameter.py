"""A reading that goes through a range of values while the others stand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.problem.instance import GridLayout, Instance

Span = tuple[int | None, int | None]
"""The least and the greatest room served; None where there is no end to it."""


@dataclass(frozen=True, slots=True)
class Course:
    """The instance at the first of some values, and how its rooms grow from each to the next."""

    instance: Instance
    rates: tuple[tuple[int, ...], ...]
    """In steps, for each layout of each gap."""
    count: int

    def at(self, nth: int) -> Instance:
        """The instance at one value, counted from 0."""
        gaps = []
        for gap, rates in zip(self.instance.gaps, self.rates, strict=True):
            moved = zip(gap.layouts, rates, strict=True)
            layouts = tuple(replace(lay, room=lay.room + nth * rate) for lay, rate in moved)
            gaps.append(replace(gap, layouts=layouts))
        return self.instance.with_rooms(tuple(gaps))

    def moves(self, index: int) -> bool:
        """Whether a gap's room moves at all."""
        return any(self.rates[index])


def values_in(layout: GridLayout, rate: int, span: Span, count: int) -> range:
    """The values at which a layout's room lies in a span."""
    low, high = (None if end is None else end - layout.room for end in span)
    if not rate:
        inside = (low is None or low <= 0) and (high is None or high >= 0)
        return range(count if inside else 0)
    if rate < 0:
        low, high = (None if end is None else -end for end in (high, low))
    step = abs(rate)
    first = 0 if low is None else max(0, -(-low // step))
    end = count if high is None else min(count, high // step + 1)
    return range(first, end) if first < end else range(0)
