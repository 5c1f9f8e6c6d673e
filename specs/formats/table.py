"""One reader for every table that a spreadsheet saves, and the writer beside it.

Columns are separated by semicolons, tabs or commas, whichever the first line has most of; a line
`sep=;` before it says so outright. Empty lines are skipped. The line reported of a row is the one
it begins in, although a cell in quotes may go on over several.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, shortened
from specs.formats.plain_file import opened

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path
    from typing import TextIO

MOST_COLUMNS = 1_000
YAML = (".yaml", ".yml")
FORMULA = tuple("=+-@'\uff1d\uff0b\uff0d\uff20")  # the last four: full-width, in Japanese tables
_DELIMITERS = {";": "semicolon", "\t": "tab", ",": "comma"}
_STATED = re.compile(r"sep=([,;\t])")
_NOT_UTF_8 = re.compile("[\udc80-\udcff]")  # how `surrogateescape` hands on a byte that is none


@dataclass(frozen=True, slots=True)
class Table:
    """A table while it is read: the names in its header, and its rows one after the other."""

    file: str
    line: int
    """The line of the header."""
    names: tuple[str, ...]
    delimiter: str
    rows: Iterator[tuple[int, list[str]]]
    """Each row with the line it begins in; empty cells beyond the header are left out."""

    def problem(self, sentence: str, line: int = 0, column: str = "") -> Problem:
        """Build the problem of a row, or of the header where no line is given."""
        return Problem(sentence, self.file, line or self.line, column)

    def header_problems(self) -> list[Problem]:
        """Return the problems of the header: columns without a name, and names that stand twice."""
        twice = [name for name, times in Counter(self.names).items() if name and times > 1]
        problems = [f'two columns are called "{shortened(name)}"; keep one' for name in twice]
        if "" in self.names:
            nameless = self.names.index("") + 1
            problems.append(f"column {nameless} has no name; name it or remove it")
        return [self.problem(sentence) for sentence in problems]

    def misfit(self, cells: Sequence[str]) -> str:
        """Say how a row differs from the header in its number of cells; empty where it does not."""
        if len(cells) == len(self.names):
            return ""
        found = f"found {len(cells)} cells; the header names {len(self.names)} columns"
        if len(cells) < len(self.names):
            return found
        sign = _DELIMITERS[self.delimiter]
        decimal = ", such as a number with a decimal comma," if self.delimiter == "," else ""
        return f"{found}: put a text that holds a {sign}{decimal} in quotes"


@contextmanager
def open_table(
    source: Path | bytes, file: str = "", most_bytes: int | None = None, kind: str = "table"
) -> Iterator[Table]:
    """Open a table to read it row after row, as a context manager.

    Parameters
    ----------
    source
        The path of the table, or its bytes.
    file
        Its name in messages; that of the path unless given.
    most_bytes
        How large it may be; None for any size.
    kind
        The noun for it in messages.

    Yields
    ------
    Table
        The table. Its cells come without the blanks around them.

    Raises
    ------
    InputError
        Where it is no table, also later while its rows are read: with the line, what was found and
        what to do.
    """
    file = file or str(source)
    if file.lower().endswith(YAML):
        found = f"found a YAML file; a {kind} is a table as a spreadsheet saves it (CSV)"
        raise InputError(Problem(found, file))
    with _opened(source) as stream:
        _check(stream, file, most_bytes, kind)
        lines = _lines(stream, file)
        skipped, first = 0, ""
        for first in lines:
            if first.strip():
                break
            skipped += 1
        stated = _STATED.fullmatch(first.strip(" \r\n"))
        delimiter = stated[1] if stated else max(_DELIMITERS, key=first.count)
        before = () if stated else (first,)
        rows = _rows(chain(before, lines), file, delimiter, skipped + bool(stated))
        line, names = next(rows, (0, []))
        if not names:
            sentence = f"this {kind} is empty; its first line names the columns"
            raise InputError(Problem(sentence, file))
        if len(names) > MOST_COLUMNS:
            found = f"names {len(names)} columns, and a table has at most {MOST_COLUMNS}"
            raise InputError(Problem(f"{found}: check that it is the right file", file, line))
        fitting = ((at, _without_empty_end(cells, len(names))) for at, cells in rows)
        yield Table(file, line, tuple(names), delimiter, fitting)


def write_table(rows: Iterable[Iterable[object]]) -> str:
    """Write rows as a table that `open_table` reads back, with commas and CR LF (RFC 4180)."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue()


def defused(text: str) -> str:
    """Put an apostrophe before a text that begins like a formula, so that nothing runs it."""
    return f"'{text}" if text.startswith(FORMULA) else text


def undefused(text: str) -> str:
    """Return a text as it was before `defused`."""
    return text[1:] if text[:1] == "'" and text[1:2] in FORMULA else text


@contextmanager
def _opened(source: Path | bytes) -> Iterator[TextIO]:
    raw = nullcontext(io.BytesIO(source)) if isinstance(source, bytes) else opened(source)
    with (
        raw as stream,
        io.TextIOWrapper(
            stream, encoding="utf-8-sig", errors="surrogateescape", newline=""
        ) as text,
    ):
        yield text


def _check(stream: TextIO, file: str, most_bytes: int | None, kind: str) -> None:
    if stream.buffer.read(2) in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(Problem("is UTF-16: save it as CSV in UTF-8", file))
    if most_bytes is not None and stream.buffer.seek(0, io.SEEK_END) > most_bytes:
        most = f"{most_bytes // 1_000_000} MB"
        raise InputError(Problem(f"this {kind} is over {most}; part it in several", file))
    stream.buffer.seek(0)


def _lines(stream: TextIO, file: str) -> Iterator[str]:
    """Yield the lines one by one: a long table need not stand in memory."""
    for number, line in enumerate(stream, 1):
        if _NOT_UTF_8.search(line):
            sentence = "holds a character that is not UTF-8: save it as CSV in UTF-8"
            raise InputError(Problem(sentence, file, number))
        yield line


def _rows(
    lines: Iterable[str], file: str, delimiter: str, skipped: int
) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    begins = skipped + 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, [cell.strip() for cell in cells]
            begins = skipped + reader.line_num + 1
    except csv.Error as error:
        sentence = f"cannot be read as a table ({error}); check its quotation marks"
        raise InputError(Problem(sentence, file, begins)) from None


def _without_empty_end(cells: list[str], width: int) -> list[str]:
    while len(cells) > width and not cells[-1]:
        cells.pop()
    return cells
