"""Defines the limits of a search, its progress and its outcome, alike for every engine."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from typing import Literal

Status = Literal["optimal", "feasible", "infeasible", "unknown"]


@dataclass(slots=True)
class Watch:
    """The progress of a search, for whoever waits for it; another thread may stop it."""

    words: str = "reading"
    stopped: bool = False
    """Whether the search is to end."""

    def stop(self) -> None:
        """End the search soon with what was found so far, and let no other search begin."""
        self.stopped = True


@dataclass(frozen=True, slots=True)
class Limits:
    """The seconds and workers of a search, and the watch that shows its progress."""

    seconds: float = 60.0
    workers: int = 1
    watch: Watch = field(default_factory=Watch, compare=False)


@dataclass(frozen=True, slots=True)
class Outcome:
    """The outcome of a search: its status, the best values found, and a proved lower bound."""

    status: Status
    values: tuple[int, ...]
    bound: int
    exact: int | None = None
    """A lower bound worked out in integers, where the engine's own is in floating point."""


@dataclass(slots=True)
class Clock:
    """The time for a whole answer, over all of its searches."""

    limits: Limits
    started: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float:
        """The seconds left, never below zero; zero once the watch is stopped."""
        if self.limits.watch.stopped:
            return 0.0
        return max(0.0, self.limits.seconds - (time.monotonic() - self.started))

    def rest(self) -> Limits:
        """Return the limits for a further search within the same time."""
        return replace(self.limits, seconds=self.left)
