"""Finds how far one reading may change, up or down, before another build beats the answer.

A reading moves the rooms of some gaps together, by a whole number of grid steps for each step of
its own. The search goes outward over ranges of such steps. Within a range, every pattern of a moved
gap is given the best values its levels may have there, and the answer its worst
(`solver/explain/sensitivity_ranges.py`). If no other build is better even so, none is at any step
of the range. Otherwise the range is halved, down to single steps, where nothing is relaxed and the
result is exact.

Where a moved gap has too many patterns to list, its steps are solved one by one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

from solver.explain.improvement import ask_better, hopeful
from solver.explain.sensitivity_ranges import (
    MovedGap,
    assemblies_of,
    best_levels,
    ranges,
    worst_levels,
)
from solver.problem.parameter import Course
from solver.rebuild.fit import listed, model_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.builds.dominance import Listed
    from solver.builds.patterns import Pattern
    from solver.engines.limits import Clock
    from solver.explain.sensitivity_ranges import Range
    from solver.problem.instance import GapBuild, GridGap, GridLayout, Instance
    from solver.problem.solution import Fit

Factors = tuple[tuple[Fraction, ...], ...]
"""For each gap and each of its layouts, the growth of its room when the reading grows by one."""
Moves = tuple[tuple[int, ...], ...]
"""The same in steps of the grid, for one step of the reading."""


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The number of steps of a reading over which the answer stays best, down and up."""

    step: Fraction
    """The length of one step of the reading, in nanometres."""
    lower: int | None
    """None where no lower reading makes another build better."""
    higher: int | None
    proved: bool
    """Whether both were found exactly; otherwise time ran out, and they may be greater."""


def sensitivity_of(found: Fit, factors: Factors, clock: Clock) -> Sensitivity:
    """Find the largest run of steps around a reading in which a fit stays best.

    It stays best while no build is better on the aims; the tie-break does not count.

    Parameters
    ----------
    found
        A proved fit.
    factors
        For each gap and each of its layouts, the growth of its room when the reading grows by one.
    clock
        The time for both directions.

    Returns
    -------
    Sensitivity
        The number of steps down and up, each of `step` nanometres; None where there is no end.
    """
    step = _step(found.instance, factors)
    down, up = (_Outward(found, _moves(found.instance, factors, s), clock) for s in (-step, step))
    return Sensitivity(step, down.reach(), up.reach(), not (down.late or up.late))


def _step(instance: Instance, factors: Factors) -> Fraction:
    """Return the least step of a reading, in nanometres, that moves rooms by whole grid steps."""
    each = [abs(instance.step / factor) for layouts in factors for factor in layouts if factor]
    over = lcm(*(length.denominator for length in each))
    return Fraction(lcm(*(int(length * over) for length in each)), over)


def _moves(instance: Instance, factors: Factors, step: Fraction) -> Moves:
    return tuple(tuple(int(f * step / instance.step) for f in layouts) for layouts in factors)


