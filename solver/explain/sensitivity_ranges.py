"""Follows gaps whose room moves step by step: where they land, and how their levels compare.

Another build is compared with the answer over a whole range of steps at once. A gap's addition to a
sum is compared with that of the answer's own build of this gap at the same step. The least
difference over the range is a bound that stays sharp however wide the range is, because two gaps on
the same side of their aims move together. The same holds for the worst gap where the answer's worst
is this gap at every step. Otherwise the least value of the other build is the bound. At a single
step all of this is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.problem.aims import OfGap
from solver.problem.parameter import values_in

if TYPE_CHECKING:
    from solver.problem.aims import Lines
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import Instance

Levels = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class MovedGap:
    """A gap, and its change with each step."""

    layout: GridLayout
    gap: int
    """The gap at step 0, in steps of the grid."""
    move: int
    lines: tuple[Lines | None, ...]
    """Its value on each level as a function of the gap; None where that depends on parts."""
    lands: range
    """The steps at which it lies in its window."""

    def at(self, step: int) -> int:
        """Return the gap at a step."""
        return self.gap + step * self.move

    def steps(self, lines: Lines, low: int, high: int) -> set[int]:
        """Return the steps from `low` to `high` at which the gap's value on a level may turn."""
        found = {low, high}
        for turn in lines.turns() if self.move and low < high else ():
            first = (turn - self.gap) // self.move
            found.update(min(max(first + more, low), high) for more in (-1, 0, 1, 2))
        return found

    def ends(self, lines: Lines | None, low: int, high: int) -> tuple[int, int]:
        """Return its least and greatest value on a level; 0 where that depends on parts."""
        if lines is None:
            return 0, 0
        values = [lines.at(self.at(step)) for step in self.steps(lines, low, high)]
        return min(values), max(values)


def moved_gap(
    layout: GridLayout, gap: int, move: int, lines: tuple[Lines | None, ...], count: int
) -> MovedGap:
    """Return a gap of a layout, its change with each step, and the steps at which it lands.

    Parameters
    ----------
    layout
        The layout, with its window.
    gap
        The gap at step 0, in steps of the grid.
    move
        Its change with each step.
    lines
        Its value on each level, as `assemblies_of` returns them.
    count
        The number of steps, step 0 included.
    """
    taken = layout.room - gap
    low, high = (None if end is None else taken + end for end in (layout.low, layout.high))
    return MovedGap(layout, gap, move, lines, values_in(layout, move, (low, high), count))


@dataclass(frozen=True, slots=True)
class Range:
    """The answer's own build of a gap over some steps, beside the other gaps."""

    going: MovedGap
    least: Levels
    greatest: Levels
    leads: tuple[bool, ...]
    """For each level, whether other builds are compared with this gap's value at the same step."""


def ranges(instance: Instance, goings: list[MovedGap], low: int, high: int) -> list[Range]:
    """Return the range of the answer's values for each gap, from the low to the high step.

    Parameters
    ----------
    instance
        The instance, with its levels.
    goings
        The gaps as the answer builds them.
    low, high
        The first and the last step.
    """
    ends = []
    for going in goings:
        each = [going.ends(lines, low, high) for lines in going.lines]
        ends.append((tuple(least for least, _ in each), tuple(most for _, most in each)))
    found = []
    for nth, going in enumerate(goings):
        least, greatest = ends[nth]
        rivals = zip(*(worst for other, (_, worst) in enumerate(ends) if other != nth), strict=True)
        highest = [max(column) for column in rivals] or [0] * len(least)
        leads = tuple(
            not level.worst or own >= rival
            for level, own, rival in zip(instance.levels, least, highest, strict=True)
        )
        found.append(Range(going, least, greatest, leads))
    return found


def worst_levels(instance: Instance, values: Levels, answer: list[Range]) -> list[int]:
    """Return the worst value of each of the answer's levels anywhere in a range of steps."""
    columns = zip(*(each.greatest for each in answer), strict=True)
    return [
        (max(column) if level.worst else sum(column)) if level.moves else value
        for level, value, column in zip(instance.levels, values, columns, strict=True)
    ]


def best_levels(going: MovedGap, answer: Range, low: int, high: int) -> Levels:
    """Return a lower bound on another build's value of each level, against the answer's worst.

    Parameters
    ----------
    going
        The gap as the other build has it.
    answer
        The same gap as the answer has it.
    low, high
        The first and the last step.
    """
    found = []
    its = answer.going
    columns = zip(going.lines, its.lines, answer.greatest, answer.leads, strict=True)
    for mine, theirs, beside, leads in columns:
        alone, _ = going.ends(mine, low, high)
        if leads and low != high and mine and theirs:
            steps = going.steps(mine, low, high) | its.steps(theirs, low, high)
            pairs = [(mine.top(going.at(step)), theirs.top(its.at(step))) for step in steps]
            alone = max(alone, beside + _ahead(pairs, mine.over, theirs.over))
        found.append(alone)
    return tuple(found)


def _ahead(pairs: list[tuple[int, int]], mine: int, its: int) -> int:
    """Return the least difference of one gap's value to another's over steps.

    Both are linear between the steps at which either turns. Rounding loses less than one.
    """
    return min(own * its - theirs * mine for own, theirs in pairs) // (mine * its)


def assemblies_of(instance: Instance, layout: GridLayout) -> tuple[Lines | None, ...]:
    """Return a layout's value on each level as a function of its gap; None where parts decide."""
    counts = (level.counts for level in instance.levels)
    return tuple(one.lines(layout) if isinstance(one, OfGap) else None for one in counts)
