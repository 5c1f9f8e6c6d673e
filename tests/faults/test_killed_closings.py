"""Benches killed while they close a job: the shelf without its ring and the record, or neither."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from inventory import open_shelf
from tests.amounts import share, times
from tests.commands import HOME, environment
from tests.faults.killed_closings import RINGS

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks")


@pytest.mark.parametrize("shelf", ["shelf.yaml", "shop.db"])
def test_a_killed_bench_closes_a_job_or_does_not(tmp_path: Path, shelf: str) -> None:
    rounds = times(300, 30)
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_closings", str(tmp_path), str(rounds), shelf],
        cwd=HOME, capture_output=True, text=True, check=True, timeout=400, env=environment(),
    )  # fmt: skip
    found = [[int(word) for word in line.split()] for line in ran.stdout.splitlines()]
    assert len(found) == rounds
    left = RINGS - 2  # of jobs that nobody killed
    for _, _, closed, rings in found:
        left -= closed
        assert rings == left, "a ring without its record, or a record without its ring"
    killed, begun, closed = (sum(line[at] for line in found) for at in range(3))
    assert killed >= share(150)
    assert share(60) <= closed <= rounds - share(30)
    if shelf == "shop.db":
        with open_shelf(tmp_path / shelf) as opened:
            assert opened.verify().notes == closed + 2
    else:
        assert begun >= share(10), "none was killed half way"
        assert (tmp_path / shelf).read_text("utf-8").endswith("} # counted\n")
