"""A reading that goes through a range of values while the others stand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from fractions import Fraction

    from solver.problem.gaps import GridLayout
    from solver.problem.instance import Instance

    Factors = tuple[tuple[Fraction, ...], ...]
    """For each layout of each gap, the growth of its room when the reading grows by one."""
Rates = tuple[tuple[int, ...], ...]
"""The same in steps of the grid, from a value of the reading to the next."""
Span = tuple[int | None, int | None]
"""The least and the greatest room served; None where there is no end to it."""


@dataclass(frozen=True, slots=True)
class Sweep:
    """The instance at the first of some values, and how its rooms grow from each to the next."""

    instance: Instance
    rates: Rates
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


def factors_of(instance: Instance, factor: Callable[[str, str], Fraction]) -> Factors:
    """By how much each layout's room grows with a reading, told by the names of gap and layout."""
    return tuple(
        tuple(factor(gap.name, layout.name) for layout in gap.layouts) for gap in instance.gaps
    )


def rates_of(instance: Instance, factors: Factors, step: Fraction | int) -> Rates:
    """The steps by which each layout's room grows with a step of the reading, in nanometres."""
    return tuple(tuple(int(f * step / instance.step) for f in layouts) for layouts in factors)


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
