"""A history of drums: a CSV file with one drum a row and one space or reading a column.

Equal rows are counted. A column named `count` says how many drums a row stands for. Columns are
parted by commas, or by semicolons where the first line has one, as spreadsheets with a decimal
comma write them.
"""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from io import TextIOWrapper
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, quoted, shortened
from specs.formats.plain_file import opened
from specs.formats.table import check_width
from specs.values.lengths import Length, LengthError, parse_length

if TYPE_CHECKING:
    from pathlib import Path
    from typing import TextIO

    from specs.values.lengths import Unit

COUNT = "count"
MOST_ROWS = 2_000_000
MOST_PROBLEMS = 20


@dataclass(frozen=True, slots=True)
class History:
    """Drums as read in the past."""

    file: str
    columns: tuple[str, ...]
    rows: Counter[tuple[Length | None, ...]]
    """How many drums had these lengths, in the order of the columns; None where none was read."""

    def column(self, name: str) -> Counter[Length]:
        """How many drums had each length of one column."""
        at = self.columns.index(name)
        found: Counter[Length] = Counter()
        for row, count in self.rows.items():
            length = row[at]
            if length is not None:
                found[length] += count
        return found


def read_history(path: Path, unit: Unit | None) -> History:
    """Read a history; a bare number is in `unit`. Raises InputError with every problem found."""
    try:
        with opened(path) as raw, TextIOWrapper(raw, encoding="utf-8-sig", newline="") as file:
            return _read(file, str(path), unit)
    except UnicodeDecodeError:
        raise InputError(
            Problem("this is no UTF-8 text; save it as CSV, UTF-8", str(path))
        ) from None


def _read(file: TextIO, name: str, unit: Unit | None) -> History:
    """Take line after line: a million drums need no more room than the spaces that differ."""
    first = file.readline()
    file.seek(0)
    lines = csv.reader(file, delimiter=";" if ";" in first else ",", strict=True)
    try:
        columns = tuple(cell.strip() for cell in next(lines, []))
        _check_columns(columns, name)
        reading = _Reading(name, columns, unit)
        for line in lines:
            reading.take(line, lines.line_num)
    except csv.Error as error:
        raise InputError(Problem(f"this is no CSV: {error}", name, lines.line_num)) from None
    return reading.history()


def _check_columns(columns: tuple[str, ...], file: str) -> None:
    check_width(columns, file, 1)
    wanted = "name each column by its gap or reading in the first line"
    if not columns or not all(columns):
        raise InputError(Problem(f"found a column without a name; {wanted}", file, 1))
    twice = [name for name, times in Counter(columns).items() if times > 1]
    if twice:
        raise InputError(
            Problem(f"found the column {shortened(twice[0])} twice; {wanted}", file, 1)
        )


class _Reading:
    """The rows as far as they are read."""

    def __init__(self, file: str, columns: tuple[str, ...], unit: Unit | None) -> None:
        self.file, self.columns, self.unit = file, columns, unit
        self.problems: list[Problem] = []
        self.rows: Counter[tuple[str, ...]] = Counter()
        self.known: dict[str, Length | None] = {"": None}

    def take(self, cells: list[str], line: int) -> None:
        """Take one row; an empty line is passed over."""
        cells = [cell.strip() for cell in cells]
        if not any(cells) or len(self.problems) >= MOST_PROBLEMS:
            return
        if len(cells) != len(self.columns):
            found = f"found {len(cells)} values; the first line names {len(self.columns)} columns"
            self.problems.append(Problem(found, self.file, line))
            return
        count = 1
        for name, cell in zip(self.columns, cells, strict=True):
            if name == COUNT:
                count = self._count(cell, line)
            elif cell not in self.known:
                self.known[cell] = self._length(name, cell, line)
        lengths = [c for name, c in zip(self.columns, cells, strict=True) if name != COUNT]
        self.rows[tuple(lengths)] += count

    def _count(self, cell: str, line: int) -> int:
        if cell.isdecimal() and cell.isascii() and len(cell) <= len(str(MOST_ROWS)):
            return int(cell)
        wanted = "write how many drums the row stands for, such as 3"
        self.problems.append(Problem(f"{quoted(cell)}; {wanted}", self.file, line, COUNT))
        return 0

    def _length(self, name: str, cell: str, line: int) -> Length | None:
        try:
            return parse_length(cell, self.unit)
        except LengthError as error:
            self.problems.append(Problem(str(error), self.file, line, name))
            return None

    def history(self) -> History:
        """All that was read; raises InputError where some of it could not be."""
        if self.problems:
            raise InputError(*self.problems)
        names = tuple(name for name in self.columns if name != COUNT)
        rows: Counter[tuple[Length | None, ...]] = Counter()
        for cells, count in self.rows.items():
            if count:
                rows[tuple(self.known[cell] for cell in cells)] += count
        return History(self.file, names, rows)
