"""One reader for every table: columns however parted, and each fault with its line."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from gapwright.tell.parts_table import read_list
from gapwright.tell.service import Measured
from inventory.sheet import read_sheet
from specs.errors import InputError
from specs.files.history import read_history
from specs.files.job_table import read_job_table
from specs.formats.table import defused, open_table, undefused, write_table

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

READERS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "history": (
        "low|count|high\n.400|2|.300\n.401|1|\n",
        lambda path: (past := read_history(path, "in")).columns + tuple(past.rows.items()),
    ),
    "jobs": (
        "job|length|low drum / gap\nJ-1|in|.041 .042\nJ-2|in|\n",
        lambda path: [(one.data, one.lines) for one in read_job_table(path)],
    ),
    "pile": (
        "part|thickness|teeth\nbox 1|.0655 .0657|36\nbox 2|.0880|\n",
        lambda path: read_list(path, "in", Measured(at=()), ["teeth"], []),
    ),
    "counts": (
        "family|size|count|thickness (in)\ndrum ring|.0620|4|\ndrum ring|.0700|1|.0699\n",
        lambda path: read_sheet(path.read_bytes(), path.name),
    ),
}


@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize("sign", [";", "\t", ","])
@pytest.mark.parametrize("head", ["", "\ufeff", "\n \n", "sep={}\n"])
def test_every_table_may_be_parted_by_any_of_three_signs(
    tmp_path: Path, kind: str, sign: str, head: str
) -> None:
    text, read = READERS[kind]
    plain, other = tmp_path / "plain.csv", tmp_path / "other.csv"
    plain.write_text("\n" * head.count("\n") + text.replace("|", ";"), encoding="utf-8")
    other.write_bytes((head.format(sign) + text.replace("|", sign)).replace("\n", "\r\n").encode())
    assert str(read(plain)) == str(read(other))


def faults(folder: Path, raw: bytes) -> str:
    path = folder / "t.csv"
    path.write_bytes(raw)
    try:
        with open_table(path, most_bytes=10_000_000) as table:
            problems = table.header_problems()
            problems += [table.problem(table.misfit(cells), n) for n, cells in table.rows]
    except InputError as refused:
        problems = [*refused.problems]
    told = "\n".join(str(one) for one in problems if one.sentence)
    return told.replace(f"{folder}/", "")


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "t.csv: this table is empty; its first line names the columns"),
        (b"\n \n", "t.csv: this table is empty; its first line names the columns"),
        (b"\na,a,\n", 't.csv:2: two columns are called "a"; keep one'),
        (b"\na,b,,\n", "t.csv:2: column 3 has no name; name it or remove it"),
        (b"a;b\n1\n", "t.csv:2: found 1 cells; the header names 2 columns"),
        (
            b"a;b\n1;2;3\n",
            "found 3 cells; the header names 2 columns: put a text that holds",
        ),
        (b"a,b\n1,2,3\n", "a comma, such as a number with a decimal comma, in quotes"),
        (b'a,b\n"1\n2",3\n4\n', "t.csv:4: found 1 cells"),
        (b'a,b\n1,2\n"3,4\n5,6\n', "t.csv:3: cannot be read as a table (unexpected end of data)"),
        (b"a,b\n1,2\n\xe4,4\n", "t.csv:3: holds a character that is not UTF-8: save it as CSV in"),
        ("a,b\n".encode("utf-16"), "t.csv: is UTF-16: save it as CSV in UTF-8"),
        (b"a" * 10_000_001, "t.csv: this table is over 10 MB; part it in several"),
        (b"a," * 499_999 + b"a\n", "t.csv:1: names 500000 columns, and a table has at most 1000"),
        (b'"' + b"9" * 100_000 + b'",x,x\n', 't.csv:1: two columns are called "x"; keep one'),
    ],
)
def test_each_fault_has_one_sentence_with_its_line(tmp_path: Path, raw: bytes, says: str) -> None:
    before = time.monotonic()
    told = faults(tmp_path, raw)
    assert says in told
    assert len(told) < 1_000
    assert time.monotonic() - before < 5  # half a million columns were counted for minutes


def test_a_yaml_file_is_called_one(tmp_path: Path) -> None:
    file = tmp_path / "unit.YAML"
    file.write_text("length: in\nunit:\n", encoding="utf-8")
    with pytest.raises(InputError, match="found a YAML file; a history is a table"):  # noqa: SIM117
        with open_table(file, kind="history"):
            pass


def test_empty_cells_beyond_the_header_are_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("a,b\n1,2,,\n,,,\n3,4\n", encoding="utf-8")
    with open_table(path) as table:
        assert [*table.rows] == [(2, ["1", "2"]), (4, ["3", "4"])]


def test_what_is_written_is_read_back() -> None:
    rows = [["a", "b"], ['say "x"', "1,2"], ["two\nlines", "=1+1"]]
    text = write_table([list(map(defused, row)) for row in rows])
    with open_table(text.encode(), "t.csv") as table:
        read = [[*table.names], *([undefused(cell) for cell in cells] for _, cells in table.rows)]
    assert read == rows
    assert "'=1+1" in text