class _Outward:
    """The search in one direction, over steps 1, 2, ... of the given moves."""

    def __init__(self, found: Fit, moves: Moves, clock: Clock) -> None:
        self.found = found
        self.instance = found.instance
        self.moves = moves
        self.clock = clock
        self.late = False
        """Whether time ran out."""
        self.lines = [
            [assemblies_of(self.instance, layout) for layout in gap.layouts]
            for gap in self.instance.gaps
        ]
        self.answer = [self._going(nth, built) for nth, built in enumerate(found.build)]
        self.last: int | None = self._last()
        self.end = self._beyond() if self.last is None else self.last
        self.course = Course(self.instance, moves, self.end + 1)
        self.patterns = [self._listed(nth) for nth in range(len(self.instance.gaps))]

    def reach(self) -> int | None:
        """Return the last step at which the answer stays best; None where there is no end."""
        first = self._first(1, self.end)
        return self.last if first is None else first - 1

    def _last(self) -> int | None:
        """Return the last step at which the answer lies in its windows; None where all do."""
        left = []
        for going in self.answer:
            low, high = going.layout.low, going.layout.high
            if going.move > 0 and high is not None:
                left.append((high - going.gap) // going.move)
            if going.move < 0 and low is not None:
                left.append((going.gap - low) // -going.move)
        return min(left, default=None)

    def _beyond(self) -> int:
        """Return a step from which every gap of a moved stack lies on one side of all limits."""
        return max(
            _extent(gap) // abs(move) + 1
            for gap, moves in zip(self.instance.gaps, self.moves, strict=True)
            for move in moves
            if move
        )

    def _going(self, nth: int, built: GapBuild) -> MovedGap:
        layout = self.instance.gaps[nth].layouts[built.layout]
        left, at = layout.left(built.parts), built.layout
        return MovedGap(layout, left, self.moves[nth][at], self.lines[nth][at])

    def _listed(self, nth: int) -> list[tuple[Pattern, MovedGap]] | None:
        """Return the patterns that land at some step; all steps are alike where nothing moves."""
        gap, moves = self.instance.gaps[nth], self.moves[nth]
        wide = replace(
            gap,
            layouts=tuple(
                _widened(layout, move, self.end)
                for layout, move in zip(gap.layouts, moves, strict=True)
            ),
        )
        patterns = listed(self.instance, wide)
        if patterns is None:
            return None
        return [(pattern, self._going(nth, pattern.build)) for pattern in patterns]

    def _first(self, low: int, high: int) -> int | None:
        """Return the first step of a range at which another build is better; None where none is."""
        if low > high or not self._may_be_better(low, high):
            return None
        if low == high:
            return low
        middle = (low + high) // 2
        first = self._first(low, middle)
        return self._first(middle + 1, high) if first is None else first

    def _may_be_better(self, low: int, high: int) -> bool:
        """Return whether another build may be better at some step; exact at a single step."""
        step_by_step = any(
            patterns is None and any(moves)
            for patterns, moves in zip(self.patterns, self.moves, strict=True)
        )
        if low != high and step_by_step:
            return True
        answer = ranges(self.instance, self.answer, low, high)
        worst = worst_levels(self.instance, self.found.values, answer)
        kept: Listed = [
            None if patterns is None else [*self._within(patterns, its, low, high)]
            for patterns, its in zip(self.patterns, answer, strict=True)
        ]
        if None not in kept:
            if len(kept) == 1:  # then another build is another pattern
                kept = [[p for p in kept[0] or [] if p.build != self.found.build[0]]]
            kept = hopeful(self.instance, kept, worst)
        return kept != [] and self._has_better(kept, worst, low)

    def _within(
        self, patterns: list[tuple[Pattern, MovedGap]], answer: Range, low: int, high: int
    ) -> Iterator[Pattern]:
        """Yield the patterns that land at some of the steps, with their levels' best values."""
        for pattern, going in patterns:
            landing = going.landing(low, high)
            if landing and (going.move or answer.going.move):
                best = best_levels(going, answer, *landing)
                levels = zip(self.instance.levels, pattern.values, best, strict=True)
                values = tuple(new if level.moves else value for level, value, new in levels)
                yield replace(pattern, values=values)
            elif landing:
                yield pattern

    def _has_better(self, kept: Listed, worst: list[int], step: int) -> bool:
        instance = self.course.at(step) if None in kept else self.instance
        model = model_of(instance, kept)
        goals = model.goals()[: len(worst)]
        ask_better(model, goals, worst)
        status = model.program.least({}, self.clock).status
        self.late |= status == "unknown"
        return status != "infeasible"


def _extent(gap: GridGap) -> int:
    """Return the distance from the least to the greatest of all gaps, limits and aims."""
    ends: list[int] = []
    for layout in gap.layouts:
        ends += [end for end in (layout.low, layout.high, layout.aim) if end is not None]
        most = sum(
            place.most * max(map(abs, place.takes.values()), default=0) for place in layout.places
        )
        ends += [layout.room - most, layout.room + most]
    return max(ends) - min(ends)


def _widened(layout: GridLayout, move: int, end: int) -> GridLayout:
    """Return a layout whose window holds every gap that lands at some step from 1 to the end."""
    near, far = sorted((move, move * end))
    return replace(
        layout,
        low=None if layout.low is None else layout.low - far,
        high=None if layout.high is None else layout.high - near,
    )
