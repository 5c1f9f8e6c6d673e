"""Counts imported from a file to a shelf, all of a file or none of it, and exported to one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING, Literal

from gapwright.shelf.names import AS_NEW, Names
from gapwright.shelf.notes import remember
from gapwright.shelf.service import in_order, other_request, there_is
from gapwright.shelf.typed_part import namer
from inventory import open_shelf
from inventory.movements import Movement, Request
from inventory.refusals import ShortShelfError
from specs.errors import InputError, Problem, refusal, shortened, visible
from specs.files.read import read_unit
from specs.formats.plain_file import content

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from gapwright.shelf.notes import UnitFile
    from gapwright.shelf.service import Author
    from inventory import Shelf
    from inventory.counted import Counted
    from inventory.movements import Balance, Entry, Part
    from specs.values.lengths import LengthUnit

Mode = Literal["count", "add"]
SHEETS, SHELF_FILES = (".csv", ".tsv", ".txt"), (".yaml", ".yml")
KINDS = "name a spreadsheet (.csv) or a shelf file (.yaml)"


@dataclass(frozen=True, slots=True)
class Change:
    """The number of parts of a lot before an import and after it."""

    part: Part
    before: int
    after: int
    new: bool


@dataclass(frozen=True, slots=True)
class Imported:
    """The changes that a file makes, or has made."""

    shelf: str
    file: str
    mode: Mode
    dry: bool
    changes: tuple[Change, ...]
    """Lot by lot, in the file's order; also those that stay."""
    untold: tuple[Balance, ...] = ()
    """Lots on the shelf that the file does not list: they stay as they are."""
    reserved: int = 0
    """How many reservations came along, to a shelf that was empty."""
    left_out: int = 0
    """How many the file tells of and the shelf, not being empty, did not take."""
    again: datetime | None = None
    """When the very same file had been posted before."""


@dataclass(frozen=True, slots=True)
class ImportOptions:
    """A file to import, and how to read it."""

    file: Path
    mode: Mode
    lengths: LengthUnit | None = None
    unit: Path | None = None
    dry: bool = False
    new: bool = False
    """Whether names that are nearly known ones are new all the same."""


def import_counts(address: str, options: ImportOptions, author: Author) -> Imported:
    """Post all counts of a file in one request, or in a dry run report what they would change.

    Parameters
    ----------
    address
        The address of the ledger.
    options
        The file, and how to read it: `count` replaces the books' numbers, `add` adds to them.
    author
        Who asks and why. Without a key, one is made from the file's bytes, so that the same file is
        posted once.

    Raises
    ------
    InputError
        With every line that cannot be taken; nothing is posted then.
    OtherRequestError
        Where a stated key was posted before for another file; nothing is posted then.
    """
    raw = _content(options.file)
    name = str(options.file)
    key = author.key or f"import {options.mode} {sha256(raw).hexdigest()}"
    unit = read_unit(options.unit) if options.unit else None
    with open_shelf(address) as shelf:
        before = shelf.history(key=key)
        again = before[0].time if before else None
        if again and not author.key:
            return Imported(shelf.name, name, options.mode, options.dry, (), again=again)
        balances = shelf.balances()
        rows = _called(_rows(raw, options, unit), name, Names(shelf, balances), new=options.new)
        rows = _once_each(rows, name)
        if again:
            if _counts(before) != _listed(rows, options.mode):
                raise other_request(shelf, key)
            return Imported(shelf.name, name, options.mode, options.dry, (), again=again)
        standing = {one.part: one for one in balances if one.on_hand or one.reserved}
        moves, lines = _movements(rows, options.mode, name, reserve=not standing)
        if not options.dry:
            why = author.why or f"imported {shortened(visible(options.file.name))}"
            request = Request(key, author.who, why, moves)
            _post(shelf, request, author.seen, name, lines)
            if unit:
                remember(shelf, *unit, author.who)
    reserved = sum(sum(row.reserved.values()) for row in rows)
    return Imported(
        shelf.name, name, options.mode, options.dry, tuple(_changes(rows, options.mode, standing)),
        untold=_untold(rows, standing),
        reserved=0 if standing else reserved,
        left_out=reserved if standing else 0,
    )  # fmt: skip


def export_counts(
    address: str, suffix: str, lengths: LengthUnit, unit: Path | None = None
) -> tuple[str, int]:
    """Write the parts on hand as CSV or as a shelf file.

    Parameters
    ----------
    address
        The address of the ledger.
    suffix
        The ending of the file's name, which decides the format.
    lengths
        The unit of length for thicknesses.
    unit
        A unit's file; then only lots that it knows are written, so that `fit --shelf` reads them.

    Returns
    -------
    tuple
        The text, and the number of lots left out of it.

    Raises
    ------
    InputError
        Where the ending is neither that of a spreadsheet nor that of a shelf file.
    """
    from inventory.sheet import write_sheet
    from inventory.shelf_file import write_shelf_file

    if suffix not in (*SHEETS, *SHELF_FILES):
        raise InputError(Problem(KINDS))
    name, _, balances = there_is(address)
    known = _known(balances, unit) if unit else balances
    if suffix in SHEETS:
        return write_sheet(known, lengths), len(balances) - len(known)
    return write_shelf_file(known, lengths, name), len(balances) - len(known)


