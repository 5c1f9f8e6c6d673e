"""Whole processes: our help and two fits, against Python alone and the engine's import."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from benchmarks.jobs import written
from benchmarks.one_pack import SHAPE as ONE_PACK
from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from benchmarks.whole_unit import SHAPE as WHOLE_UNIT

if TYPE_CHECKING:
    from collections.abc import Callable

CASE = "start-up"
HELP, PACK, UNIT = "gapwright --help", "gapwright fit, a pack", "gapwright fit, a unit"
NOTHING, ENGINE = "python -c pass", "import of the engine"
FIT_AIM, HELP_AIM = 1.6, 0.6


def run(*, quick: bool) -> list[Row | Skipped]:
    """Start each process in turns; every ratio is of one round."""
    if find_spec("gapwright.__main__") is None:
        return [Skipped(CASE, "gapwright has no command line here")]
    with TemporaryDirectory() as folder:
        pack, unit = Path(folder) / "pack.yaml", Path(folder) / "unit.yaml"
        for job, shape in ((pack, ONE_PACK), (unit, WHOLE_UNIT)):
            job.write_text(json.dumps(written(shape, seed=2)), encoding="utf-8")
        ways = {
            HELP: _process("-m", "gapwright", "--help"),
            PACK: _process("-m", "gapwright", "fit", str(pack)),
            UNIT: _process("-m", "gapwright", "fit", str(unit)),
            NOTHING: _process("-c", "pass"),
            ENGINE: _process("-c", "import ortools.sat.python.cp_model"),
        }
        in_turns(ways, 1)  # the first time compiles and fills the file cache
        rounds = [in_turns(ways, 1) for _ in range(1 if quick else 15)]
    seconds = {name: tuple(each[name] for each in rounds) for name in ways}
    return [
        Row(CASE, ours, peer, seconds[ours], seconds[peer], aim)
        for ours, peer, aim in (
            (HELP, NOTHING, None),
            (HELP, ENGINE, HELP_AIM),
            (PACK, ENGINE, FIT_AIM),
            (UNIT, ENGINE, FIT_AIM),
        )
    ]


def _process(*arguments: str) -> Callable[[], object]:
    command = [sys.executable, *arguments]
    return lambda: subprocess.run(command, check=True, capture_output=True)
