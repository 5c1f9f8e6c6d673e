"""Spreads independent work over the cores of this machine or over a cluster.

Whoever does the work, what comes back is the same and in the order of the items. The work is a
function of a module and its items are values: both are sent to other processes.
"""

from __future__ import annotations

import os
import signal
import sys
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children, get_context
from typing import TYPE_CHECKING, Protocol, TypeVar

from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

Item = TypeVar("Item")
Done = TypeVar("Done")

BOTH = "--workers: is for this machine alone; leave it out with --cluster"
BROKEN = "a process of this machine was ended in the middle of its work; try again with --workers 1"


class Crew(Protocol):
    """Does independent work; items are best worth a tenth of a second or more each."""

    @property
    def hands(self) -> int:
        """How many items are worked on at once."""

    def map(self, work: Callable[[Item], Done], items: Iterable[Item]) -> Iterator[Done]:
        """What the work makes of each item, in their order; what it raises is raised here."""


@contextmanager
def crew_of(
    workers: int | None = None, cluster: str | None = None, most: int | None = None
) -> Iterator[Crew]:
    """Whoever does the work: so many processes here, all cores if not said, or a cluster.

    Where there are at most so many items, no more processes are begun; for one, none.

    Ctrl-C ends all of them and is raised here. Raises InputError where the extra `cluster` is not
    installed, the cluster does not answer, or what does the work has died.
    """
    if cluster is not None:
        if workers is not None:
            raise InputError(Problem(BOTH))
        from gapwright.workers.cluster import cluster_crew

        with cluster_crew(cluster) as crew:
            yield crew
        return
    number = cores() if workers is None else workers
    if most is not None:
        number = min(number, most)
    if number <= 1:
        yield _Alone()
        return
    with _processes(number) as pool:
        yield _Cores(pool, number)


def cores() -> int:
    """How many cores this process may use."""
    if sys.platform == "linux":
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class _Alone:
    """This process does everything itself."""

    hands = 1

    def map(self, work: Callable[[Item], Done], items: Iterable[Item]) -> Iterator[Done]:
        return map(work, items)


class _Cores:
    """Processes of this machine."""

    def __init__(self, pool: ProcessPoolExecutor, hands: int) -> None:
        self.pool, self.hands = pool, hands

    def map(self, work: Callable[[Item], Done], items: Iterable[Item]) -> Iterator[Done]:
        with _deaf_children():
            waiting = [self.pool.submit(work, item) for item in items]
        try:
            for one in waiting:
                yield one.result()
        except BrokenProcessPool:
            raise InputError(Problem(BROKEN)) from None


@contextmanager
def _processes(number: int) -> Iterator[ProcessPoolExecutor]:
    """Processes begun afresh, so that they are alike on every system; ended whatever happens."""
    before = set(active_children())
    pool = ProcessPoolExecutor(number, get_context("spawn"), _leave_interrupts)
    try:
        yield pool
    except BaseException:
        for process in {*active_children()} - before:
            process.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _leave_interrupts() -> None:
    """Leave Ctrl-C to the process that asked for the work."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _deaf_children() -> Iterator[None]:
    """Let processes be born deaf to Ctrl-C: they hear it before they could leave it alone."""
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
