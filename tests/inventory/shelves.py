"""Shelves for the tests, on every database there is, and the tools of somebody else."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest

from inventory.movements import Movement, Note, Part, Request
from inventory.sql import TABLES, steps
from inventory.sqlite_door import MARK
from specs.files.shelf_address import is_server
from specs.values.lengths import parse_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory import Shelf
    from inventory.movements import Kind

DSN = os.environ.get("TEST_PG_DSN", "")
DATABASES = ("sqlite", "postgres")

THIN = Part("drum steel", "thin", parse_length("0.0691 in"), bin="B3")
THICK = Part("drum steel", "thick", bin="B2")
RING = Part("drum ring", ".0600", label="T-7")
OLD = Part("drum ring", ".0600", condition="used")


def move(kind: Kind, part: Part, number: int, job: str = "", *, reserved: bool = False) -> Movement:
    return Movement(kind, part, number, job, reserved)


def post(shelf: Shelf, *moves: Movement | Note, key: str = "", seen: int | None = None) -> int:
    """Post movements and notes as a request of its own; gives the number of its last entry."""
    movements = tuple(one for one in moves if isinstance(one, Movement))
    notes = tuple(one for one in moves if isinstance(one, Note))
    request = Request(key or uuid4().hex, "mary", "as asked", movements, notes)
    return shelf.post(request, seen=seen).last


@contextmanager
def fresh_address(database: str, folder: Path) -> Iterator[str]:
    """A place where no shelf is yet: a name in a folder, or a schema of its own on the server."""
    if database == "sqlite":
        yield str(folder / f"{uuid4().hex}.db")
        return
    if not DSN:
        pytest.skip("set TEST_PG_DSN to test on PostgreSQL")
    import psycopg

    schema = f"test_{uuid4().hex}"
    with psycopg.connect(DSN, autocommit=True) as server:
        server.execute(f"CREATE SCHEMA {schema}".encode())
        try:
            yield f"{DSN}?options=-csearch_path%3D{schema}"
        finally:
            server.execute(f"DROP SCHEMA {schema} CASCADE".encode())


ROWS_1 = Path(__file__).with_name("version_1.sql").read_text(encoding="utf-8")


def make_version_1(address: str) -> None:
    """Make a shelf of version 1, with the rows that a gapwright of that version wrote."""
    if is_server(address):
        assert by_another_tool(address, steps("postgres")[0] + ROWS_1) == [""]
        return
    mark = f"PRAGMA application_id = {MARK}; PRAGMA user_version = 1;"
    with closing(sqlite3.connect(address)) as file:
        file.executescript(steps("sqlite")[0] + ROWS_1 + mark)


def by_another_tool(address: str, *statements: str) -> list[str]:
    """Run statements as some other tool would, one by one; gives what each was refused with."""
    if is_server(address):
        return _on_the_server(address, statements)
    refusals = []
    with closing(sqlite3.connect(address, isolation_level=None)) as file:
        for statement in statements:
            try:
                file.execute(statement)
                refusals.append("")
            except sqlite3.Error as error:
                refusals.append(str(error))
    return refusals


def _on_the_server(address: str, statements: tuple[str, ...]) -> list[str]:
    import psycopg

    refusals = []
    with psycopg.connect(address, autocommit=True) as server:
        for statement in statements:
            try:
                server.execute(statement.encode())
                refusals.append("")
            except psycopg.Error as error:
                refusals.append(str(error))
    return refusals


def unbound(address: str) -> tuple[str, ...]:
    """The statements that let a row be deleted though others name it, as any file does."""
    return ("SET session_replication_role = replica",) if is_server(address) else ()


@contextmanager
def all_but_the_guards(address: str) -> Iterator[None]:
    """Take the guards off and put them back as they were, so that nobody sees that they were."""
    if is_server(address):
        again = [f"ALTER TABLE {name} ENABLE TRIGGER USER" for name in TABLES]
    else:
        with closing(sqlite3.connect(address)) as file:
            wanted = "SELECT sql FROM sqlite_schema WHERE type = 'trigger'"
            there = [sql for (sql,) in file.execute(wanted)]
        off = unguarded(address)
        again = [sql for sql in there if any(f" {one.split()[-1]} " in sql for one in off)]
    assert not any(by_another_tool(address, *unguarded(address)))
    yield
    assert not any(by_another_tool(address, *again))


def unguarded(address: str) -> tuple[str, ...]:
    """The statements that take the guards off, so that what they guard can be altered."""
    if is_server(address):
        return tuple(f"ALTER TABLE {name} DISABLE TRIGGER USER" for name in TABLES)
    stays = [f"{name}_{verb}" for name in TABLES for verb in ("stays", "remains")]
    return tuple(f"DROP TRIGGER {name}" for name in (*stays, "entry_follows", "note_follows"))
