"""Queues the searches of all users fairly: one runs at a time, beside the server's event loop.

Users are served in rotation, so a user with fifty searches makes nobody wait for more than the one
that is running. A search that nobody waits for any more is not begun, or is stopped.
"""

from __future__ import annotations

from collections import OrderedDict, deque
from dataclasses import dataclass, field
from threading import Condition, Thread
from typing import TYPE_CHECKING, Generic, TypeVar

from solver.engines.limits import Limits, Watch

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Future

MOST_WAITING = 200
Answer = TypeVar("Answer")


class QueueFullError(Exception):
    """The queue is full; the user is told at once."""


@dataclass(slots=True)
class _Turn(Generic[Answer]):
    """One search in the queue."""

    work: Callable[[Limits], Answer]
    answer: Future[Answer]
    seconds: float
    watch: Watch = field(default_factory=Watch)

    def take(self) -> None:
        if not self.answer.set_running_or_notify_cancel():
            return
        try:
            self.answer.set_result(self.work(Limits(self.seconds, watch=self.watch)))
        except BaseException as error:  # noqa: BLE001 - whoever waits is told
            self.answer.set_exception(error)


class FairQueue:
    """The fair queue, with the thread that runs its searches.

    Parameters
    ----------
    seconds
        The time limit of each search.
    """

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self._waiting: OrderedDict[str, deque[_Turn[object]]] = OrderedDict()
        self._changed = Condition()
        self._now: _Turn[object] | None = None
        self._closed = False
        self._worker = Thread(target=self._work, name="solver", daemon=True)
        self._worker.start()

    def __len__(self) -> int:
        return sum(map(len, self._waiting.values()))

    def ask(self, who: str, work: Callable[[Limits], object], answer: Future[object]) -> Watch:
        """Queue a search.

        Parameters
        ----------
        who
            Whoever asks; users are served in rotation.
        work
            Does the search within the limits it is given.
        answer
            Receives the result or the exception of `work`.

        Returns
        -------
        Watch
            Shows the progress of the search, and stops it.

        Raises
        ------
        QueueFullError
            Where MOST_WAITING searches wait already, or the queue is closed.
        """
        turn = _Turn(work, answer, self.seconds)
        with self._changed:
            if self._closed or len(self) >= MOST_WAITING:
                raise QueueFullError
            self._waiting.setdefault(who, deque()).append(turn)
            self._changed.notify()
        return turn.watch

    def close(self) -> None:
        """Stop the running search, and begin no other."""
        with self._changed:
            self._closed = True
            for turns in self._waiting.values():
                for turn in turns:
                    turn.answer.cancel()
            self._waiting.clear()
            if self._now:
                self._now.watch.stop()
            self._changed.notify()
        self._worker.join(timeout=self.seconds)

    def _work(self) -> None:
        while True:
            turn = self._next()
            if turn is None:
                return
            turn.take()

    def _next(self) -> _Turn[object] | None:
        """Return the next search: the oldest of the user who was served longest ago."""
        with self._changed:
            self._now = None
            while not self._waiting and not self._closed:
                self._changed.wait()
            if self._closed:
                return None
            who, turns = self._waiting.popitem(last=False)
            self._now = turns.popleft()
            if turns:
                self._waiting[who] = turns  # behind everybody else who waits
            return self._now
