"""Spreads independent work over the cores of this machine or over a Dask cluster.

Whoever does the work, what comes back is the same and in the order of the items. The work is a
function of a module and its items are values: both are sent to other processes.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from importlib.metadata import PackageNotFoundError, version
from multiprocessing import active_children, get_context
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from gapwright.extras import check_extra
from specs.errors import InputError, Problem, listed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator


Item = TypeVar("Item")
Done = TypeVar("Done")

BOTH = "--workers: is for this machine alone; leave it out with --cluster"
BROKEN = "a process of this machine was ended in the middle of its work; try again with --workers 1"


class Executor(Protocol):
    """Does independent work; items are best worth a tenth of a second or more each."""

    @property
    def workers(self) -> int:
        """How many items are worked on at once."""

    def map(self, work: Callable[[Item], Done], items: Iterable[Item]) -> Iterator[Done]:
        """What the work makes of each item, in their order; what it raises is raised here."""


@contextmanager
def executor_of(
    workers: int | None = None, cluster: str | None = None, most: int | None = None
) -> Iterator[Executor]:
    """Whoever does the work: so many processes here, all cores if not said, or a cluster.

    Where there are at most so many items, no more processes are begun; for one, none.

    Ctrl-C ends all of them and is raised here. Raises InputError where the extra `cluster` is not
    installed, the cluster does not answer, or what does the work has died.
    """
    if cluster is not None:
        if workers is not None:
            raise InputError(Problem(BOTH))
        with cluster_executor(cluster) as executor:
            yield executor
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

    workers = 1

    def map(self, work: Callable[[Item], Done], items: Iterable[Item]) -> Iterator[Done]:
        return map(work, items)


class _Cores:
    """Processes of this machine."""

    def __init__(self, pool: ProcessPoolExecutor, workers: int) -> None:
        self.pool, self.workers = pool, workers

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


SECONDS = 10
SAME = ("gapwright", "ortools", "highspy", "numpy")
START = "start one with `dask scheduler` and `dask worker`, and give its address as it prints it"


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """The workers of a Dask cluster. Raises InputError where they cannot take the work."""
    check_extra("cluster", "--cluster")
    from distributed import Client
    from distributed.client import FutureCancelledError
    from distributed.comm.core import CommClosedError
    from distributed.scheduler import KilledWorker

    _check_there(address)
    try:
        with Client(address, timeout=SECONDS, set_as_default=False) as client:  # type: ignore[no-untyped-call]
            _check_alike(client, address)
            yield _Cluster(client)
    except (KilledWorker, FutureCancelledError, CommClosedError) as error:
        sentence = f"lost its workers in the middle of the work ({type(error).__name__})"
        raise refused(address, f"{sentence}; look at their output, then try again") from None


def refused(address: str, sentence: str) -> InputError:
    """What keeps a cluster from doing the work."""
    return InputError(Problem(sentence, f"--cluster {address}"))


class _Cluster:
    """Sends work to a cluster."""

    def __init__(self, client: Any) -> None:  # noqa: ANN401 - Dask's own
        self.client = client

    @property
    def workers(self) -> int:
        """How many items are worked on at once."""
        threads: dict[str, int] = self.client.nthreads()
        return max(1, sum(threads.values()))

    def map(self, work: Callable[[Item], Done], items: Iterable[Item]) -> Iterator[Done]:
        waiting = [self.client.submit(work, item, pure=False) for item in items]
        try:
            for one in waiting:
                yield one.result()
        finally:
            self.client.cancel([one for one in waiting if not one.done()])


def _check_there(address: str) -> None:
    """Ask whether a scheduler listens: Dask's own client waits for ever where another does."""
    from distributed.comm.addressing import get_address_host_port

    where = address if "://" in address else f"tcp://{address}"
    try:
        with socket.create_connection(get_address_host_port(where, strict=True), SECONDS) as line:
            if where.startswith("tcp") and not line.recv(1):  # a scheduler speaks first
                raise ConnectionError
    except (ValueError, OverflowError):
        raise refused(address, "is no address; write it such as tcp://10.0.0.5:8786") from None
    except OSError:
        raise refused(address, f"no Dask scheduler answers there; {START}") from None


def _check_alike(client: Any, address: str) -> None:  # noqa: ANN401 - Dask's own
    """Raise InputError where nobody works there, or with other software than here."""
    try:
        there = client.run(standing)
    except ModuleNotFoundError as error:
        sentence = f"its workers lack {error.name}; install the same gapwright there"
        raise refused(address, sentence) from None
    if not there:
        raise refused(address, f"has no workers yet; {START}")
    here = standing()
    other = sorted(
        {f"{name} {found}" for one in there.values() for name, found in one}
        - {f"{name} {found}" for name, found in here}
    )
    if other:
        mine = " ".join(f"{name} {found}" for name, found in here)
        sentence = f"its workers have {listed(other)}; here are {mine}: have the same on both"
        raise refused(address, sentence)


def standing() -> tuple[tuple[str, str], ...]:
    """The versions on which an answer may depend."""
    return tuple((name, _version(name)) for name in SAME)


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "run from its source"
