"""The shelf as a ledger: it keeps exactly which parts are on hand.

Movements and notes are only ever added. A decision is one request; it is posted in one
transaction or not at all, and a request that arrives twice is posted once. The last entry of each
lot holds its balance.
"""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from inventory import sql
from inventory.chain import Link, Verified, flaws, flaws_at_end, link, unmet
from inventory.holding import Holding, out_key, worked_through
from inventory.kept import balance_of, entry_of, lot_row, note_of
from inventory.movements import Note, Receipt, check_request
from inventory.refusals import (
    RESTORE,
    ChangedShelfError,
    DamagedShelfError,
    OtherRequestError,
    Out,
    ShortShelfError,
)
from inventory.sql import NOTHING, NoteRow, RequestRow
from specs.errors import MOST_LISTED
from specs.files.shelf_address import is_server

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from inventory.movements import Balance, Entry, Kind, PostedNote, Request
    from inventory.sql import Database

PATIENCE = 10  # seconds to wait for another writer


def _now() -> datetime:
    return datetime.now(UTC)


def create_shelf(address: str | Path) -> None:
    """Make an empty shelf in a new file or, at `postgresql://...`, in a schema without one.

    Raises NotAShelfError where something is there already, which is left as it is.
    """
    if is_server(address):
        from inventory.postgres_door import create_tables

        create_tables(str(address), PATIENCE)
    else:
        from inventory.sqlite_door import create_file

        create_file(Path(address))


@contextmanager
def open_shelf(
    address: str | Path, *, patience: int = PATIENCE, clock: Callable[[], datetime] = _now,
    look: bool = True,
) -> Iterator[Shelf]:  # fmt: skip
    """Open a shelf's ledger, to be used with `with`.

    One of an older version is backed up and brought up to date.

    Parameters
    ----------
    address
        Its file, or `postgresql://...`.
    patience
        How many seconds to wait while somebody else writes.
    clock
        What says the time of a posting.
    look
        Whether to look at its last links; without, a damaged one may be opened to `verify` it.

    Yields
    ------
    Shelf
        The open shelf, for one thread: `balances()`, `history()`, `notes()`, `post()`, ...

    Raises
    ------
    ShelfError
        Where there is none, none that can be read, or one whose last links are not what was
        written.

    """
    database = _connect(address, patience)
    try:
        shelf = Shelf(database, clock)
        if look:
            shelf.look()
        yield shelf
    finally:
        database.close()


def _connect(address: str | Path, patience: int) -> Database:
    if is_server(address):
        from inventory.postgres_door import PostgresDatabase

        return PostgresDatabase(str(address), patience)
    from inventory.sqlite_door import SqliteDatabase

    return SqliteDatabase(Path(address), patience)


