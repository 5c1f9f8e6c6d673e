"""What the model needs to know of one gap, however that gap is put into the program.

There are two ways. `patterns` lists every filling that lands in the window and chooses one;
`counts` decides how many of each choice lie in each group of places. A gap is listed where that
is possible within MOST_PATTERNS, and counted otherwise: solver/README.md has what was measured.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.engines.expressions import Expression
    from solver.problem.instance import GapBuild


@dataclass(slots=True)
class Block:
    """One gap in the program."""

    read: Callable[[tuple[int, ...]], GapBuild]
    """The filling that the program's values stand for."""
    layout: Expression
    """The number of the layout chosen."""
    levels: list[Expression] = field(default_factory=list)
    """What the gap adds to each level, scarcity and shared parts apart."""
    spans: list[tuple[int, int]] = field(default_factory=list)
    """The least and the greatest each of these can be."""
    uses: dict[int, Expression] = field(default_factory=dict)
    """How many of each choice the gap holds, shared parts apart."""
    most: dict[int, int] = field(default_factory=dict)
    """A number of each choice that is never passed."""
    shares: dict[int, dict[int, Expression]] = field(default_factory=dict)
    """For each shared part, whether the gap holds each choice of it."""
    digits: list[tuple[Expression, int]] = field(default_factory=list)
    """The tie-break, most significant first, each with the number of values it can take."""
