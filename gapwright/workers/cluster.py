"""The door to Dask: independent work on the machines of a cluster, with the extra `cluster`.

The machines must have the same gapwright and the same engines: then answers are the same as here.
"""

from __future__ import annotations

import socket
from contextlib import contextmanager
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, Any, TypeVar

from gapwright.extras import check_extra
from specs.errors import InputError, Problem, listed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from gapwright.workers.executor import Crew

Item = TypeVar("Item")
Done = TypeVar("Done")

SECONDS = 10
SAME = ("gapwright", "ortools", "highspy", "numpy")
START = "start one with `dask scheduler` and `dask worker`, and give its address as it prints it"


@contextmanager
def cluster_crew(address: str) -> Iterator[Crew]:
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
    def hands(self) -> int:
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
