"""Describes one gap to the model, however that gap is put into the program.

There are two ways. `patterns` lists every build that lands in the window and chooses one. `counts`
decides how many parts of each choice lie in each group of places. A gap is listed where that is
possible within MOST_PATTERNS, and counted otherwise: solver/README.md has the measurements.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.engines.expressions import Expression
    from solver.problem.instance import GapBuild
    from solver.problem.shared_parts import Held, Uses


@dataclass(slots=True)
class Block:
    """One gap in the program."""

    read: Callable[[tuple[int, ...]], GapBuild]
    """Returns the build that the variables' values stand for."""
    layout: Expression
    """The index of the layout chosen."""
    levels: list[Expression] = field(default_factory=list)
    """The gap's addition to each level, without scarcity and shared parts."""
    spans: list[tuple[int, int]] = field(default_factory=list)
    """The lowest and the highest value of each of these."""
    uses: Uses = field(default_factory=dict)
    most: dict[int, int] = field(default_factory=dict)
    """For each choice, an upper bound on what it uses."""
    shares: Held = field(default_factory=dict)
    digits: list[tuple[Expression, int]] = field(default_factory=list)
    """The tie-break, most significant first, each with the number of values it can take."""
