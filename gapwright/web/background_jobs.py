"""Runs long searches as background jobs, each with an address of its own for its answer.

A user may reload, leave and come back: the answer is kept under the job's name until MOST_KEPT
later ones have come. Background jobs have a fair queue of their own, and never delay the bench's
short searches.
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

from gapwright.web.fair_queue import FairQueue, QueueFullError

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.engines.limits import Limits, Watch

MOST_KEPT, MOST_WAITING = 20, 20


@dataclass(frozen=True, slots=True)
class BackgroundJob:
    """A background job: a search that may take long."""

    answer: Future[object]
    watch: Watch
    begun: float = field(default_factory=time.monotonic)

    def done(self, seconds: float = 0.0) -> bool:
        """Return whether it has an answer, after waiting at most so many seconds."""
        wait_for((self.answer,), seconds)
        return self.answer.done()

    def words(self) -> str:
        """Return its progress in words, for the user who waits."""
        seconds = int(time.monotonic() - self.begun)
        doing = self.watch.words if self.answer.running() else "waits for its turn"
        return f"{seconds} s, {doing}"

    def stop(self) -> None:
        """End it with what was found so far, or before it begins."""
        self.answer.cancel()
        self.watch.stop()

    def given_up(self) -> bool:
        """Return whether it was stopped before it began."""
        return self.answer.cancelled()


class BackgroundJobs:
    """All background jobs of a server.

    Parameters
    ----------
    seconds
        The time limit of each search.
    """

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self._known: OrderedDict[str, BackgroundJob] = OrderedDict()
        self._turns: FairQueue | None = None
        self._lock = Lock()

    def begin(self, who: str, work: Callable[[Limits], object]) -> str:
        """Queue a background job.

        Parameters
        ----------
        who
            Whoever asks; jobs of one user take turns with those of others.
        work
            Does the search within the limits it is given.

        Returns
        -------
        str
            The name of the job, by which its answer is found.

        Raises
        ------
        QueueFullError
            Where MOST_WAITING jobs wait already.
        """
        with self._lock:
            if self._turns is None:
                self._turns = FairQueue(self.seconds)
            if len(self._turns) >= MOST_WAITING:
                raise QueueFullError
            answer: Future[object] = Future()
            name = secrets.token_urlsafe(9)
            self._known[name] = BackgroundJob(answer, self._turns.ask(who, work, answer))
            self._forget()
            return name

    def find(self, name: str) -> BackgroundJob | None:
        """Return the background job of a name; None where it is no longer kept."""
        return self._known.get(name)

    def close(self) -> None:
        """Stop the running search, and begin no other."""
        with self._lock:
            if self._turns is not None:
                self._turns.close()

    def _forget(self) -> None:
        """Drop the oldest answers."""
        done = [name for name, job in self._known.items() if job.answer.done()]
        for name in done[: max(0, len(self._known) - MOST_KEPT)]:
            del self._known[name]
