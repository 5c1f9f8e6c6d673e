"""Every SQL statement on the ledger's tables, in the words that both databases know.

A `Database` is one open connection, made by `sqlite_door` or `postgres_door`. It takes `?` for a
value and returns rows as tuples. The files in `schema/` make the tables, one file for each version.
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
    """The operations that both databases offer the ledger; they raise ShelfError."""

    name: str
    """How messages call it; never with a password."""

    def writing(self) -> AbstractContextManager[None]:
        """Return a transaction that excludes other writers: kept whole at its end, or undone."""

    def reading(self) -> AbstractContextManager[None]:
        """Return a transaction that sees one state of the shelf."""

    def rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """Run a statement and return its rows."""

    def add(self, statement: str, rows: Iterable[Sequence[object]]) -> None:
        """Insert many rows with one statement."""

    def among(self, column: str, names: Sequence[str]) -> tuple[str, object]:
        """Return the condition that a column is one of some names, and the value holding them."""

    def faults(self) -> list[str]:
        """Return a sentence for each fault that the database finds in its storage and tables."""

    def copy(self, target: Path) -> None:
        """Copy the whole ledger to a new file."""

    def close(self) -> None:
        """Close the connection."""


class RequestRow(NamedTuple):
    """The row of one request; its entries are those from `first` to `last`."""

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
    """The row of one lot; `thickness` in nanometres, empty where the lot is as sold."""

    id: str
    family: str
    size: str
    thickness: str
    condition: str
    bin: str
    label: str


class EntryRow(NamedTuple):
    """The row of one entry: its movement, and the state of its lot and of its job afterwards."""

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


class NoteRow(NamedTuple):
    """The row of one note, which belongs to request number `request`."""

    seq: int
    request: int
    kind: str
    about: str
    text: str


TABLES = ("request", "lot", "entry", "note")


def steps(kind: str) -> tuple[str, ...]:
    """Return the scripts that make version 1 from an empty database, 2 from 1, and so on."""
    folder = files("inventory") / "schema"
    found = sorted(
        (int(file.name.removesuffix(".sql").rpartition("_")[2]), file.read_text(encoding="utf-8"))
        for file in folder.iterdir()
        if file.name.startswith(f"{kind}_")
    )
    return tuple(text for _, text in found)


_LOT = ", ".join(f"lot.{name}" for name in LotRow._fields)
_ENTRY = ", ".join(f"entry.{name}" for name in EntryRow._fields)
_NOTE = ", ".join(f"note.{name}" for name in NoteRow._fields)
_REQUEST = ", ".join(f"request.{name}" for name in RequestRow._fields)
_LAST_OF_LOT = "entry.seq = (SELECT max(seq) FROM entry AS later WHERE later.lot = lot.id)"
_LAST_OF_JOB = (
    "entry.held > 0 AND entry.job <> '' AND entry.seq = (SELECT max(seq) FROM entry AS later "
    "WHERE later.job = entry.job AND later.job <> '' AND later.lot = entry.lot)"
)


def last_request(database: Database) -> RequestRow | None:
    """Return the request posted last, None in an empty ledger."""
    rows = database.rows(f"SELECT {_REQUEST} FROM request ORDER BY seq DESC LIMIT 1")
    return RequestRow(*rows[0]) if rows else None


def request_with(database: Database, key: str) -> RequestRow | None:
    """Return the request with a key, None where there is none."""
    rows = database.rows(f"SELECT {_REQUEST} FROM request WHERE key = ?", key)
    return RequestRow(*rows[0]) if rows else None


def requests(database: Database, after: int, most: int) -> list[RequestRow]:
    """Return at most `most` requests that follow number `after`, in order."""
    statement = f"SELECT {_REQUEST} FROM request WHERE seq > ? ORDER BY seq LIMIT ?"
    return [RequestRow(*row) for row in database.rows(statement, after, most)]


def entries(database: Database, first: int, last: int) -> list[EntryRow]:
    """Return the entries from number `first` to number `last`, in order."""
    statement = f"SELECT {_ENTRY} FROM entry WHERE seq BETWEEN ? AND ? ORDER BY seq"
    return [EntryRow(*row) for row in database.rows(statement, first, last)]


def notes(database: Database, first: int, last: int) -> dict[int, list[NoteRow]]:
    """Return the notes of requests number `first` to `last`, in order, by request."""
    statement = f"SELECT {_NOTE} FROM note WHERE request BETWEEN ? AND ? ORDER BY seq"
    found: dict[int, list[NoteRow]] = {}
    for row in map(NoteRow._make, database.rows(statement, first, last)):
        found.setdefault(row.request, []).append(row)
    return found


def out(
    database: Database, job: str, family: str = "", size: str = ""
) -> list[tuple[str, str, int, int]]:
    """Return family, size, number issued and number returned, of all that went out to a job.

    An empty job stands for all that went out, to whichever job or none; `family` and `size` narrow
    it down to one size.
    """
    where = "entry.kind IN ('issue', 'return')"
    values = [value for value in (job, family, size) if value]
    where += " AND entry.job = ? AND entry.job <> ''" * bool(job)
    where += " AND lot.family = ?" * bool(family) + " AND lot.size = ?" * bool(size)
    sums = (f"CAST(sum(CASE entry.kind WHEN '{kind}' THEN entry.number ELSE 0 END) AS bigint)"
            for kind in ("issue", "return"))  # fmt: skip
    rows = database.rows(
        f"SELECT lot.family, lot.size, {', '.join(sums)} FROM entry JOIN lot ON lot.id = entry.lot"
        f" WHERE {where} GROUP BY lot.family, lot.size ORDER BY lot.family, lot.size",
        *values,
    )
    return [(family, size, issued, back) for family, size, issued, back in rows]


def last_note(database: Database) -> int:
    """Return the number of the note posted last, 0 where there is none."""
    ((seq,),) = database.rows("SELECT coalesce(max(seq), 0) FROM note")
    return int(seq)


def notes_where(
    database: Database, filters: dict[str, str], *, every: bool
) -> list[tuple[Any, ...]]:
    """Return the rows that join note and request, in order of the notes.

    `filters` narrows them down by `kind` or `about`. Without `every` only the last note of each
    kind about each thing is there.
    """
    where = " AND ".join(f"note.{name} = ?" for name in filters) or "true"
    values = [*filters.values()]
    if not every:
        where = f"note.seq IN (SELECT max(seq) FROM note WHERE {where} GROUP BY kind, about)"
    return database.rows(
        f"SELECT {_NOTE}, {_REQUEST} FROM note JOIN request ON request.seq = note.request"
        f" WHERE {where} ORDER BY note.seq",
        *values,
    )


def counted(database: Database) -> tuple[int, int, int, int]:
    """Return how many requests, entries, lots and notes the ledger holds."""
    (row,) = database.rows(
        "SELECT (SELECT count(*) FROM request), (SELECT count(*) FROM entry),"
        " (SELECT count(*) FROM lot), (SELECT count(*) FROM note)"
    )
    return row[0], row[1], row[2], row[3]


def lots(database: Database, ids: Sequence[str] | None = None) -> list[LotRow]:
    """Return every lot there ever was, or those with the given ids."""
    chosen, values = _among(database, "lot.id", ids)
    rows = database.rows(f"SELECT {_LOT} FROM lot WHERE true{chosen}", *values)
    return [LotRow(*row) for row in rows]


def standing(database: Database, ids: Sequence[str] | None = None) -> list[tuple[Any, ...]]:
    """Return each lot's row with on hand and reserved at its end, in the order of ids.

    `ids` narrows them down to some lots.
    """
    chosen, values = _among(database, "lot.id", ids)
    return database.rows(
        f"SELECT {_LOT}, entry.on_hand, entry.reserved FROM lot JOIN entry ON {_LAST_OF_LOT}"
        f"{chosen} ORDER BY lot.id",
        *values,
    )


def holders(database: Database, ids: Sequence[str]) -> list[tuple[str, str, int]]:
    """Return lot id, job and number held for each job that holds parts of some lots."""
    chosen, values = _among(database, "entry.lot", ids)
    rows = database.rows(
        f"SELECT entry.lot, entry.job, entry.held FROM entry WHERE {_LAST_OF_JOB}{chosen}"
        " ORDER BY entry.job",
        *values,
    )
    return [(lot, job, held) for lot, job, held in rows]


def moved(database: Database, ids: Sequence[str], after: int) -> list[str]:
    """Return the ids of those lots that have moved since entry number `after`."""
    chosen, values = _among(database, "lot", ids)
    statement = f"SELECT DISTINCT lot FROM entry WHERE seq > ?{chosen} ORDER BY lot"
    return [lot for (lot,) in database.rows(statement, after, *values)]


def entries_where(database: Database, after: int, filters: dict[str, str]) -> list[tuple[Any, ...]]:
    """Return the rows that join entry, request and lot, for entries after number `after`.

    `filters` narrows them down by `lot`, `job`, `kind` or `key`.
    """
    columns = {"lot": "entry.lot", "job": "entry.job", "kind": "entry.kind", "key": "request.key"}
    where = "".join(f" AND {columns[name]} = ?" for name in filters)
    # The first says that a partial index will do, the second where the entries of a request lie.
    where += " AND entry.job <> ''" * ("job" in filters)
    where += " AND entry.seq BETWEEN request.first AND request.last" * ("key" in filters)
    return database.rows(
        f"SELECT {_ENTRY}, {_REQUEST}, {_LOT} FROM entry"
        " JOIN request ON request.seq = entry.request"
        f" JOIN lot ON lot.id = entry.lot WHERE entry.seq > ?{where} ORDER BY entry.seq",
        after,
        *filters.values(),
    )


def add(
    database: Database,
    request: RequestRow,
    lots: list[LotRow],
    entries: list[EntryRow],
    notes: list[NoteRow],
) -> None:
    """Add one request, the lots that are new with it, its entries and its notes."""
    database.add(_insert("request", RequestRow._fields), [request])
    if lots:
        database.add(_insert("lot", LotRow._fields), lots)
    database.add(_insert("entry", EntryRow._fields), entries)
    if notes:
        database.add(_insert("note", NoteRow._fields), notes)


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
    """Copy every request of one ledger to an empty one, in order; the target checks each."""
    target.add(_insert("lot", LotRow._fields), lots(source))
    seq = 0
    while chunk := requests(source, seq, MOST_AT_ONCE):
        noted = notes(source, chunk[0].seq, chunk[-1].seq)
        for request in chunk:
            moved = entries(source, request.first, request.last)
            add(target, request, [], moved, noted.get(request.seq, []))
        seq = chunk[-1].seq
