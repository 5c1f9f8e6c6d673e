"""Shelves of version 1 opened by processes that are killed; run as a process of its own, it forks.

After each kill the shelf is opened once more: it has all it had, with its links, and what lies
beside it is the whole shelf of before or is refused.
"""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Note, Part, Request
from inventory.refusals import NotAShelfError
from inventory.sql import steps
from inventory.sqlite_door import MARK

if TYPE_CHECKING:
    from inventory.chain import Verified

LOTS = 3_000


def old_shelf(folder: Path) -> Path:
    """A shelf of version 1, large enough to be killed in the middle of."""
    newer, old = folder / "newer.db", folder / "old.db"
    create_shelf(newer)
    with open_shelf(newer) as shelf:
        for nth in range(20):
            parts = [Part("drum ring", f"size {nth} {one}") for one in range(LOTS // 20)]
            moves = tuple(Movement("receive", part, 2) for part in parts)
            shelf.post(Request(f"order {nth}", "mary", "", moves))
    with closing(sqlite3.connect(old)) as file:
        file.executescript(steps("sqlite")[0])
        file.execute("ATTACH ? AS newer", [str(newer)])
        lots, written = (f"INSERT INTO {name} SELECT * FROM newer.{name}" for name in ("lot", "{}"))
        file.execute(lots)
        for (nth,) in file.execute("SELECT seq FROM newer.request ORDER BY seq").fetchall():
            file.execute(written.format("request", "request") + f" WHERE seq = {nth}")
            entries = written.format("entry", "entry")
            file.execute(f"{entries} WHERE request = {nth} ORDER BY seq")
        file.execute(f"PRAGMA application_id = {MARK}")
        file.execute("PRAGMA user_version = 1")
        file.commit()
    return old


def check_before(path: Path, sound: Verified) -> str:
    """How what was copied beside a shelf stands: whole, or refused."""
    try:
        with open_shelf(path) as shelf:
            assert shelf.verify() == sound, "a copy that is not all of it"
    except NotAShelfError as refused:
        return str(refused)
    return ""


def opening(file: Path | str) -> int:
    """Start a process that opens a shelf and ends; gives its number."""
    child = os.fork()
    if not child:
        with open_shelf(file):
            os._exit(0)
    return child


def time_taken(file: Path | str) -> float:
    """How many seconds such a process takes."""
    start = time.perf_counter()
    os.waitpid(opening(file), 0)
    return time.perf_counter() - start


def main() -> None:
    """Open copies of an old shelf in a folder and kill so many who do, and say how each ended."""
    folder, kills = Path(sys.argv[1]), int(sys.argv[2])
    old = old_shelf(folder)
    before = old.read_bytes()
    with open_shelf(shutil.copy(old, folder / "whole.db")) as shelf:
        sound = shelf.verify()
    takes = min(time_taken(shutil.copy(old, folder / f"{nth}.db")) for nth in range(5))
    for nth in range(kills):
        there = folder / str(nth)
        there.mkdir()
        file = Path(shutil.copy(old, there / "shelf.db"))
        child = opening(file)
        time.sleep(takes * nth / kills)
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        halves = [check_before(path, sound) for path in there.glob("*.before-2")]
        done = os.WIFEXITED(status) or file.read_bytes() != before
        with open_shelf(file) as shelf:
            assert shelf.verify() == sound, "lost, or halved"
            shelf.post(Request("promise", "mary", "", (), (Note("promise", "J-1", "x"),)))
            assert shelf.verify().notes == 1
        end = "done" if done else "killed before it was done"
        sys.stdout.write(f"{'killed while it was copied' if any(halves) else end}\n")
        shutil.rmtree(there)


if __name__ == "__main__":
    main()
