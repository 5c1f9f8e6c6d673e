"""Solves one gap at every value of a sweep, from the sums that its parts can have.

The sums of a layout are divided by their cost on the levels before any that depends on the gap. The
first of these sets that serves a value holds its best build, and the later sets need not be
searched there. Where the first level that depends on the gap is 0 over a part of the window, as
`safe` is away from the limits, a set is divided further: first by the levels up to the next that
depends on the gap, with that part in place of the window. Only values at which nothing of the set
lies there are searched in the whole window.

The module also counts the builds that a person could tell apart: builds with different layouts or
different numbers of some size. Each has as many sums as its sizes have lots, and serves every space
within a window's reach of one of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import accumulate
from typing import TYPE_CHECKING

from solver.builds.dynamic_program import DynamicProgram
from solver.builds.enumeration import TooManyError
from solver.builds.slots import DIGIT, SlottedLayout
from solver.builds.sums import best_sums, build_of
from solver.problem.aims import OfGap
from solver.problem.parameter import values_in

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from solver.builds.slots import SlotMove
    from solver.builds.sums import Sums
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import Build
    from solver.problem.parameter import Span, Sweep

Layouts = list[tuple[SlottedLayout, int]]
"""The layouts of a gap, each with the steps by which its room grows from a value to the next."""


@dataclass(frozen=True, slots=True)
class Best:
    """The best build of a gap at one value, and the value of each level."""

    build: Build
    values: tuple[int, ...]


def _levels(cost: int, slotted: SlottedLayout) -> tuple[int, ...]:
    """Return the levels, which are the digits of a cost above the tie-break."""
    mask, levels = (1 << DIGIT) - 1, cost >> slotted.tie_bits
    number = len(slotted.instance.levels)
    return tuple(levels >> DIGIT * nth & mask for nth in reversed(range(number)))


def slotted_layouts(sweep: Sweep) -> Layouts:
    """Return the layouts of the sweep's only gap, each with its rate."""
    (gap,), (rates,) = sweep.instance.gaps, sweep.rates
    return [
        (SlottedLayout(sweep.instance, gap, layout), rate)
        for layout, rate in zip(gap.layouts, rates, strict=True)
    ]


def best_by_sums(sweep: Sweep, layouts: Layouts) -> list[Best | None]:
    """Find the best build of the sweep's only gap at every value.

    Parameters
    ----------
    sweep
        A sweep of one gap.
    layouts
        Its layouts, as `slotted_layouts` returns them.

    Returns
    -------
    list of Best or None
        One for each value; None where no build lands in the window.

    Raises
    ------
    TooManyError
        Where a layout has too many sums.
    """
    tables = [best_sums(slotted) for slotted, _ in layouts]
    parts: dict[tuple[int, bool, int], list[_Part]] = {}
    for nth, ((slotted, rate), sums) in enumerate(zip(layouts, tables, strict=True)):
        for key, taken in _parted(slotted, sums).items():
            part = _Part(nth, slotted, rate, sorted(taken), sums, clear=not key[1])
            parts.setdefault(key, []).append(part)
    found: dict[int, tuple[int, int, int]] = {}
    for _, alike in sorted(parts.items()):
        here: dict[int, tuple[int, int, int]] = {}
        for part in alike:
            for nth, best in part.best(sweep.count, found):
                here[nth] = min(best, here.get(nth, best))
        found |= here
    built: dict[tuple[int, int], Build] = {}
    return [
        _laid_out(found[nth], layouts, tables, built) if nth in found else None
        for nth in range(sweep.count)
    ]


def _laid_out(
    best: tuple[int, int, int], layouts: Layouts, tables: list[Sums],
    built: dict[tuple[int, int], Build],
) -> Best:  # fmt: skip
    cost, layout, taken = best
    if (layout, taken) not in built:
        reached = tables[layout][taken]
        built[layout, taken] = (build_of(layouts[layout][0], layout, reached),)
    return Best(built[layout, taken], _levels(cost, layouts[layout][0]))


