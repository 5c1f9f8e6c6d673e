"""A writer killed at any moment: all it was told is posted is there, nothing is there in part.

And who brings a shelf of before up to date, killed at any moment: the next one does it again.
"""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from typing import TYPE_CHECKING

import pytest

from inventory import open_shelf
from tests.amounts import times
from tests.commands import HOME, environment
from tests.faults.killed import WRITERS, planned

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks")


def test_a_killed_writer_loses_and_halves_nothing(tmp_path: Path) -> None:
    kills = times(320)
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed", str(tmp_path), str(kills)],
        cwd=HOME, capture_output=True, text=True, check=True, timeout=300, env=environment(),
    )  # fmt: skip
    told = [
        line.split()
        for writer in range(WRITERS)
        for line in (tmp_path / f"notes-{writer}").read_text(encoding="utf-8").splitlines()
    ]
    with open_shelf(tmp_path / "shelf.db") as shelf:
        verified = shelf.verify()
        written: dict[str, list[object]] = {}
        for entry in shelf.history():
            written.setdefault(entry.key, []).append(entry.movement)
        noted: dict[str, list[object]] = {}
        for one in shelf.notes(every=True):
            noted.setdefault(one.key, []).append(one.note)
        balances = Counter({balance.part: balance.on_hand for balance in shelf.balances()})
    keys = [key for key, _ in told]
    assert set(keys) <= noted.keys(), "told and lost"
    assert len(set(keys)) == len(keys), "told twice"
    assert len(noted.keys() - set(keys)) <= WRITERS, "posted and never told, though asked again"
    assert written.keys() < noted.keys()
    for key, notes in noted.items():
        assert tuple(written.get(key, ())) == planned(key).movements, "in part, or doubled"
        assert tuple(notes) == planned(key).notes, "in part, or doubled"
    signs = {"receive": 1, "issue": -1, "return": 1, "reserve": 0}
    for key in written:
        for move in planned(key).movements:
            balances[move.part] -= signs[move.kind] * move.number
    assert set(balances.values()) == {0}
    killed = Counter(ran.stdout.split("\n"))
    assert killed["killed"] >= kills
    assert verified.requests >= 2 * kills
    if kills > 300:
        assert any(again == "True" for _, again in told)  # killed between posting and telling


def test_a_killed_upgrade_leaves_the_shelf_to_the_next(tmp_path: Path) -> None:
    kills = times(120)
    ran = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_upgrade", str(tmp_path), str(kills)],
        cwd=HOME, capture_output=True, text=True, check=True, timeout=300, env=environment(),
    )  # fmt: skip
    ends = Counter(ran.stdout.splitlines())
    assert ends.total() == kills
    assert ends["done"] <= kills * 3 / 4, ends
    if kills > 100:
        assert ends["killed while it was copied"] >= 1, ends
