"""Histories of drums: what is read, what is counted, and what is refused with its line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from specs.errors import InputError
from specs.files.history import History, read_history
from specs.values.lengths import Length

if TYPE_CHECKING:
    from pathlib import Path

    from specs.values.lengths import LengthUnit

THOU = 25_400


def written(folder: Path, text: str, unit: LengthUnit = "in") -> History:
    path = folder / "past.csv"
    path.write_bytes(text.encode())
    return read_history(path, unit)


def test_equal_rows_are_counted(tmp_path: Path) -> None:
    past = written(tmp_path, "low,high\n.400,.300\n.400,.300\n.401,.300\n")
    assert past.columns == ("low", "high")
    assert past.rows == {
        (Length(400 * THOU), Length(300 * THOU)): 2,
        (Length(401 * THOU), Length(300 * THOU)): 1,
    }
    assert past.column("high") == {Length(300 * THOU): 3}


def test_lengths_written_in_two_ways_are_one_row(tmp_path: Path) -> None:
    assert len(written(tmp_path, "low\n.400\n0.4000 in\n400 thou\n").rows) == 1


def test_a_row_may_say_for_how_many_it_stands(tmp_path: Path) -> None:
    past = written(tmp_path, "count,low\n3,.400\n0,.401\n12,.402\n")
    assert past.column("low") == {Length(400 * THOU): 3, Length(402 * THOU): 12}


def test_what_was_not_read_is_left_empty(tmp_path: Path) -> None:
    past = written(tmp_path, "low,high\n.400,\n,.300\n\n,\n")
    assert past.column("low").total() == past.column("high").total() == 1


def test_spreadsheets_with_a_decimal_comma_part_by_semicolons(tmp_path: Path) -> None:
    past = written(tmp_path, "\ufefflow;high\r\n1,68;2,00\r\n", "mm")
    assert past.rows == {(Length(1_680_000), Length(2_000_000)): 1}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "past.csv: this history is empty; its first line names the columns"),
        ("low,,high\n", "past.csv:1: column 2 has no name; name it or remove it"),
        ("low,low\n", 'past.csv:1: two columns are called "low"; keep one'),
        ("low,high\n.400\n", "past.csv:2: found 1 cells; the header names 2 columns"),
        ("low\n.400\nabout .4\n", "past.csv:3: low: 'about .4' is no length"),
        ("low,count\n.400,many\n", 'past.csv:2: count: found "many"; write how many drums'),
        ('low\n".400\n', "past.csv:2: cannot be read as a table"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_line(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        written(tmp_path, text)
    assert says in str(refused.value)


def test_all_problems_are_told_at_once_but_no_flood(tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        written(tmp_path, "low\n" + "\n".join(f"x{n}" for n in range(99)))
    assert len(refused.value.problems) == 20


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "past.csv"
    path.write_bytes(b"low\n\xff\xfe")
    with pytest.raises(InputError, match=":2: holds a character that is not UTF-8"):
        read_history(path, "in")