def _parted(slotted: SlottedLayout, sums: Sums) -> dict[tuple[int, bool, int], list[int]]:
    """Divide the sums by their cost on the levels before any that depends on the gap.

    The key is that cost, whether the whole window is looked at, and, where it is not, the cost on
    the levels up to the next that depends on the gap. Each sum stands under one key of either kind.
    """
    moving = sorted((w for level, w in slotted.weights.items() if level.moves), reverse=True)
    first, second = ([weight << DIGIT for weight in moving] + [0, 0])[:2]
    found: dict[tuple[int, bool, int], list[int]] = {}
    for taken, (cost, *_) in sums.items():
        head = cost // first if first else 0
        found.setdefault((head, True, 0), []).append(taken)
        found.setdefault((head, False, cost // second if second else 0), []).append(taken)
    return found


class _Part:
    """Sums of one layout with equal cost on the first levels, in its window or the clear of it."""

    def __init__(
        self, layout: int, slotted: SlottedLayout, rate: int, ordered: list[int], sums: Sums,
        *, clear: bool,
    ) -> None:  # fmt: skip
        self.nth = layout
        self.slotted, self.rate = slotted, rate
        self.layout = _clear(slotted) if clear else slotted.layout
        self.ordered = ordered
        self.costs = [sums[taken][0] for taken in ordered]
        self.of_gap = _OfGap(slotted)

    def best(
        self, count: int, but: dict[int, tuple[int, int, int]]
    ) -> Iterator[tuple[int, tuple[int, int, int]]]:
        """Yield each value served, except some, with the least cost, the layout and the sum."""
        layout = self.layout
        if layout.low is not None and layout.high is not None and layout.low > layout.high:
            return
        for span in served_by(layout, self.ordered):
            for nth in values_in(layout, self.rate, span, count):
                if nth not in but:
                    yield nth, self._at(layout.room + nth * self.rate)

    def _at(self, room: int) -> tuple[int, int, int]:
        layout, of_gap = self.layout, self.of_gap
        ordered = self.ordered
        here = layout.landing(ordered, room)
        costs = [
            cost + of_gap[room - taken]
            for cost, taken in zip(self.costs[here], ordered[here], strict=True)
        ]
        least = min(costs)
        return least, self.nth, ordered[here.start + costs.index(least)]


def _clear(slotted: SlottedLayout) -> GridLayout:
    """Return a layout with its window narrowed to where the first level of the gap is 0."""
    layout = slotted.layout
    moving = [level.counts for level in slotted.instance.levels if level in slotted.weights]
    first = next((counts for counts in moving if isinstance(counts, OfGap)), None)
    if first is None:
        return layout
    (least, most), low, high = first.lines(layout).zero(), layout.low, layout.high
    if least is not None:
        low = least if low is None else max(low, least)
    if most is not None:
        high = most if high is None else min(high, most)
    return replace(layout, low=low, high=high)


class _OfGap(dict[int, int]):
    """The cost of each gap that a layout may leave."""

    def __init__(self, slotted: SlottedLayout) -> None:
        self.each = [
            (level.counts.lines(slotted.layout), weight)
            for level, weight in slotted.weights.items()
            if isinstance(level.counts, OfGap)
        ]

    def __missing__(self, gap: int) -> int:
        self[gap] = sum(lines.at(gap) * weight for lines, weight in self.each)
        return self[gap]


def count_builds(sweep: Sweep, layouts: Layouts) -> list[int] | None:
    """Count the builds that land at each value and that a person could tell apart.

    Returns
    -------
    list of int, or None
        One number for each value; None where there are too many builds to go through.
    """
    steps = [0] * (sweep.count + 1)
    try:
        for slotted, rate in layouts:
            for spans in spans_of_builds(slotted):
                for span in spans:
                    values = values_in(slotted.layout, rate, span, sweep.count)
                    steps[values.start] += 1
                    steps[values.stop] -= 1
    except TooManyError:
        return None
    return list(accumulate(steps[:-1]))


def served(sweep: Sweep) -> set[int]:
    """Return the indices of the values at which some build of the sweep's only gap lands.

    Raises TooManyError where there are too many sums.
    """
    return {
        nth
        for slotted, rate in slotted_layouts(sweep)
        for span in spans_served(slotted)
        for nth in values_in(slotted.layout, rate, span, sweep.count)
    }


def spans_of_builds(slotted: SlottedLayout) -> list[list[Span]]:
    """Return the rooms served by each build that a person could tell from the others.

    Raises TooManyError where there are too many builds to go through.
    """
    ends = DynamicProgram(slotted, _either, apart=True).ends(frozenset({0}))
    return [list(served_by(slotted.layout, sums)) for sums in ends.values()]


def spans_served(slotted: SlottedLayout) -> list[Span]:
    """Return the rooms that some build of a layout serves.

    Raises TooManyError where there are too many sums.
    """
    ends = DynamicProgram(slotted, _either, apart=False).ends(frozenset({0}))
    return list(served_by(slotted.layout, ends.get((), frozenset())))


def _either(other: frozenset[int] | None, table: frozenset[int], move: SlotMove) -> frozenset[int]:
    moved = frozenset(map(move.takes.__add__, table)) if move.takes else table
    return moved if other is None else other | moved


def served_by(layout: GridLayout, sums: Collection[int]) -> Iterator[Span]:
    """Yield the rooms at which one of some sums lands in a layout's window, joined into spans.

    Parameters
    ----------
    layout
        The layout, with its window.
    sums
        Sums of parts in steps.

    Yields
    ------
    Span
        The lowest and the highest room, None where open. No whole step lies between joined windows.
    """
    if not sums:
        return
    if layout.low is None or layout.high is None:
        low = None if layout.low is None else min(sums) + layout.low
        high = None if layout.high is None else max(sums) + layout.high
        yield low, high
        return
    ordered = sorted(sums)
    first = before = ordered[0]
    for taken in ordered[1:]:
        if taken + layout.low > before + layout.high + 1:
            yield first + layout.low, before + layout.high
            first = taken
        before = taken
    yield first + layout.low, before + layout.high
