"""A table of readings, one drum a row, as a spreadsheet saves it: every row becomes a job.

    job;     priority; due;        low drum / depth;    gasket
    J-1042;  2;        2031-04-09; 1.204 1.205 1.203;   0.018

The header names the columns: `job`, `unit`, `shelf`, `priority`, `due`, `note`, `length`, a
reading that gaps share by its name, and what belongs to one gap as `GAP / READING`,
`GAP / layout`, or `GAP / trial` and `GAP / now` with the parts parted by blanks or semicolons. A
cell with several numbers is a reading at several places. An empty cell is a reading not taken.
"""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING, Any

from specs.errors import InputError, Problem, quoted, shortened
from specs.findings import nearest
from specs.formats.plain_file import content, opened
from specs.formats.yaml import Source

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

PLAIN = ("job", "unit", "shelf", "priority", "due", "note", "length")
MOST_BYTES, MOST_COLUMNS = 20_000_000, 1_000
LONGEST_HEAD = 20_000
BUILDS = ("trial", "now")


def is_table(path: Path) -> bool:
    """Whether a file begins as a table of drums does, whatever is wrong with the rest.

    One that cannot be read counts as one, so that what is wrong with it is told.
    """
    try:
        with opened(path) as file:
            head = file.readline(LONGEST_HEAD).decode("utf-8-sig")
    except (InputError, UnicodeDecodeError):
        return True
    return "job" in [name.strip().lower() for name in head.split(_delimiter(head))]


def read_rows(path: Path) -> list[Source]:
    """Read every row as a job; raises InputError with every bad row and its line."""
    lines = list(table_lines(path))
    if not lines:
        raise InputError(
            Problem("this table is empty; its first line names the columns", str(path))
        )
    (first, header), *rows = lines
    check_width(header, str(path), first)
    names = [name.strip() for name in header]
    problems = list(_header_problems(str(path), first, names))
    if problems:
        raise InputError(*problems)
    seen: dict[str, int] = {}
    sources = []
    for line, cells in rows:
        wrong = _row_problem(names, cells, seen, line)
        if wrong:
            problems.append(Problem(wrong, str(path), line))
        else:
            sources.append(_source(str(path), line, names, [cell.strip() for cell in cells]))
    if problems:
        raise InputError(*problems)
    if not sources:
        raise InputError(Problem("there is no row under the header", str(path)))
    return sources


def table_lines(path: Path) -> Iterator[tuple[int, list[str]]]:
    """The rows of a table that hold anything, each with the line it ends in."""
    raw = content(path, MOST_BYTES + 1)
    if len(raw) > MOST_BYTES:
        raise InputError(Problem("this table is over 20 MB; part it in several", str(path)))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        sentence = "is not UTF-8 text; save the table as CSV UTF-8"
        raise InputError(Problem(sentence, str(path), line)) from None
    head = next((line for line in text.splitlines() if line.strip()), "")
    reader = csv.reader(io.StringIO(text), delimiter=_delimiter(head), strict=True)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield reader.line_num, row
    except csv.Error as error:
        sentence = f"cannot be read as a table ({error}); check its quotation marks"
        raise InputError(Problem(sentence, str(path), reader.line_num)) from None


def check_width(header: Sequence[str], file: str, line: int) -> None:
    """Raise InputError for a header of more columns than anybody fills in."""
    if len(header) > MOST_COLUMNS:
        found = f"names {len(header)} columns, and a table has at most {MOST_COLUMNS}"
        raise InputError(Problem(f"{found}: check that it is the right file", file, line))


def _delimiter(head: str) -> str:
    """Of semicolon, tab and comma the one the header has most of."""
    return max(";\t,", key=head.count)


def _header_problems(file: str, line: int, names: list[str]) -> Iterator[Problem]:
    if "job" not in names:
        close = nearest("job", names)
        sentence = f'no column is called "job"; {f"rename {close}" if close else "add one"}'
        yield Problem(sentence, file, line)
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Problem(f'two columns are called "{shortened(name)}"; keep one', file, line)
    if "" in names:
        yield Problem(f"column {names.index('') + 1} has no name; name it or remove it", file, line)
    for name in names:
        wrong = name.lower() in PLAIN and name not in PLAIN
        if wrong:
            yield Problem(f'{quoted(name)}; write this column as "{name.lower()}"', file, line)


def _row_problem(names: list[str], cells: list[str], seen: dict[str, int], line: int) -> str:
    if len(cells) != len(names):
        return f"found {len(cells)} cells; the header names {len(names)} columns"
    job = cells[names.index("job")].strip()
    if not job:
        return "this row has no job; give it a number or a name"
    if job in seen:
        return f"{quoted(job)} stands in line {seen[job]} too; name every job once"
    seen[job] = line
    return ""


def _source(file: str, line: int, names: list[str], cells: list[str]) -> Source:
    """One row as a file of its own would hold it, every path in the row's line."""
    job: dict[str, Any] = {}
    data: dict[str, Any] = {"job": job}
    lines: dict[tuple[str | int, ...], int] = {(): line}
    for name, cell in zip(names, cells, strict=True):
        if not cell:
            continue
        path = _path(name)
        node = data
        for step in path[:-1]:
            node = node.setdefault(step, {})
        node[path[-1]] = _value(path, cell)
    return Source(file, data, lines)


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
    if of_gap in ("gap", "layout", *BUILDS):
        return ("job", "gaps", gap, of_gap)
    return ("job", "gaps", gap, "readings", of_gap)


def _value(path: tuple[str, ...], cell: str) -> Any:
    if path[-1] in BUILDS:
        parts = [part for part in re.split(r"[;\s]+", cell) if part]
        return cell if len(parts) == 1 and parts[0].isalpha() else parts
    if path[-1] == "gap" or "readings" in path:
        numbers = re.split(r"\s*;\s*|\s+(?=[-+.\d])", cell)
        return numbers if len(numbers) > 1 else cell
    return cell
