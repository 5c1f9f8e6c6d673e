"""The shelf's ledger against the same rows in plain SQLite: its tables and indexes, no triggers.

An import of many lots in one request, the list of them all, and one reservation on that shelf.
Plain SQLite has its rows ready; ours are checked, named, worked through, hashed and guarded.
"""

from __future__ import annotations

import gc
import sqlite3
from contextlib import ExitStack, closing
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from benchmarks.stopwatch import in_turns
from benchmarks.table import Row
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Part, Request
from inventory.sql import steps
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from benchmarks.table import Skipped

    Ways = Mapping[str, Callable[[], object]]
    Rows = list[tuple[Any, ...]]

OURS, PEER, AIM = "ledger", "plain sqlite3", 3.0


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time importing, listing and reserving, in turns with plain SQLite."""
    number, rounds = (500, 1) if quick else (100_000, 5)
    with TemporaryDirectory() as folder, ExitStack() as open_files:
        shelf, plain = Path(folder) / "shelf.db", Path(folder) / "plain.db"
        asked = _import(number)
        _receive(shelf, asked)
        with closing(sqlite3.connect(shelf)) as file:
            _write(
                plain, tables := {name: _all(file, name) for name in ("request", "lot", "entry")}
            )
        new = (Path(folder) / f"{nth}.db" for nth in count())
        ways = {
            "receive": {
                OURS: lambda: _receive(next(new), asked),
                PEER: lambda: _write(next(new), tables),
            },
            "list": _listing(shelf, plain, open_files),
            "reserve one": _reserving(shelf, plain, open_files),
        }
        gc.freeze()  # neither way pays for going through what waits here for both
        try:
            return [_row(name, number, each, rounds) for name, each in ways.items()]
        finally:
            gc.unfreeze()


def _row(name: str, number: int, ways: Ways, rounds: int) -> Row:
    in_turns(ways, 1)  # the first time fills the file cache
    times = [in_turns(ways, 1) for _ in range(rounds)]
    ours, peer = (tuple(each[way] for each in times) for way in (OURS, PEER))
    return Row(f"{name}, {number} lots", OURS, PEER, ours, peer, AIM)


def _import(number: int) -> Request:
    """Parts of many families and sizes in bins of their own, every second one measured."""
    parts = (
        Part(
            f"family {nth % 40}", f".{nth % 97:04}",
            Length(1_500_000 + 100 * nth) if nth % 2 else None, bin=f"B{nth}",
        )
        for nth in range(number)
    )  # fmt: skip
    moves = tuple(Movement("receive", part, 5) for part in parts)
    return Request("import", "bench", "stock count", moves)


def _receive(path: Path, asked: Request) -> None:
    create_shelf(path)
    with open_shelf(path) as shelf:
        shelf.post(asked)


def _write(path: Path, tables: dict[str, Rows]) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute("PRAGMA synchronous = FULL")
        file.executescript(f"BEGIN; {steps('sqlite')[0]}; COMMIT")
        for (name,) in file.execute(
            "SELECT name FROM sqlite_schema WHERE type = 'trigger'"
        ).fetchall():
            file.execute(f"DROP TRIGGER {name}")
        file.execute("BEGIN IMMEDIATE")
        for name, rows in tables.items():
            _insert(file, name, rows)
        file.execute("COMMIT")


def _insert(file: sqlite3.Connection, table: str, rows: Rows) -> None:
    places = ", ".join("?" for _ in rows[0])
    file.executemany(f"INSERT INTO {table} VALUES ({places})", rows)


def _all(file: sqlite3.Connection, table: str) -> Rows:
    return file.execute(f"SELECT * FROM {table}").fetchall()


def _listing(shelf: Path, plain: Path, open_files: ExitStack) -> Ways:
    ours = open_files.enter_context(open_shelf(shelf))
    peer = open_files.enter_context(closing(sqlite3.connect(plain)))
    joined = "SELECT * FROM lot JOIN entry ON entry.lot = lot.id"
    return {OURS: ours.balances, PEER: lambda: peer.execute(joined).fetchall()}


def _reserving(shelf: Path, plain: Path, open_files: ExitStack) -> Ways:
    (move,) = _import(1).movements
    lot, keys = move.part.lot_id, count(2)
    ours = open_files.enter_context(open_shelf(shelf))
    peer = open_files.enter_context(closing(sqlite3.connect(plain, isolation_level=None)))
    peer.execute("PRAGMA synchronous = FULL")

    def reserve() -> None:
        moves = (Movement("reserve", move.part, 1, "J-1"), Movement("release", move.part, 1, "J-1"))
        ours.post(Request(f"reserve {next(keys)}", "bench", "", moves))

    def write() -> None:
        peer.execute("BEGIN IMMEDIATE")
        ((request, last),) = peer.execute("SELECT max(seq), max(last) FROM request")
        peer.execute(
            "SELECT * FROM entry WHERE lot = ? ORDER BY seq DESC LIMIT 1", [lot]
        ).fetchall()
        link = "0" * 64
        _insert(
            peer,
            "request",
            [(request + 1, f"reserve {request}", "", "", "", last + 1, last + 2, link)],
        )
        rows = [("reserve", 1, 1, 1), ("release", -1, 0, 0)]
        _insert(peer, "entry", [
            (last + nth, request + 1, kind, lot, "J-1", 1, 0, holds, 5, reserved, held)
            for nth, (kind, holds, reserved, held) in enumerate(rows, 1)
        ])  # fmt: skip
        peer.execute("COMMIT")

    return {OURS: reserve, PEER: write}
