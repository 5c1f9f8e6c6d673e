"""Turns at the solver: one search at a time beside the server's loop, whoever asks.

Who asks is served in rotation, so that somebody with fifty questions keeps nobody else waiting
for more than the one that is being answered. What nobody waits for any more is not begun, or is
stopped.
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


class CrowdedError(Exception):
    """So many are waiting already that a further one is better told at once."""


@dataclass(slots=True)
class _Turn(Generic[Answer]):
    """One question that waits for its turn."""

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
    """The queue before the solver."""

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
        """Queue a question; `answer` is set in its turn. Raises CrowdedError where too many wait.

        The watch that is given back stops it.
        """
        turn = _Turn(work, answer, self.seconds)
        with self._changed:
            if self._closed or len(self) >= MOST_WAITING:
                raise CrowdedError
            self._waiting.setdefault(who, deque()).append(turn)
            self._changed.notify()
        return turn.watch

    def close(self) -> None:
        """Begin nothing more, and stop what goes on."""
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
        """The next question: the oldest of whoever was served longest ago."""
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