class Shelf:
    """An open shelf, for the use of one thread."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self._database, self._clock = database, clock

    @property
    def name(self) -> str:
        """The shelf's name in messages, without a password."""
        return self._database.name

    def post(self, request: Request, *, seen: int | None = None) -> Receipt:
        """Post all movements and notes of a decision in their order, or nothing.

        Only counts decide, not whether a lot moved meanwhile: free parts may be taken however old
        the answer is that asks for them. Give `seen` where that is not enough, as for a count.

        Parameters
        ----------
        request
            The decision. A request with a key that was posted before is not posted again.
        seen
            The revision that the caller looked at; without, lots may have moved since.

        Returns
        -------
        Receipt
            The numbers of the request's first and last entry, and whether it was posted before.

        Raises
        ------
        InputError
            For values that no ledger accepts.
        ShortShelfError
            With every movement that its lot does not allow, and every return of more than went out.
        ChangedShelfError
            Where a lot of the request has moved since `seen`.
        OtherRequestError
            Where the key was posted before with other movements or notes.
        """
        check_request(request)
        with self._database.writing():
            earlier = sql.request_with(self._database, request.key)
            if earlier is not None:
                return self._posted_before(request, earlier)
            lots = [movement.part.lot_id for movement in request.movements]
            if seen is not None:
                self._check_unmoved(request, lots, seen)
            row = self._post(request, lots)
        return Receipt(row.first, row.last, again=False)

    def _posted_before(self, request: Request, earlier: RequestRow) -> Receipt:
        entries = self._entries(earlier.first - 1, {"key": request.key})
        rows = sql.notes(self._database, earlier.seq, earlier.seq).get(earlier.seq, [])
        same = {
            "movements": request.movements == tuple(entry.movement for entry in entries),
            "notes": request.notes == tuple(Note(*row[2:]) for row in rows),
        }
        if not all(same.values()):
            other = next(name for name, is_same in same.items() if not is_same)
            sentence = f'"{request.key}" was posted at {earlier.at} with other {other}'
            raise OtherRequestError(self.name, f"{sentence}; give this request a key of its own")
        return Receipt(earlier.first, earlier.last, again=True)

    def _check_unmoved(self, request: Request, lots: Sequence[str], seen: int) -> None:
        moved = set(sql.moved(self._database, lots, seen))
        named = {lot: move.part for lot, move in zip(lots, request.movements, strict=True)}
        if moved:
            parts = [part for lot, part in named.items() if lot in moved]
            raise ChangedShelfError(
                self.name, *(f"{part} moved since it was looked at; look again" for part in parts)
            )

    def _post(self, request: Request, lots: Sequence[str]) -> RequestRow:
        before = sql.last_request(self._database) or NOTHING
        holdings = self._holdings(lots)
        new = {
            lot: move.part
            for lot, move in zip(lots, request.movements, strict=True)
            if lot not in holdings
        }
        rows, shortages = worked_through(request, lots, holdings, self._out(request), before)
        if shortages:
            raise ShortShelfError(self.name, shortages)
        at = self._clock().astimezone(UTC).isoformat(timespec="microseconds")
        row = RequestRow(
            before.seq + 1, request.key, at, request.who, request.why, before.last + 1,
            before.last + len(rows), "",
        )  # fmt: skip
        noted = self._notes_of(request, row)
        row = row._replace(link=link(before.link, row, rows, noted))
        # In the order of their key, so that a big import goes onto the end of it.
        brought = [lot_row(new[lot], lot) for lot in sorted(new)]
        sql.add(self._database, row, brought, rows, noted)
        return row

    def _notes_of(self, request: Request, row: RequestRow) -> list[NoteRow]:
        if not request.notes:
            return []
        next_one = sql.last_note(self._database) + 1
        return [
            NoteRow(number, row.seq, note.kind, note.about, note.text)
            for number, note in enumerate(request.notes, next_one)
        ]

    def _out(self, request: Request) -> dict[tuple[str, str, str], Out]:
        """Count what is out of each size that a request returns."""
        keys = dict.fromkeys(out_key(one) for one in request.movements if one.kind == "return")
        found = {key: sql.out(self._database, *key) for key in keys}
        return {key: Out(*rows[0][2:]) if rows else Out() for key, rows in found.items()}

    def _holdings(self, lots: Sequence[str]) -> dict[str, Holding]:
        ids = list(dict.fromkeys(lots))
        holdings = {row[0]: Holding(*row[-2:]) for row in sql.standing(self._database, ids)}
        spoken_for = [lot for lot, holding in holdings.items() if holding.reserved]
        for lot, job, held in sql.holders(self._database, spoken_for):
            holdings[lot].held[job] = held
        return holdings

    @contextmanager
    def _read_back(self) -> Iterator[None]:
        try:
            yield
        except (TypeError, ValueError) as error:  # a text where a number was, or none at all
            value = f"holds what was never written ({error}); {RESTORE}"
            raise DamagedShelfError(self.name, value) from error

    def balances(self) -> tuple[Balance, ...]:
        """Return the balance of every lot there ever was, with its holders, in the order of ids."""
        with self._database.reading(), self._read_back():
            rows = sql.standing(self._database)
            spoken_for = [lot for lot, *_, reserved in rows if reserved]
            holders: dict[str, list[tuple[str, int]]] = {}
            for lot, job, held in sql.holders(self._database, spoken_for):
                holders.setdefault(lot, []).append((job, held))
            return tuple(balance_of(row, tuple(holders.get(row[0], ()))) for row in rows)

    def history(
        self, *, lot: str = "", job: str = "", kind: Kind | str = "", key: str = "", after: int = 0
    ) -> tuple[Entry, ...]:
        """Return entries in the order they were posted: all, or those that meet what is given.

        The parts that went into a job are its entries of kind `issue`.

        Parameters
        ----------
        lot
            Only entries of the lot with this id.
        job
            Only entries for this job.
        kind
            Only entries of this kind of movement.
        key
            Only entries of the request with this key.
        after
            Only entries posted after this revision.
        """
        filters = {"lot": lot, "job": job, "kind": kind, "key": key}
        return self._entries(after, {name: value for name, value in filters.items() if value})

    def _entries(self, after: int, filters: dict[str, str]) -> tuple[Entry, ...]:
        with self._read_back():
            return tuple(map(entry_of, sql.entries_where(self._database, after, filters)))

    def out(self, job: str = "") -> dict[tuple[str, str], Out]:
        """Count by family and size what was issued to a job and came back; without one, of all."""
        with self._read_back():
            return {row[:2]: Out(*row[2:]) for row in sql.out(self._database, job)}

    def notes(
        self, kind: str = "", about: str = "", *, every: bool = False
    ) -> tuple[PostedNote, ...]:
        """Return the notes that stand, the last of each kind about each thing, as posted.

        Parameters
        ----------
        kind
            Only notes of this kind.
        about
            Only notes about this.
        every
            Whether those that a later one replaced are wanted too.
        """
        filters = {"kind": kind, "about": about}
        given = {name: value for name, value in filters.items() if value}
        with self._read_back():
            return tuple(map(note_of, sql.notes_where(self._database, given, every=every)))

    def end(self) -> tuple[int, Link | None]:
        """Return the number of the last entry, 0 where there is none, and the last link.

        Notes are no entries: where a request has none but notes, the link alone is another.

        A caller that asks before it reads the balances can tell from the number what moved since,
        and can print the link, which stands for everything posted before.
        """
        last = sql.last_request(self._database)
        return (last.last, Link(last.seq, last.link)) if last else (0, None)

    def revision(self) -> int:
        """Return the number of the last entry, 0 where there is none."""
        return self.end()[0]

    def look(self) -> None:
        """Check the last links of the chain.

        Raises DamagedShelfError where they are not as written.
        """
        with self._database.reading(), self._read_back():
            found = [*islice(flaws_at_end(self._database), MOST_LISTED)]
        if found:
            raise DamagedShelfError(self.name, *(f"{flaw}; {RESTORE}" for flaw in found))

    def verify(self, printed: Sequence[Link] = ()) -> Verified:
        """Check the whole ledger from its beginning, with all its hashes and balances.

        Parameters
        ----------
        printed
            Links from lists and sheets, which the ledger must still contain.

        Returns
        -------
        Verified
            How many requests, entries, lots and notes are sound, and the hash of the last request.

        Raises
        ------
        DamagedShelfError
            With a sentence for each fault, and for each printed link that is missing.
        """
        with self._database.reading(), self._read_back():
            found = tuple(islice(flaws(self._database), MOST_LISTED))
            found += tuple(unmet(self._database, printed))
            if found:
                raise DamagedShelfError(self.name, *found)
            last = sql.last_request(self._database)
            return Verified(*sql.counted(self._database), last.link if last else "")

    def backup(self, target: Path) -> None:
        """Copy the whole ledger to a new shelf file, in one state though others go on writing.

        Raises NotAShelfError where a file stands there already, FullShelfError where the disk is
        full.
        """
        self._database.copy(target)
