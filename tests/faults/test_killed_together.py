"""Files written together, the writers killed at any moment: all of them are written, or none."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from tests.amounts import share, times
from tests.commands import HOME, environment
from tests.faults.killed_together import WRITERS

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks")


def test_killed_writers_of_several_files_write_all_or_none(tmp_path: Path) -> None:
    rounds = times(480)
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_together", str(tmp_path), str(rounds)],
        cwd=HOME, capture_output=True, text=True, check=True, timeout=300, env=environment(),
    )  # fmt: skip
    found = [[int(word) for word in line.split()] for line in ran.stdout.splitlines()]
    assert len(found) == rounds
    for nth, (killed, _, shelf, *rest) in enumerate(found, 1):
        jobs, told = rest[:WRITERS], rest[WRITERS:]
        assert killed == WRITERS
        assert shelf == sum(jobs), "a shelf without its job, or a job without its shelf"
        for written, noted in zip(jobs, told, strict=True):
            assert noted <= written <= noted + nth, "told and lost, or written twice"
    assert sum(line[1] for line in found) >= share(20), "none was killed half way"
    assert found[-1][2] >= 2 * rounds
    assert not [path for path in tmp_path.rglob(".*") if path.stat().st_size]
