"""Gaps whose room moves step by step: where they land, and how their levels compare meanwhile.

Another build is compared with the answer over a whole range of steps at once. What a gap adds to
a sum is compared with what the answer's own filling of that gap adds at the same step: the least
of that difference over the range is a bound that stays sharp however wide the range is, since
two gaps on the same side of their aims move together. The same holds for the worst gap where the
answer's worst is this gap at every step; otherwise the least of the other build's own value is
the bound. At a single step all of it is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.builds.patterns import levels_off
from solver.problem.instance import RATIO

if TYPE_CHECKING:
    from solver.problem.aims import Level
    from solver.problem.instance import Layout, Task

Levels = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Going:
    """A gap, and how far it goes at each step."""

    layout: Layout
    gap: int
    """Before anything moves."""
    move: int

    def off(self, step: int) -> int:
        """How far it lies from its aim at a step."""
        return abs(self.gap + step * self.move - self.layout.aim)

    def turns(self, low: int, high: int) -> set[int]:
        """The steps at which the deviation ends or turns."""
        turn = (self.layout.aim - self.gap) // self.move if self.move else low
        return {low, high, *(min(max(step, low), high) for step in (turn, turn + 1))}

    def landing(self, low: int, high: int) -> tuple[int, int] | None:
        """The first and the last of some steps at which it lies in its window."""
        if not self.move:
            return low, high
        ends = [self.layout.low, self.layout.high]
        near, far = ends if self.move > 0 else reversed(ends)
        if near is not None:
            low = max(low, -(-(near - self.gap) // self.move))
        if far is not None:
            high = min(high, (far - self.gap) // self.move)
        return (low, high) if low <= high else None


@dataclass(frozen=True, slots=True)
class Range:
    """The answer's own filling of a gap over some steps, beside the other gaps."""

    going: Going
    least: Levels
    greatest: Levels
    leads: tuple[bool, ...]
    """For each level, whether what others add is told from what this one adds at the same step."""


def ranges(task: Task, goings: list[Going], low: int, high: int) -> list[Range]:
    """Say how the answer's levels go, gap by gap, from the low to the high step."""
    ends = []
    for going in goings:
        off = [going.off(step) for step in going.turns(low, high)]
        ends.append(tuple(levels_off(task, going.layout, end) for end in (min(off), max(off))))
    found = []
    for nth, going in enumerate(goings):
        least, greatest = ends[nth]
        rivals = zip(*(worst for other, (_, worst) in enumerate(ends) if other != nth), strict=True)
        highest = [max(column) for column in rivals] or [0] * len(least)
        leads = tuple(
            not level.worst or own >= rival
            for level, own, rival in zip(task.levels, least, highest, strict=True)
        )
        found.append(Range(going, least, greatest, leads))
    return found


def worst_levels(task: Task, values: Levels, answer: list[Range]) -> list[int]:
    """The worst that the levels of the answer are anywhere in a range of steps."""
    columns = zip(*(each.greatest for each in answer), strict=True)
    return [
        (max(column) if level.worst else sum(column)) if level.moves else value
        for level, value, column in zip(task.levels, values, columns, strict=True)
    ]


def best_levels(task: Task, going: Going, answer: Range, low: int, high: int) -> Levels:
    """The best that what another filling adds to the levels may be, beside the answer's worst."""
    off = [going.off(step) for step in going.turns(low, high)]
    own = levels_off(task, going.layout, min(off))
    if low == high:
        return own
    ahead = _ahead(going, answer.going, going.turns(low, high) | answer.going.turns(low, high))
    return tuple(
        max(alone, beside + _of_level(task.levels[nth], ahead, answer, going)) if leads else alone
        for nth, (alone, beside, leads) in enumerate(
            zip(own, answer.greatest, answer.leads, strict=True)
        )
    )


def _ahead(one: Going, other: Going, steps: set[int]) -> tuple[int, int]:
    """How far one gap's ratio and deviation stay ahead of another's at the least.

    Both are straight between the steps at which either turns. Rounding a ratio up loses less
    than one.
    """
    widths = one.layout.width, other.layout.width
    pairs = [(one.off(step), other.off(step)) for step in steps]
    ratio = min(RATIO * (mine * widths[1] - its * widths[0]) for mine, its in pairs)
    return ratio // (widths[0] * widths[1]), min(mine - its for mine, its in pairs)


def _of_level(level: Level, ahead: tuple[int, int], answer: Range, going: Going) -> int:
    ratio, deviation = ahead
    if level.measure == "deviation":
        return deviation
    if level.measure in ("worst", "ratio"):
        return ratio
    unlike = going.layout.nearest != answer.going.layout.nearest
    return -(10**18) if unlike else min(ratio, 0)  # what lies in the middle half counts as 0