def _known(balances: Sequence[Balance], unit: Path) -> tuple[Balance, ...]:
    named = namer(read_unit(unit))

    def known(balances: Iterable[Balance]) -> Iterator[Balance]:
        for balance in balances:
            try:
                yield replace(balance, part=named(balance.part))
            except InputError:
                continue  # another unit's

    return tuple(sorted(known(balances), key=in_order))


def _content(file: Path) -> bytes:
    if file.suffix.lower() not in (*SHEETS, *SHELF_FILES):
        raise InputError(Problem(KINDS, str(file)))
    return content(file)


def _rows(raw: bytes, options: ImportOptions, unit: UnitFile | None) -> list[Counted]:
    """Read the rows of a file, their parts named as a unit's file calls them.

    Raises InputError with all that is wrong with them.
    """
    from inventory.sheet import read_sheet
    from inventory.shelf_file import read_shelf_file

    name = str(options.file)
    if options.file.suffix.lower() in SHEETS:
        rows = read_sheet(raw, name, options.lengths)
    else:
        rows = read_shelf_file(raw, name)
    return _named(rows, name, namer(unit, incoming=True)) if unit else rows


def _once_each(rows: list[Counted], name: str) -> list[Counted]:
    """Return the rows. Raises InputError where a lot is listed twice, or none is."""
    first: dict[Part, Counted] = {}
    problems = [
        Problem(f"{row.part} is listed in line {first[row.part].line} already; list it once",
                name, row.line)
        for row in rows if first.setdefault(row.part, row) is not row
    ]  # fmt: skip
    if problems:
        raise refusal(problems, name)
    if not rows:
        raise InputError(Problem("lists no parts", name))
    return rows


def _called(rows: list[Counted], name: str, names: Names, *, new: bool) -> list[Counted]:
    """Return the rows by the shelf's own names. Raises InputError with every doubtful name."""

    @cache
    def called(family: str, size: str) -> tuple[str, str]:
        return names.called(family, size, doubt=not new, advice=AS_NEW)

    def named(part: Part) -> Part:
        family, size = called(part.family, part.size)
        return replace(part, family=family, size=size)

    return _named(rows, name, named)


def _named(rows: list[Counted], name: str, named: Callable[[Part], Part]) -> list[Counted]:
    """Return the rows with their parts renamed. Raises InputError with all that are refused."""
    found, problems = [], []
    for row in rows:
        try:
            found.append(replace(row, part=named(row.part)))
        except InputError as error:
            problems += [Problem(one.sentence, name, row.line) for one in error.problems]
    if problems:
        raise refusal(problems, name)
    return found


def _movements(
    rows: list[Counted], mode: Mode, name: str, *, reserve: bool
) -> tuple[tuple[Movement, ...], list[int]]:
    """Return the movements of a file, and the line of each."""
    moves: list[Movement] = []
    lines: list[int] = []
    problems = []
    for row in rows:
        if mode == "count" or row.number:
            moves.append(Movement("count" if mode == "count" else "receive", row.part, row.number))
            lines.append(row.line)
        if not reserve:
            continue
        if row.reserved.get(""):
            sentence = f"{row.part}: say for which job they are reserved: {{J-1042: 1}}"
            problems.append(Problem(sentence, name, row.line))
        moves += [Movement("reserve", row.part, n, job) for job, n in row.reserved.items() if n]
        lines += [row.line] * sum(map(bool, row.reserved.values()))
    if problems:
        raise refusal(problems, name)
    if not moves:
        raise InputError(Problem("lists nothing to receive", name))
    return tuple(moves), lines


def _listed(rows: list[Counted], mode: Mode) -> set[tuple[str, Part, int]]:
    """Return kind, part and number of each movement of a file, without reservations."""
    kind = "count" if mode == "count" else "receive"
    return {(kind, row.part, row.number) for row in rows if mode == "count" or row.number}


def _counts(entries: Sequence[Entry]) -> set[tuple[str, Part, int]]:
    """Return the same of entries of the ledger; only an empty shelf takes a file's reservations."""
    moves = (entry.movement for entry in entries)
    return {(move.kind, move.part, move.number) for move in moves if move.kind != "reserve"}


def _post(shelf: Shelf, request: Request, seen: int | None, name: str, lines: list[int]) -> None:
    try:
        shelf.post(request, seen=seen)
    except ShortShelfError as error:
        line = dict(zip(request.movements, lines, strict=True))
        raise InputError(
            *(Problem(str(short), name, line[short.movement]) for short in error.shortages)
        ) from None


def _changes(rows: list[Counted], mode: Mode, standing: dict[Part, Balance]) -> Iterator[Change]:
    for row in rows:
        there = standing.get(row.part)
        before = there.on_hand if there else 0
        after = row.number + before * (mode == "add")
        yield Change(row.part, before, after, new=there is None)


def _untold(rows: list[Counted], standing: dict[Part, Balance]) -> tuple[Balance, ...]:
    stated_parts = {row.part for row in rows}
    return tuple(
        sorted((one for part, one in standing.items() if part not in stated_parts), key=in_order)
    )
