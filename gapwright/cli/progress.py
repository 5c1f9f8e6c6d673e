"""Tells a person at a terminal what a long search is at, and hears when they have had enough."""

from __future__ import annotations

import signal
import sys
import time
from contextlib import contextmanager
from threading import Event, Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.engines.limits import Watch

FIRST = 1.0  # seconds before the first word


@contextmanager
def progress_shown(watch: Watch) -> Iterator[None]:
    """Keep one line of standard error up to date while the search goes on; Ctrl-C ends it.

    A second Ctrl-C ends the command, for whatever does not look at the watch.
    """
    with _hearing(watch), progress_line(watch):
        yield


@contextmanager
def _hearing(watch: Watch) -> Iterator[None]:
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # a background job is not to hear it
        yield
        return

    def stop(*_: object) -> None:
        watch.stop()
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def progress_line(watch: Watch) -> Iterator[None]:
    """Keep that line up to date, for what hears Ctrl-C by itself."""
    if not sys.stderr.isatty():
        yield
        return
    done = Event()
    teller = Thread(target=_tell, args=(watch, done), daemon=True)
    teller.start()
    try:
        yield
    finally:
        done.set()
        teller.join()


def _tell(watch: Watch, done: Event) -> None:
    started = time.monotonic()
    width = 0
    while not done.wait(FIRST):
        seconds = int(time.monotonic() - started)
        line = f"{seconds} s, {watch.words}; Ctrl-C gives the best so far"
        width = max(width, len(line))
        sys.stderr.write(f"\r{line:<{width}}")
        sys.stderr.flush()
    if width:
        sys.stderr.write("\r" + " " * width + "\r")
        sys.stderr.flush()
