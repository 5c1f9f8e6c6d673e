"""The command line as tests run it: in their own process, or as a person does, in one of its own.

`ran`, `run` and `refused` run a command in the tests' process: a tenth of the time, and everything
is put back as it was. `process` starts a process, for what only a process shows: how it starts,
what it imports, its streams and their encodings, signals, its end.
"""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
from contextlib import ExitStack, chdir, contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from gapwright.__main__ import run_command

if TYPE_CHECKING:
    from collections.abc import Iterator

HOME = Path(__file__).parents[1]
DEMO = HOME / "gapwright" / "demo"
COMMAND = (sys.executable, "-m", "gapwright")


def environment(settings: dict[str, str] | None = None) -> dict[str, str]:
    """The environment a process of ours is started in."""
    return {**os.environ, "PYTHONPATH": str(HOME), **(settings or {})}


def run(
    *words: str | Path, cwd: Path | None = HOME, settings: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run a command in this process, in a folder (`None`: where the tests are) and environment.

    Gives its exit code and what it printed, which is no terminal. Where the words do not say how
    many cores it may use, it uses one, so that it starts no processes.
    """
    asked = [str(word) for word in words]
    out, err = _stream(), _stream()
    with ExitStack() as kept:
        kept.enter_context(patch.dict(os.environ, settings or {}))
        kept.enter_context(patch("gapwright.workers.cores", return_value=1))
        kept.enter_context(_signals())
        if cwd is not None:
            kept.enter_context(chdir(cwd))
        kept.enter_context(patch("sys.stdin", io.StringIO()))
        kept.enter_context(redirect_stdout(out))
        kept.enter_context(redirect_stderr(err))
        code = run_command(asked)
    return subprocess.CompletedProcess(asked, code, _printed(out), _printed(err))


def _stream() -> io.TextIOWrapper:
    """A stream that keeps what is printed, as UTF-8."""
    return io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="replace", write_through=True)


def _printed(stream: io.TextIOWrapper) -> bytes:
    kept = stream.buffer
    assert isinstance(kept, io.BytesIO)
    return kept.getvalue()


@contextmanager
def _signals() -> Iterator[None]:
    """Have Ctrl-C do afterwards what it did before."""
    before = signal.getsignal(signal.SIGINT)
    try:
        yield
    finally:
        if signal.getsignal(signal.SIGINT) is not before:
            signal.signal(signal.SIGINT, before)


def ran(
    *words: str | Path, cwd: Path | None = HOME, settings: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run a command in this process; what it printed is given as text."""
    done = run(*words, cwd=cwd, settings=settings)
    return subprocess.CompletedProcess(
        done.args, done.returncode, done.stdout.decode(), done.stderr.decode()
    )


def refused(*words: str | Path, cwd: Path | None = HOME) -> list[str]:
    """What a command that cannot be carried out says, line by line."""
    done = run(*words, cwd=cwd)
    said = done.stderr.decode()
    assert done.returncode == 2, said
    assert "Traceback" not in said
    assert b"FITS" not in done.stdout
    return said.splitlines()


def process(
    *words: str | Path, cwd: Path = HOME, settings: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run a command to its end in a process of its own; what it printed is given as bytes."""
    return subprocess.run(
        [*COMMAND, *map(str, words)],
        cwd=cwd, capture_output=True, check=False, timeout=50, env=environment(settings),
    )  # fmt: skip
