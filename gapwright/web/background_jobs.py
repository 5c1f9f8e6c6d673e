"""Long questions: each is answered beside the bench's short ones, and has an address of its own.

Whoever asked may reload, leave and come back: the answer waits under the errand's name, until
so many came after it. Errands take turns among themselves and never hold up a bench.
"""

from __future__ import annotations

import secrets
import time
from collections import OrderedDict
from concurrent.futures import Future
from concurrent.futures import wait as wait_for
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING

from gapwright.web.fair_queue import CrowdedError, FairQueue

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.engines.limits import Limits, Watch

MOST_KEPT, MOST_WAITING = 20, 20


@dataclass(frozen=True, slots=True)
class Errand:
    """A question that may take long."""

    answer: Future[object]
    watch: Watch
    begun: float = field(default_factory=time.monotonic)

    def done(self, seconds: float = 0.0) -> bool:
        """Whether it is answered, after no more than so many seconds of waiting."""
        wait_for((self.answer,), seconds)
        return self.answer.done()

    def words(self) -> str:
        """What it is at, for whoever waits."""
        seconds = int(time.monotonic() - self.begun)
        doing = self.watch.words if self.answer.running() else "waits for its turn"
        return f"{seconds} s, {doing}"

    def stop(self) -> None:
        """Have it end with what was found so far, or never begin."""
        self.answer.cancel()
        self.watch.stop()

    def given_up(self) -> bool:
        """Whether it was stopped before it began."""
        return self.answer.cancelled()


class Errands:
    """All long questions of a server."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self._known: OrderedDict[str, Errand] = OrderedDict()
        self._turns: FairQueue | None = None
        self._lock = Lock()

    def begin(self, who: str, work: Callable[[Limits], object]) -> str:
        """Queue a question; gives the name to look for its answer under.

        Raises CrowdedError where too many wait.
        """
        with self._lock:
            if self._turns is None:
                self._turns = FairQueue(self.seconds)
            if len(self._turns) >= MOST_WAITING:
                raise CrowdedError
            answer: Future[object] = Future()
            name = secrets.token_urlsafe(9)
            self._known[name] = Errand(answer, self._turns.ask(who, work, answer))
            self._forget()
            return name

    def find(self, name: str) -> Errand | None:
        """The errand of a name, unless it is forgotten."""
        return self._known.get(name)

    def close(self) -> None:
        """Stop what goes on."""
        with self._lock:
            if self._turns is not None:
                self._turns.close()

    def _forget(self) -> None:
        """Let go of the oldest answers."""
        done = [name for name, errand in self._known.items() if errand.answer.done()]
        for name in done[: max(0, len(self._known) - MOST_KEPT)]:
            del self._known[name]
