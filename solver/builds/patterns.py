"""Puts a gap into the program as a choice among all its builds that land in the window.

Everything about a build is worked out here in integers. The program chooses one pattern for each
gap, so that stock, shared parts and rules are respected over the whole job.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from solver.builds.block import Block
from solver.builds.enumeration import TooManyError, layout_builds
from solver.engines.expressions import CONSTANT
from solver.problem.aims import of_gap
from solver.problem.instance import GapBuild
from solver.problem.shared_parts import drawn_by, most_in_one_gap

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.builds.enumeration import LayoutBuild
    from solver.engines.cp_sat import Program
    from solver.problem.gaps import GridGap, GridLayout
    from solver.problem.instance import Instance
    from solver.problem.shared_parts import Draw

MOST_PATTERNS = 5_000
MOST_WEIGHED = 20_000
"""The limit where builds must be sure enough: these gaps cannot be counted, only listed."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One build of a gap that lands in its window."""

    build: GapBuild
    values: tuple[int, ...]
    """Its addition to each level; 0 for scarcity, which is counted over the whole job."""
    draw: Draw


def list_patterns(instance: Instance, gap: GridGap) -> list[Pattern]:
    """List the builds of a gap that land in its window, in the order of the tie-break.

    Parameters
    ----------
    instance
        The instance. Where it demands builds that are sure enough, only these are listed.
    gap
        The gap, with its space.

    Returns
    -------
    list of Pattern
        Every such build, by its layout and then by its parts.

    Raises
    ------
    TooManyError
        Where there are more than MOST_PATTERNS of them (MOST_WEIGHED where they must be sure), or
        finding them would take more than MOST_STEPS steps.
    """
    found = []
    most = MOST_PATTERNS if instance.sure is None else MOST_WEIGHED
    for index, layout in enumerate(gap.layouts):
        landed = landing(instance, index, layout)
        for build in layout_builds(instance, gap, layout, most):
            found.append(landed(build))
            if len(found) > most:
                raise TooManyError
    if instance.sure is not None:
        found = [pattern for pattern in found if _sure_enough(instance, gap, pattern.build)]
    return sorted(found, key=lambda pattern: (pattern.build.layout, pattern.build.parts))


def landing(instance: Instance, index: int, layout: GridLayout) -> Callable[[LayoutBuild], Pattern]:
    """Return a function that makes patterns of a layout's builds in its space.

    The function works out the levels of each gap once.

    Parameters
    ----------
    instance
        The instance, with its levels.
    index
        The layout's index in its gap.
    layout
        The layout, with its space.
    """
    of_gap_left = cache(of_gap(instance.levels, layout))

    def landed(build: LayoutBuild) -> Pattern:
        values = map(int.__add__, build.values, of_gap_left(layout.room - build.takes))
        return Pattern(GapBuild(index, build.parts), tuple(values), build.draw)

    return landed


def _sure_enough(instance: Instance, gap: GridGap, build: GapBuild) -> bool:
    """Return whether a build of a gap is as sure as the instance demands."""
    layout = gap.layouts[build.layout]
    return instance.sure is None or instance.sure(gap.name, layout, build, layout.left(build.parts))


def pattern_block(instance: Instance, patterns: list[Pattern], program: Program) -> Block:
    """Add a gap to the program as a choice of one of its patterns.

    Parameters
    ----------
    instance
        The instance, with its levels.
    patterns
        The gap's patterns, at least one.
    program
        The engine, which receives a boolean for each pattern.

    Returns
    -------
    Block
        The gap's expressions over these booleans.
    """
    chosen = [program.boolean() for _ in patterns]
    program.one_of(chosen)
    block = Block(
        read=lambda values: patterns[next(i for i, x in enumerate(chosen) if values[x])].build,
        layout={x: p.build.layout for x, p in zip(chosen, patterns, strict=True)},
        digits=[(dict(zip(chosen, range(len(chosen)), strict=True)), len(chosen))],
    )
    for level in range(len(instance.levels)):
        column = [pattern.values[level] for pattern in patterns]
        low = min(column)  # taken out of every pattern, so that weights multiply spans alone
        above = {x: value - low for x, value in zip(chosen, column, strict=True) if value > low}
        block.levels.append({CONSTANT: low, **above})
        block.spans.append((low, max(column)))
    draws = [pattern.draw for pattern in patterns]
    block.uses, block.shares = drawn_by(chosen, draws)
    block.most = most_in_one_gap(draws)
    return block
