"""What comes back from a search: a fit, no fit, or undecided.

Whether there is a build and whether it is proved best are separate questions. Answers are data;
the sentences are made elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from solver.problem.instance import Build, Instance


@dataclass(frozen=True, slots=True)
class Fit:
    """A build that lands every gap in its window."""

    instance: Instance
    build: Build
    gaps: tuple[int, ...]
    """The gap that each leaves, in steps."""
    values: tuple[int, ...]
    """The value of each level."""
    bounds: tuple[int, ...]
    """A proved lower bound of each level, as far as they were searched."""
    proved: bool


@dataclass(frozen=True, slots=True)
class Miss:
    """The nearest one gap comes to its window, all other windows dropped."""

    status: Literal["near", "unfillable", "unknown"]
    """near: proved nearest. unfillable: too few parts for its places. unknown: out of time."""
    gap: int = 0
    """What the gap would be, in steps."""
    by: int = 0
    """How far that is outside the window; 0 where the gap can be had alone."""
    layout: int = 0


@dataclass(frozen=True, slots=True)
class NoFit:
    """Proved: no build lands every gap in its window."""

    instance: Instance
    alone: tuple[Miss, ...]
    """For each gap."""
    together: Build | None
    """The build whose gaps come nearest together, where there was time to prove it."""


@dataclass(frozen=True, slots=True)
class Undecided:
    """Stopped before any build was found, and before it was proved that there is none."""

    instance: Instance


Answer = Fit | NoFit | Undecided
