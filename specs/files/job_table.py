"""A table of readings, one drum a row, as a spreadsheet saves it: every row becomes a job.

    job;     priority; due;        low drum / depth;    gasket
    J-1042;  2;        2031-04-09; 1.204 1.205 1.203;   0.018

The header names the columns: `job`, `unit`, `shelf`, `priority`, `due`, `note`, `length`,
`trial parts`, a reading that gaps share by its name, and the readings and choices of one gap as
`GAP / READING`, `GAP / layout`, `GAP / trial parts`, or `GAP / trial` and `GAP / now` with their
parts separated by blanks or semicolons.
A cell with several numbers is a reading at several places. An empty cell is a reading not taken.
`proud .012` in a gap's cell says how far its ring stands proud, `stops .008` that this blade is the
thinnest and does not go. In a trial build `left out` stands for a place left empty.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from specs.errors import InputError, Problem, quoted
from specs.findings import nearest
from specs.formats.table import open_table
from specs.formats.yaml import Source

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from specs.formats.table import Table

PLAIN = ("job", "unit", "shelf", "priority", "due", "note", "length", "trial parts")
MOST_BYTES = 20_000_000
BUILDS = ("trial", "now")
PART = re.compile(r"left\s+out|[^;\s]+")
TOLD = re.compile(r"(proud|stops)\s+(\S.*)")


def is_job_table(path: Path) -> bool:
    """Say whether a file begins as a table of jobs does, whatever is wrong with its rows.

    A file that cannot be read counts as one, so that `read_job_table` reports what is wrong.
    """
    try:
        with open_table(path, most_bytes=MOST_BYTES) as table:
            return "job" in [name.lower() for name in table.names]
    except InputError:
        return True


def holds_jobs(path: Path) -> bool:
    """Say whether a file can be read as a table and begins as one of jobs does."""
    try:
        with open_table(path, most_bytes=MOST_BYTES) as table:
            return "job" in [name.lower() for name in table.names]
    except InputError:
        return False


def read_job_table(path: Path) -> list[Source]:
    """Read a table of jobs.

    Parameters
    ----------
    path
        The table, as CSV of at most 20 MB.

    Returns
    -------
    list of Source
        One for each row, as if the row were a job file of its own; each knows its line.

    Raises
    ------
    InputError
        With every bad row and its line, or with what is wrong with the header.
    """
    rows = [*job_rows(path)]
    problems = [row for row in rows if isinstance(row, Problem)]
    sources = [row for row in rows if isinstance(row, Source)]
    if problems:
        raise InputError(*problems)
    return sources


def job_rows(path: Path) -> Iterator[Source | Problem]:
    """Read a table of jobs row by row, each good or bad by itself.

    Parameters
    ----------
    path
        The table, as CSV of at most 20 MB.

    Yields
    ------
    Source or Problem
        Each row as if it were a job file of its own, or what is wrong with it.

    Raises
    ------
    InputError
        With what is wrong with the header, where no row is under it, or where it is no table.
    """
    with open_table(path, most_bytes=MOST_BYTES) as table:
        problems = list(_header_problems(table))
        if problems:
            raise InputError(*problems)
        seen: dict[str, int] = {}
        line = 0
        for line, cells in table.rows:
            wrong = table.misfit(cells) or _row_problem(table.names, cells, seen, line)
            yield table.problem(wrong, line) if wrong else _source(table, line, cells)
        if not line:
            raise InputError(Problem("there is no row under the header", table.file))


def _header_problems(table: Table) -> Iterator[Problem]:
    if "job" not in table.names:
        close = nearest("job", table.names)
        sentence = f'no column is called "job"; {f"rename {close}" if close else "add one"}'
        yield table.problem(sentence)
    yield from table.header_problems()
    for name in table.names:
        if name.lower() in PLAIN and name not in PLAIN:
            yield table.problem(f'{quoted(name)}; write this column as "{name.lower()}"')


def _row_problem(names: tuple[str, ...], cells: list[str], seen: dict[str, int], line: int) -> str:
    job = cells[names.index("job")]
    if not job:
        return "this row has no job; give it a number or a name"
    if job in seen:
        return f"{quoted(job)} stands in line {seen[job]} too; name every job once"
    seen[job] = line
    return ""


def _source(table: Table, line: int, cells: list[str]) -> Source:
    """Turn one row into what a file of its own would hold, every path in the row's line."""
    job: dict[str, Any] = {}
    data: dict[str, Any] = {"job": job}
    lines: dict[tuple[str | int, ...], int] = {(): line}
    for name, cell in zip(table.names, cells, strict=True):
        if not cell:
            continue
        path = _path(name)
        node = data
        for step in path[:-1]:
            node = node.setdefault(step, {})
        node[path[-1]] = _value(path, cell)
    return Source(table.file, data, lines)


def _path(name: str) -> tuple[str, ...]:
    if name in ("unit", "shelf", "length"):
        return (name,)
    if name == "job":
        return ("job", "name")
    if name in PLAIN:
        return ("job", name)
    gap, slash, of_gap = (part.strip() for part in name.partition("/"))
    if not slash:
        return ("job", "readings", name)
    if of_gap in ("gap", "layout", "trial parts", *BUILDS):
        return ("job", "gaps", gap, of_gap)
    return ("job", "gaps", gap, "readings", of_gap)


def _value(path: tuple[str, ...], cell: str) -> Any:
    if path[-1] in BUILDS:
        parts = [" ".join(part.split()) for part in PART.findall(cell)]
        return cell if len(parts) == 1 and parts[0].isalpha() else parts
    if path[-1] == "gap" or "readings" in path:
        told = TOLD.fullmatch(cell)
        if told:
            return {told[1]: told[2]}
        numbers = re.split(r"\s*;\s*|\s+(?=[-+.\d])", cell)
        return numbers if len(numbers) > 1 else cell
    return cell
