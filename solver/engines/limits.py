"""How long a search may take, what it is at, and what it came to; the same for every engine."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from typing import Literal

Status = Literal["optimal", "feasible", "infeasible", "unknown"]


@dataclass(slots=True)
class Watch:
    """What a search is at, for whoever waits for it; another thread may stop it."""

    words: str = "reading"
    stopped: bool = False
    """Whether somebody does not want to wait any longer."""

    def stop(self) -> None:
        """End the search soon with what was found so far, and let no other begin."""
        self.stopped = True


@dataclass(frozen=True, slots=True)
class Limits:
    """How long and on how many workers to search, and where to say what it is at."""

    seconds: float = 60.0
    workers: int = 1
    watch: Watch = field(default_factory=Watch, compare=False)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a search came to: its status, the best values found, and a proved lower bound."""

    status: Status
    values: tuple[int, ...]
    bound: int
    exact: int | None = None
    """A lower bound worked out in whole numbers, where the engine's own is in floating point."""


@dataclass(slots=True)
class Clock:
    """The time a whole answer may take, over all of its searches."""

    limits: Limits
    started: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float:
        """Seconds left, never below zero; none once somebody does not want to wait."""
        if self.limits.watch.stopped:
            return 0.0
        return max(0.0, self.limits.seconds - (time.monotonic() - self.started))

    def rest(self) -> Limits:
        """The limits for a further search within the same time."""
        return replace(self.limits, seconds=self.left)
