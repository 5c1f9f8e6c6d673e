"""The connection to PostgreSQL: one shelf for several shops, with faults as plain sentences.

The shelf lies in the schema that its address leads to. Writers lock the table of requests, so one
writes at a time, as with a file. A reader sees one state and never waits.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from inventory import sql
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
from specs.errors import InputError, Problem

try:
    import psycopg
    from psycopg.conninfo import conninfo_to_dict
except ImportError as missing:
    raise InputError(
        Problem("a shelf on PostgreSQL needs: pip install 'gapwright[postgres]'")
    ) from missing

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

STEPS: Final = sql.steps("postgres")


class PostgresDatabase:
    """A connected shelf on a server. It does what `inventory.sql.Database` asks of a database."""

    def __init__(self, address: str, patience: int) -> None:
        self.name, self._patience = _name(address), patience
        self._connection = _connect(address, self.name, patience)
        try:
            self._open()
        except BaseException:
            self.close()
            raise

    def _open(self) -> None:
        with self._translated_errors():
            wait = 1000 * self._patience or 1  # milliseconds; 0 would be for ever
            self._connection.execute(f"SET lock_timeout = {wait}".encode())
        version = self._version()
        if version > len(STEPS):
            raise NewerShelfError(self.name, version, len(STEPS))
        if version < len(STEPS):
            self._migrate()

    def _version(self) -> int:
        ((there,),) = self.rows("SELECT to_regclass('shelf') IS NOT NULL")
        if not there:
            raise NotAShelfError(self.name, "holds no shelf; make one first, or mend the name")
        ((version,),) = self.rows("SELECT max(version) FROM shelf")
        return int(version)

    def _migrate(self) -> None:
        with self._translated_errors(), self._connection.transaction():
            self._connection.execute("LOCK TABLE shelf IN ACCESS EXCLUSIVE MODE")
            version = self._version()
            if version >= len(STEPS):
                return  # somebody else was first
            self._keep_tables(f"before_{len(STEPS)}")
            for step in STEPS[version:]:
                self._connection.execute(step.encode())
            self._connection.execute("UPDATE shelf SET version = %s", [len(STEPS)])

    def _keep_tables(self, suffix: str) -> None:
        for table in sql.TABLES:
            ((there,),) = self.rows("SELECT to_regclass(?) IS NOT NULL", table)
            if there:
                kept = f"CREATE TABLE {table}_{suffix} AS TABLE {table}"
                self._connection.execute(kept.encode())

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Run the `with` block as the only writer; an exception undoes all of it."""
        with self._translated_errors(), self._connection.transaction():
            self._connection.execute("LOCK TABLE request IN EXCLUSIVE MODE")
            yield

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Run the `with` block on one state of the shelf, without waiting for writers."""
        with self._translated_errors(), self._connection.transaction():
            self._connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield

    def rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """Run a statement and return its rows."""
        with self._translated_errors():
            return self._connection.execute(_placed(statement), values).fetchall()

    def add(self, statement: str, rows: Iterable[Sequence[object]]) -> None:
        """Insert many rows with one statement."""
        with self._translated_errors(), self._connection.cursor() as cursor:
            cursor.executemany(_placed(statement), rows)

    def among(self, column: str, names: Sequence[str]) -> tuple[str, object]:
        """Return the condition that a column is one of some names, and the names as one array."""
        return f"{column} = ANY(?)", list(names)

    def faults(self) -> list[str]:
        """Return a sentence for each trigger that is gone or off; the server guards the rest."""
        wanted = {f"{table}_follows" for table in sql.TABLES if table != "lot"}
        wanted |= {f"{table}_stays" for table in sql.TABLES}
        rows = self.rows(
            "SELECT tgname FROM pg_trigger WHERE tgenabled = 'O' AND tgrelid IN"
            " (SELECT to_regclass(name) FROM unnest(?::text[]) AS name)",
            [*sql.TABLES],
        )
        lost = sorted(wanted - {name for (name,) in rows})
        return [f"its guard {name} is gone" for name in lost]

    def copy(self, target: Path) -> None:
        """Copy the ledger to a new shelf file, which opens like any other."""
        from inventory.sqlite_door import SqliteDatabase, create_file

        create_file(target)
        file = SqliteDatabase(target, self._patience)
        try:
            with self.reading(), file.writing():
                sql.copy(self, file)
        except BaseException:
            target.unlink(missing_ok=True)
            raise
        finally:
            file.close()

    def close(self) -> None:
        """Close the connection."""
        self._connection.close()

    @contextmanager
    def _translated_errors(self) -> Iterator[None]:
        try:
            yield
        except psycopg.Error as error:
            raise _refusal(self.name, error, self._patience) from error


def create_tables(address: str, patience: int) -> None:
    """Make an empty shelf on a server. Raises NotAShelfError where its tables stand already."""
    name = _name(address)
    connection = _connect(address, name, patience)
    try:
        with connection.transaction():
            for step in STEPS:
                connection.execute(step.encode())
            connection.execute("UPDATE shelf SET version = %s", [len(STEPS)])
    except (psycopg.errors.DuplicateTable, psycopg.errors.UniqueViolation):
        sentence = "holds a shelf or tables of its names already and is left as it is; name another"
        raise NotAShelfError(name, sentence) from None
    except psycopg.Error as error:
        raise _refusal(name, error, patience) from error
    finally:
        connection.close()


def _connect(address: str, name: str, patience: int) -> psycopg.Connection[tuple[Any, ...]]:
    try:
        return psycopg.connect(address, autocommit=True, connect_timeout=max(patience, 2))
    except psycopg.Error as error:
        message = str(error).splitlines()[0]
        raise NotAShelfError(name, f"cannot be reached ({message})") from error


def _name(address: str) -> str:
    """Return the shelf's name for messages, without the password that its address may hold."""
    try:
        message = conninfo_to_dict(address)
    except psycopg.Error:
        raise NotAShelfError(
            "postgresql", "is no address; write postgresql://user@host/name"
        ) from None
    return f"postgresql://{message.get('host', '')}/{message.get('dbname', '')}"


def _placed(statement: str) -> bytes:
    return statement.replace("?", "%s").encode()


def _refusal(name: str, error: psycopg.Error, patience: int) -> ShelfError:
    message = str(error).splitlines()[0]
    match error:
        case psycopg.errors.LockNotAvailable():
            return BusyShelfError(name, patience)
        case psycopg.errors.DiskFull():
            return FullShelfError(name)
        case psycopg.errors.ReadOnlySqlTransaction() | psycopg.errors.InsufficientPrivilege():
            return ReadOnlyShelfError(
                name, f"it may be read and not written ({message}); {NOTHING}"
            )
        case psycopg.OperationalError():
            again = "post the same request again, it is posted once"
            return ShelfError(name, f"the connection is lost ({message}); {again}")
    return DamagedShelfError(name, f"is damaged ({message}); {RESTORE}")
