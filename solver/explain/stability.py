"""Finds how far along the values of a reading one build stays best.

A range of values is dismissed at once where no other build is better at any of them. Within the
range, every pattern of a gap is given the best values its levels may have there, and the build its
worst (`solver/explain/sensitivity_ranges.py`). If no other build is better even so, none is at any
value of the range. Otherwise the range is halved, down to single values, where nothing is relaxed
and the result is exact.

The intervals of `--why` are read off so, and the chart of `cover` where gaps depend on each other.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from solver.explain.improvement import ask_better, hopeful
from solver.explain.sensitivity_ranges import (
    assemblies_of,
    best_levels,
    moved_gap,
    ranges,
    worst_levels,
)
from solver.problem import judge
from solver.rebuild.alternatives import held
from solver.rebuild.fit import listed, model_of

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Sequence

    from solver.builds.dominance import Listed
    from solver.builds.patterns import Pattern
    from solver.engines.limits import Clock
    from solver.explain.sensitivity_ranges import MovedGap, Range
    from solver.problem.gaps import GridGap, GridLayout
    from solver.problem.instance import Build, GapBuild, Instance
    from solver.problem.parameter import Sweep

    Moved = list[tuple[Pattern, MovedGap]] | None
    """The patterns of a gap that land at some value, each as it moves; None: too many."""


class MovedPatterns:
    """The patterns of each gap that land at some value of a sweep, listed once.

    Parameters
    ----------
    sweep
        The instance, the rates of its layouts, and the number of values.
    """

    def __init__(self, sweep: Sweep) -> None:
        self.sweep = sweep
        instance = sweep.instance
        self.lines = [
            [assemblies_of(instance, layout) for layout in gap.layouts] for gap in instance.gaps
        ]
        self.of_gap = cache(self._of_gap)

    def moved(self, nth: int, built: GapBuild) -> MovedGap:
        """Return how a gap, as it is built, moves from a value to the next."""
        at, count = built.layout, self.sweep.count
        layout, rate = self.sweep.instance.gaps[nth].layouts[at], self.sweep.rates[nth][at]
        return moved_gap(layout, layout.left(built.parts), rate, self.lines[nth][at], count)

    def _of_gap(self, nth: int) -> Moved:
        """Return the patterns of a gap; None where there are too many to list."""
        return self._listed(nth, self.sweep.instance.gaps[nth], self.sweep.rates[nth])

    def only(self, nth: int, built: GapBuild) -> Moved:
        """Return the pattern of one build of a gap."""
        gap = held(self.sweep.instance.gaps[nth], built)
        found = self._listed(nth, gap, (self.sweep.rates[nth][built.layout],), built.layout)
        return [each for each in found or [] if each[0].build == built]

    def _listed(self, nth: int, gap: GridGap, rates: Sequence[int], first: int = 0) -> Moved:
        """List the patterns that land at some value; `first` is the index of the first layout."""
        last = self.sweep.count - 1
        layouts = zip(gap.layouts, rates, strict=True)
        wide = replace(gap, layouts=tuple(_widened(layout, r * last) for layout, r in layouts))
        patterns = listed(self.sweep.instance, wide)
        if patterns is None:
            return None
        found = []
        for pattern in patterns:
            build = replace(pattern.build, layout=pattern.build.layout + first)
            found.append((replace(pattern, build=build), self.moved(nth, build)))
        return found


class Stability:
    """Compares one build with every other over the values of a sweep.

    Parameters
    ----------
    patterns
        The patterns of the sweep's gaps.
    build
        The build.
    clock
        The time that is left.
    settled
        The gaps, by index, that other builds have as this one has them.
    """

    def __init__(
        self, patterns: MovedPatterns, build: Build, clock: Clock, settled: Container[int] = ()
    ) -> None:
        self.sweep, self.clock = patterns.sweep, clock
        self.instance = self.sweep.instance
        self.build = build
        self.late = False
        """Whether time ran out."""
        self.values = _values(self.instance, build, settled)
        self.own = [patterns.moved(nth, built) for nth, built in enumerate(build)]
        self.patterns = [
            patterns.only(nth, built) if nth in settled else patterns.of_gap(nth)
            for nth, built in enumerate(build)
        ]
        moves = map(self.sweep.moves, range(len(build)))
        self.by_ranges = all(
            p is not None or not m for p, m in zip(self.patterns, moves, strict=True)
        )
        """Whether ranges can be dismissed at once: every gap that moves is listed."""

    def first_better(self, low: int, high: int) -> int | None:
        """Return the first value of a range at which another build is better; None without one.

        Better on the aims; the tie-break does not count.

        Parameters
        ----------
        low, high
            The indices of the first and the last value. The build lands at all of them.
        """
        if low > high or not self._may_be_better(low, high):
            return None
        if low == high:
            return low
        middle = (low + high) // 2
        first = self.first_better(low, middle)
        return self.first_better(middle + 1, high) if first is None else first

    def _may_be_better(self, low: int, high: int) -> bool:
        """Return whether another build may be better at some value; exact at a single value."""
        if low != high and not self.by_ranges:
            return True
        own = ranges(self.instance, self.own, low, high)
        worst = worst_levels(self.instance, self.values, own)
        kept: Listed = [
            None if patterns is None else [*self._within(patterns, its, low, high)]
            for patterns, its in zip(self.patterns, own, strict=True)
        ]
        if None not in kept:
            if len(kept) == 1:  # then another build is another pattern
                kept = [[p for p in kept[0] or [] if p.build != self.build[0]]]
            kept = hopeful(self.instance, kept, worst)
        return kept != [] and self._has_better(kept, worst, low)

    def _within(
        self, patterns: list[tuple[Pattern, MovedGap]], own: Range, low: int, high: int
    ) -> Iterator[Pattern]:
        """Yield the patterns that land at some of the values, with their levels' best values."""
        for pattern, going in patterns:
            first, last = max(low, going.lands.start), min(high, going.lands.stop - 1)
            if first <= last and (going.move or own.going.move):
                best = best_levels(going, own, first, last)
                levels = zip(self.instance.levels, pattern.values, best, strict=True)
                values = tuple(new if level.moves else value for level, value, new in levels)
                yield replace(pattern, values=values)
            elif first <= last:
                yield pattern

    def _has_better(self, kept: Listed, worst: list[int], nth: int) -> bool:
        instance = self.sweep.at(nth) if None in kept else self.instance
        model = model_of(instance, kept)
        goals = model.goals()[: len(worst)]
        ask_better(model, goals, worst)
        status = model.program.least({}, self.clock).status
        self.late |= status == "unknown"
        return status != "infeasible"


def _values(instance: Instance, build: Build, settled: Container[int]) -> tuple[int, ...]:
    """Return the values of a build as those of others are counted, whose settled gaps are held.

    A single shim that is held is no longer one of any number, so that `shims` leaves it out.
    """
    gaps = [
        (held(gap, built), replace(built, layout=0)) if nth in settled else (gap, built)
        for nth, (gap, built) in enumerate(zip(instance.gaps, build, strict=True))
    ]
    alone = replace(instance, gaps=tuple(gap for gap, _ in gaps))
    return judge.values(alone, tuple(built for _, built in gaps))


def _widened(layout: GridLayout, grown: int) -> GridLayout:
    """Return a layout whose window holds every gap that lands while its room grows by so much."""
    return replace(
        layout,
        low=None if layout.low is None else layout.low - max(grown, 0),
        high=None if layout.high is None else layout.high - min(grown, 0),
    )
