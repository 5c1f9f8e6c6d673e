"""The command line as a person runs it: in a process of its own, with its streams."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HOME = Path(__file__).parents[2]
DEMO = HOME / "gapwright" / "demo"
COMMAND = (sys.executable, "-m", "gapwright")


def environment(settings: dict[str, str] | None = None) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(HOME), **(settings or {})}


def run(
    *words: str | Path, cwd: Path = HOME, settings: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run a command to its end; what is printed is left as bytes, the encoding being at issue."""
    return subprocess.run(
        [*COMMAND, *map(str, words)],
        cwd=cwd, capture_output=True, check=False, timeout=50, env=environment(settings),
    )  # fmt: skip


def ran(*words: str | Path, cwd: Path = HOME) -> subprocess.CompletedProcess[str]:
    """Run a command to its end, where the encoding is not at issue."""
    done = run(*words, cwd=cwd)
    return subprocess.CompletedProcess(
        done.args, done.returncode, done.stdout.decode(), done.stderr.decode()
    )


def refused(*words: str | Path, cwd: Path = HOME) -> list[str]:
    """What a command that cannot be carried out says, line by line."""
    done = run(*words, cwd=cwd)
    said = done.stderr.decode()
    assert done.returncode == 2, said
    assert "Traceback" not in said
    assert b"FITS" not in done.stdout
    return said.splitlines()
