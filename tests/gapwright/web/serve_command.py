"""`gapwright serve` as it is really started, for tests that need a real connection."""

from __future__ import annotations

import signal
import socket
import subprocess
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tests.commands import COMMAND, environment

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PATIENCE = 20.0  # seconds until it must answer


@contextmanager
def served(folder: Path, *words: str) -> Iterator[int]:
    """Start the page on a folder; gives its port, and ends it as a person does: by Ctrl-C."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    page = subprocess.Popen(
        [*COMMAND, "serve", str(folder), "--port", str(port), *words],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        env=environment({"GAPWRIGHT_WHO": "mary"}),
    )  # fmt: skip
    try:
        until(lambda: answers(port) or page.poll() is not None)
        assert page.poll() is None, page.communicate()[0]
        yield port
    finally:
        if page.poll() is None:
            page.send_signal(signal.SIGINT)
        page.wait(PATIENCE)
        page.communicate()


def until(come: object) -> None:
    """Wait until something holds."""
    assert callable(come)
    end = time.monotonic() + PATIENCE
    while not come():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.05)


def answers(port: int) -> bool:
    """Whether somebody listens at a port."""
    with socket.socket() as knock:
        return knock.connect_ex(("127.0.0.1", port)) == 0
