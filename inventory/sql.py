"""The door to SQL: every statement on the ledger's tables, in words both databases know.

A `Database` is one open connection (`sqlite_door`, `postgres_door`); it writes `?` for a value
and gives rows as tuples. The tables stand in `schema/`, one file for each step of a version.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from contextlib import AbstractContextManager
    from pathlib import Path


MOST_AT_ONCE = 1_000  # requests read into memory together


class Database(Protocol):
    """What both kinds of database do for the ledger; refusals come out as ShelfError."""

    name: str
    """How messages call it; never with a password."""

    def writing(self) -> AbstractContextManager[None]:
        """One transaction that no other writer meets: kept whole at its end, or not at all."""

    def reading(self) -> AbstractContextManager[None]:
        """One transaction that sees one state of the shelf."""

    def rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """Ask."""

    def add(self, statement: str, rows: Iterable[Sequence[object]]) -> None:
        """Add rows, many at once."""

    def among(self, column: str, names: Sequence[str]) -> tuple[str, object]:
        """Write "is one of these", and the one value that carries them."""

    def faults(self) -> list[str]:
        """What the database itself finds wrong with how it is kept."""

    def copy(self, target: Path) -> None:
        """Write all of it to a new file."""

    def close(self) -> None:
        """Let go of it."""


class RequestRow(NamedTuple):
    """One request as it is kept; `first` to `last` are its entries."""

    seq: int
    key: str
    at: str
    who: str
    why: str
    first: int
    last: int
    link: str


NOTHING = RequestRow(0, "", "", "", "", 0, 0, "")


class LotRow(NamedTuple):
    """One lot as it is kept; `thickness` in nanometres, empty for as sold."""

    id: str
    family: str
    size: str
    thickness: str
    condition: str
    bin: str
    label: str


class EntryRow(NamedTuple):
    """One entry as it is kept: what moved, and how lot and job stood afterwards."""

    seq: int
    request: int
    kind: str
    lot: str
    job: str
    number: int
    change: int
    holds: int
    on_hand: int
    reserved: int
    held: int


def steps(kind: str) -> tuple[str, ...]:
    """The statements that make an empty database a shelf of version 1, 2 and so on."""
    folder = files("inventory") / "schema"
    found = sorted(
        (int(file.name.removesuffix(".sql").rpartition("_")[2]), file.read_text(encoding="utf-8"))
        for file in folder.iterdir()
        if file.name.startswith(f"{kind}_")
    )
    return tuple(text for _, text in found)


_LOT = ", ".join(f"lot.{name}" for name in LotRow._fields)
_ENTRY = ", ".join(f"entry.{name}" for name in EntryRow._fields)
_REQUEST = ", ".join(f"request.{name}" for name in RequestRow._fields)
_LAST_OF_LOT = "entry.seq = (SELECT max(seq) FROM entry AS later WHERE later.lot = lot.id)"
_LAST_OF_JOB = (
    "entry.held > 0 AND entry.job <> '' AND entry.seq = (SELECT max(seq) FROM entry AS later "
    "WHERE later.job = entry.job AND later.job <> '' AND later.lot = entry.lot)"
)


def last_request(database: Database) -> RequestRow | None:
    """The request posted last."""
    rows = database.rows(f"SELECT {_REQUEST} FROM request ORDER BY seq DESC LIMIT 1")
    return RequestRow(*rows[0]) if rows else None


def request_with(database: Database, key: str) -> RequestRow | None:
    """The request posted with a key."""
    rows = database.rows(f"SELECT {_REQUEST} FROM request WHERE key = ?", key)
    return RequestRow(*rows[0]) if rows else None


def requests(database: Database, after: int, most: int) -> list[RequestRow]:
    """The requests that follow one, in order."""
    statement = f"SELECT {_REQUEST} FROM request WHERE seq > ? ORDER BY seq LIMIT ?"
    return [RequestRow(*row) for row in database.rows(statement, after, most)]


def entries(database: Database, first: int, last: int) -> list[EntryRow]:
    """The entries from one to another, in order."""
    statement = f"SELECT {_ENTRY} FROM entry WHERE seq BETWEEN ? AND ? ORDER BY seq"
    return [EntryRow(*row) for row in database.rows(statement, first, last)]


def counted(database: Database) -> tuple[int, int, int]:
    """How many requests, entries and lots there are."""
    (row,) = database.rows(
        "SELECT (SELECT count(*) FROM request), (SELECT count(*) FROM entry),"
        " (SELECT count(*) FROM lot)"
    )
    return row[0], row[1], row[2]


def lots(database: Database, ids: Sequence[str] | None = None) -> list[LotRow]:
    """Every lot there ever was, or some."""
    chosen, values = _among(database, "lot.id", ids)
    rows = database.rows(f"SELECT {_LOT} FROM lot WHERE true{chosen}", *values)
    return [LotRow(*row) for row in rows]


def standing(database: Database, ids: Sequence[str] | None = None) -> list[tuple[Any, ...]]:
    """Each lot with what is on hand and reserved of it: some or all, in the order of ids."""
    chosen, values = _among(database, "lot.id", ids)
    return database.rows(
        f"SELECT {_LOT}, entry.on_hand, entry.reserved FROM lot JOIN entry ON {_LAST_OF_LOT}"
        f"{chosen} ORDER BY lot.id",
        *values,
    )


def holders(database: Database, ids: Sequence[str]) -> list[tuple[str, str, int]]:
    """Which job holds how many of which of some lots."""
    chosen, values = _among(database, "entry.lot", ids)
    rows = database.rows(
        f"SELECT entry.lot, entry.job, entry.held FROM entry WHERE {_LAST_OF_JOB}{chosen}"
        " ORDER BY entry.job",
        *values,
    )
    return [(lot, job, held) for lot, job, held in rows]


def moved(database: Database, ids: Sequence[str], after: int) -> list[str]:
    """Which of some lots have moved since an entry."""
    chosen, values = _among(database, "lot", ids)
    statement = f"SELECT DISTINCT lot FROM entry WHERE seq > ?{chosen} ORDER BY lot"
    return [lot for (lot,) in database.rows(statement, after, *values)]


def told(database: Database, after: int, asked: dict[str, str]) -> list[tuple[Any, ...]]:
    """Entry, request and lot of every entry after one that is as asked."""
    columns = {"lot": "entry.lot", "job": "entry.job", "kind": "entry.kind", "key": "request.key"}
    where = "".join(f" AND {columns[name]} = ?" for name in asked)
    # The first says that a partial index will do, the second where the entries of a request lie.
    where += " AND entry.job <> ''" * ("job" in asked)
    where += " AND entry.seq BETWEEN request.first AND request.last" * ("key" in asked)
    return database.rows(
        f"SELECT {_ENTRY}, {_REQUEST}, {_LOT} FROM entry"
        " JOIN request ON request.seq = entry.request"
        f" JOIN lot ON lot.id = entry.lot WHERE entry.seq > ?{where} ORDER BY entry.seq",
        after,
        *asked.values(),
    )


def add(
    database: Database, request: RequestRow, lots: list[LotRow], entries: list[EntryRow]
) -> None:
    """Add one request, the lots it brings and its entries."""
    database.add(_insert("request", RequestRow._fields), [request])
    database.add(_insert("lot", LotRow._fields), lots)
    database.add(_insert("entry", EntryRow._fields), entries)


def _insert(table: str, fields: tuple[str, ...]) -> str:
    places = ", ".join("?" for _ in fields)
    return f"INSERT INTO {table} ({', '.join(fields)}) VALUES ({places})"


def _among(
    database: Database, column: str, ids: Sequence[str] | None
) -> tuple[str, tuple[object, ...]]:
    if ids is None:
        return "", ()
    chosen, value = database.among(column, ids)
    return f" AND {chosen}", (value,)


def copy(source: Database, target: Database) -> None:
    """Add every request of one ledger to an empty one, in order, under the target's own laws."""
    target.add(_insert("lot", LotRow._fields), lots(source))
    seq = 0
    while chunk := requests(source, seq, MOST_AT_ONCE):
        for request in chunk:
            add(target, request, [], entries(source, request.first, request.last))
        seq = chunk[-1].seq
