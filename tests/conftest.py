"""What all tests share.

How a test runs a command: `from tests.commands import ran`, then `ran("fit", job, cwd=tmp_path)`.
It runs in the tests' own process and gives exit code, output and errors; `run` gives them as
bytes, `refused` the lines of a refusal. A process is started (`process`, or `COMMAND` with
`environment()`) only where a process is what is tested: start-up, imports, encodings, closed
pipes, signals, kills.

How much a run repeats: by default a twentieth of what is drawn at random (tests/amounts.py), with
`--hypothesis-profile=ci`, as in .ci/run, a quarter; `-m exhaustive` runs every test there is, those
marked `exhaustive` too, and repeats all in full.

Ctrl-C is heard here, whoever started the tests: a shell's background job is born deaf to it, and so
would be every command the tests start.

What is compiled is kept, even where PYTHONDONTWRITEBYTECODE asks that it be thrown away: every
worker and every command would else compile each module anew, a third of what its start takes.
"""

from __future__ import annotations

import os
import signal
import sys

import pytest
from hypothesis import HealthCheck, settings

from gapwright.workers import cores
from tests import amounts

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int | None:
    """Let `-n auto` be a worker more than cores: some worker always waits, for a browser or a page.

    PYTEST_XDIST_AUTO_NUM_WORKERS has the last word, as ever.
    """
    return None if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ else cores() + 1


def pytest_configure(config: pytest.Config) -> None:
    """Choose how much is repeated, before the tests are read."""
    if config.option.markexpr == "exhaustive":
        amounts.run = "exhaustive"
    elif config.getoption("--hypothesis-profile") == "ci":
        amounts.run = "ci"
    for name, examples in (("default", 30), ("ci", 60), ("exhaustive", 500)):
        settings.register_profile(
            name, max_examples=examples, deadline=None, suppress_health_check=[HealthCheck.too_slow]
        )
    settings.load_profile(amounts.run)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let `-m exhaustive` mean every test; begin with what takes longest, to follow documents."""
    items.sort(key=lambda item: item.path.parent.name != "tests")
    if amounts.run == "exhaustive":
        for item in items:
            item.add_marker("exhaustive")
