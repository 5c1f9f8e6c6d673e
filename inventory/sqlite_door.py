"""The connection to SQLite: a shelf in one file, with faults as plain sentences.

The journal mode is rollback and syncing is full: a posted request is on the disk, and the shelf is
one file that can be copied while nobody writes. In the other journal mode, older SQLite can lose
a committed transaction where a reader and a writer checkpoint at once.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import ExitStack, closing, contextmanager, suppress
from itertools import chain, count
from typing import TYPE_CHECKING, Any, Final

from inventory.refusals import (
    NOTHING,
    RESTORE,
    BusyShelfError,
    DamagedShelfError,
    FullShelfError,
    NewerShelfError,
    NotAShelfError,
    ReadOnlyShelfError,
    ShelfError,
)
from inventory.sql import steps
from specs.formats.plain_file import NOT_PLAIN, sync_folder

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

MARK: Final = 0x67617077  # "gapw", in the header of every shelf
OLDEST: Final = (3, 37, 0)  # the first with strict tables
# The cache, in KiB, holds what a big import touches; it is taken only as far as it is needed.
SETTINGS: Final = ("synchronous = FULL", "trusted_schema = OFF", "cache_size = -64000")
STEPS = steps("sqlite")


class SqliteDatabase:
    """An open shelf file. It does what `inventory.sql.Database` asks of a database."""

    def __init__(self, path: Path, patience: int) -> None:
        self.name, self.path, self._patience = str(path), path, patience
        with self._translated_errors():
            self._check_file()
            self._connection = self._connect()
        try:
            self._open()
        except BaseException:
            self.close()
            raise

    def _connect(self) -> sqlite3.Connection:
        there = f"{self.path.absolute().as_uri()}?mode=rw"  # never made by opening it
        return sqlite3.connect(there, uri=True, isolation_level=None, timeout=self._patience)

    def _open(self) -> None:
        with self._translated_errors():
            for setting in SETTINGS:
                self._connection.execute(f"PRAGMA {setting}")
        version = self._version()
        if version > len(STEPS):
            raise NewerShelfError(self.name, version, len(STEPS))
        self.rows("PRAGMA journal_mode = DELETE")
        with self.reading():
            self._check_size()
        if version < len(STEPS):
            self._migrate()

    def _check_file(self) -> None:
        if self.path.is_dir():
            raise NotAShelfError(self.name, "is a folder; name the shelf's file")
        if not self.path.exists():
            raise NotAShelfError(
                self.name, "there is no such file; make a shelf first, or mend the name"
            )
        if not self.path.is_file():
            raise NotAShelfError(self.name, NOT_PLAIN)
        if not self.path.stat().st_size:
            raise NotAShelfError(
                self.name,
                "is empty, which a shelf never is; bring back a backup, or remove it and make a "
                "shelf anew",
            )
        if sqlite3.sqlite_version_info < OLDEST:
            raise ShelfError(
                self.name, f"needs SQLite 3.37 or newer, found {sqlite3.sqlite_version}"
            )

    def _version(self) -> int:
        with self.reading():
            ((mark,),) = self.rows("PRAGMA application_id")
            ((version,),) = self.rows("PRAGMA user_version")
        if mark != MARK or not version:
            raise NotAShelfError(
                self.name, "is a database, but no shelf of gapwright; name another"
            )
        return int(version)

    def _check_size(self) -> None:
        ((pages,),) = self.rows("PRAGMA page_count")
        ((size,),) = self.rows("PRAGMA page_size")
        with self._translated_errors():
            there = self.path.stat().st_size
        if there != pages * size:
            raise DamagedShelfError(
                self.name, f"has {there} bytes where {pages * size} were written; {RESTORE}"
            )

    def _migrate(self) -> None:
        with self.writing():
            ((version,),) = self.rows("PRAGMA user_version")
            if version >= len(STEPS):
                return  # somebody else was first
            self.copy(_unused(self.path, f".before-{len(STEPS)}"))
            for step in STEPS[version:]:
                _run(self._connection, step)
            self._connection.execute(f"PRAGMA user_version = {len(STEPS)}")

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Run the `with` block as the only writer, from its start; an exception undoes it all."""
        yield from self._transaction("BEGIN IMMEDIATE")

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Run the `with` block on one state of the shelf; a writer waits meanwhile."""
        yield from self._transaction("BEGIN")

    def _transaction(self, begin: str) -> Iterator[None]:
        with self._translated_errors():
            self._connection.execute(begin)
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):  # a full disk has rolled back by itself
                    self._connection.execute("ROLLBACK")
                raise

    def rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """Run a statement and return its rows."""
        with self._translated_errors():
            return self._connection.execute(statement, values).fetchall()

    def add(self, statement: str, rows: Iterable[Sequence[object]]) -> None:
        """Insert many rows with one statement."""
        with self._translated_errors():
            # Plain tuples, which are bound in two thirds of the time of named ones.
            self._connection.executemany(statement, map(tuple, rows))

    def among(self, column: str, names: Sequence[str]) -> tuple[str, object]:
        """Return the condition that a column is one of some names, and the names as one JSON value.

        SQLite limits how many values a statement may have; one JSON array counts as one.
        """
        return f"{column} IN (SELECT value FROM json_each(?))", json.dumps(names)

    def faults(self) -> list[str]:
        """Check every page, the references between tables, and the tables and triggers.

        Returns a sentence for each fault.
        """
        found = [text for (text,) in self.rows("PRAGMA integrity_check(20)") if text != "ok"]
        found += [f"{table} {row} has lost what it belongs to"
                  for table, row, *_ in self.rows("PRAGMA foreign_key_check")]  # fmt: skip
        with sqlite3.connect(":memory:") as fresh:
            for step in STEPS:
                _run(fresh, step)
            if self.rows(_SCHEMA) != fresh.execute(_SCHEMA).fetchall():
                found.append("its tables or their guards are not those that were made")
        fresh.close()
        return found

    def copy(self, target: Path) -> None:
        """Copy every page to a new file in one step, so that no writer comes between."""
        # Read by a connection of its own: ours may be the writer, which SQLite does not copy.
        with _new_file(target), self._translated_errors(), ExitStack() as opened:
            source = opened.enter_context(closing(self._connect()))
            source.backup(opened.enter_context(closing(sqlite3.connect(target))))

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    @contextmanager
    def _translated_errors(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.ProgrammingError:
            raise  # a fault of ours
        except sqlite3.Error as error:
            raise _refusal(self.name, error, self._patience) from error
        except UnicodeDecodeError as error:  # SQLite's own message quotes the damage
            sentence = f"is damaged (it holds what is no text any more); {RESTORE}"
            raise DamagedShelfError(self.name, sentence) from error
        except OSError as error:
            raise ShelfError(self.name, f"cannot be read: {error.strerror}") from error


def create_file(path: Path) -> None:
    """Make an empty shelf file.

    Raises NotAShelfError where a file stands already, which is kept.
    """
    with _new_file(path):
        connection = sqlite3.connect(path, isolation_level=None)
        try:
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("BEGIN IMMEDIATE")
            for step in STEPS:
                _run(connection, step)
            connection.execute(f"PRAGMA application_id = {MARK}")
            connection.execute(f"PRAGMA user_version = {len(STEPS)}")
            connection.execute("COMMIT")
        except sqlite3.Error as error:
            raise _refusal(str(path), error, 0) from error
        finally:
            connection.close()


@contextmanager
def _new_file(path: Path) -> Iterator[None]:
    """Create a file under an unused name, and remove it again where the `with` block fails."""
    try:
        path.open("xb").close()
    except FileExistsError:
        raise NotAShelfError(
            str(path), "is there already and is left as it is; name another"
        ) from None
    except OSError as error:
        raise NotAShelfError(str(path), f"cannot be made: {error.strerror}") from error
    try:
        yield
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def _unused(path: Path, suffix: str) -> Path:
    endings = chain([suffix], (f"{suffix}-{nth}" for nth in count(2)))
    names = (path.with_name(f"{path.name}{ending}") for ending in endings)
    return next(name for name in names if not name.exists())


def _run(connection: sqlite3.Connection, script: str) -> None:
    """Run a script inside the open transaction, which `executescript` would end."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""


_SCHEMA = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name"


def _refusal(name: str, error: sqlite3.Error, patience: int) -> ShelfError:
    code = getattr(error, "sqlite_errorname", "")
    kind = "_".join(code.split("_")[:2])
    if kind in {"SQLITE_BUSY", "SQLITE_LOCKED"}:
        return BusyShelfError(name, patience)
    if kind == "SQLITE_FULL":
        return FullShelfError(name)
    if kind == "SQLITE_READONLY" and code != "SQLITE_READONLY_DBMOVED":
        return ReadOnlyShelfError(name, f"it may be read and not written; {NOTHING}")
    if kind in {"SQLITE_CANTOPEN", "SQLITE_IOERR", "SQLITE_READONLY", "SQLITE_PERM"}:
        message = str(error)
        return ShelfError(name, f"cannot be read or written where it lies ({message}); {NOTHING}")
    if kind == "SQLITE_NOTADB":
        return NotAShelfError(name, "is no database; name the shelf's file")
    return DamagedShelfError(name, f"is damaged ({error}); {RESTORE}")
