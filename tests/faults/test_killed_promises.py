"""A bench killed while it keeps and reserves: its promise and its parts are both there, or none."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from tests.amounts import times
from tests.commands import HOME, environment

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks")


def test_a_promise_is_never_without_its_parts_nor_a_file_half_written(tmp_path: Path) -> None:
    kills = times(300)
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_promises", str(tmp_path), str(kills)],
        cwd=HOME, capture_output=True, text=True, check=True, timeout=300, env=environment(),
    )  # fmt: skip
    found = [json.loads(line) for line in ran.stdout.splitlines()]
    assert len(found) >= kills
    for one in found:
        assert one["killed"]
        assert one["held"] == one["takes"], "a promise without its parts, or parts without it"
        assert one["rest"], "all else in the file is as it was"
    for key in ("held", "in file"):
        assert len({json.dumps(one[key]) for one in found if one[key]}) == 2
    assert found[-1]["in file"]
