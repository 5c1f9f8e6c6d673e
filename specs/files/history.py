"""A history of drums: a CSV file with one drum a row and one space or reading a column.

Equal rows are counted, so a long history needs no more memory than its different rows. A column
named `count` says how many drums a row stands for.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, quoted
from specs.formats.table import open_table
from specs.values.lengths import Length, LengthError, parse_length

if TYPE_CHECKING:
    from pathlib import Path

    from specs.formats.table import Table
    from specs.values.lengths import LengthUnit

COUNT = "count"
"""The column that says how many drums a row stands for."""
MOST_ROWS = 2_000_000
MOST_PROBLEMS = 20
"""After so many problems no further row is checked."""


@dataclass(frozen=True, slots=True)
class Uncounted:
    """A kept job that does not count; the others do."""

    job: str
    """Its name, or that of its file where it states none or cannot be read."""
    problem: Problem

    @property
    def why(self) -> str:
        """The reason, with the file and the line."""
        return str(self.problem)


@dataclass(frozen=True, slots=True)
class History:
    """Drums as they were read in the past."""

    file: str
    """The name of the file, for messages."""
    columns: tuple[str, ...]
    """The spaces and readings that have a column."""
    rows: Counter[tuple[Length | None, ...]]
    """How many drums had these lengths, in the columns' order; None where one was not read."""
    uncounted: tuple[Uncounted, ...] = ()
    """Of a history of jobs: those that do not count."""

    def column(self, name: str) -> Counter[Length]:
        """Count the drums that had each length of one column."""
        at = self.columns.index(name)
        found: Counter[Length] = Counter()
        for row, count in self.rows.items():
            length = row[at]
            if length is not None:
                found[length] += count
        return found


def read_history(path: Path, unit: LengthUnit | None) -> History:
    """Read a history for `cover` and for the planning of kits and shelves.

    Parameters
    ----------
    path
        The CSV file.
    unit
        The unit of bare numbers in it; None to refuse them.

    Returns
    -------
    History
        Its different rows, each with the number of its drums.

    Raises
    ------
    InputError
        With what is wrong with the header, or with the rows until `MOST_PROBLEMS` are found.
    """
    with open_table(path, kind="history") as table:
        problems = table.header_problems()
        if problems:
            raise InputError(*problems)
        reading = _Reading(table, unit)
        for line, cells in table.rows:
            reading.take(cells, line)
    return reading.history()


class _Reading:
    """A history while its rows are read, one after the other."""

    def __init__(self, table: Table, unit: LengthUnit | None) -> None:
        self.table, self.columns, self.unit = table, table.names, unit
        self.problems: list[Problem] = []
        self.rows: Counter[tuple[str, ...]] = Counter()
        self.known: dict[str, Length | None] = {"": None}

    def take(self, cells: list[str], line: int) -> None:
        """Read one row."""
        if len(self.problems) >= MOST_PROBLEMS:
            return
        misfit = self.table.misfit(cells)
        if misfit:
            self.problems.append(self.table.problem(misfit, line))
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
        self.problems.append(self.table.problem(f"{quoted(cell)}; {wanted}", line, COUNT))
        return 0

    def _length(self, name: str, cell: str, line: int) -> Length | None:
        try:
            return parse_length(cell, self.unit)
        except LengthError as error:
            self.problems.append(self.table.problem(str(error), line, name))
            return None

    def history(self) -> History:
        """Return the history; raise InputError where a row could not be read."""
        if self.problems:
            raise InputError(*self.problems)
        names = tuple(name for name in self.columns if name != COUNT)
        rows: Counter[tuple[Length | None, ...]] = Counter()
        for cells, count in self.rows.items():
            if count:
                rows[tuple(self.known[cell] for cell in cells)] += count
        return History(self.table.file, names, rows)
