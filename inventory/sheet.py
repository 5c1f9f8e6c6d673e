"""Counts of lots as CSV, read as spreadsheet programs write it, and written.

A cell that begins like a formula is written behind an apostrophe and read without it, so that the
next program that opens the file does not evaluate the text of a label.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.counted import Counted, exact
from inventory.movements import MOST_AT_ONCE, Part
from specs.errors import InputError, quoted, refusal, shortened
from specs.findings import near, nearest
from specs.formats.table import defused, open_table, undefused, write_table
from specs.values.lengths import LengthError, parse_length
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from inventory.movements import Balance
    from specs.errors import Problem
    from specs.formats.table import Table
    from specs.values.lengths import Length, LengthUnit

HEADERS = ("family", "size", "count", "thickness", "condition", "bin", "lot", "reserved")
NEEDED = HEADERS[:3]
NOTE = "note"  # a column nobody reads
ALSO: dict[str, tuple[str, ...]] = {
    "family": ("part", "part family"),
    "count": ("counted", "number", "on hand", "pcs", "pieces", "qty", "quantity"),
    "thickness": ("measured", "measured thickness"),
    "bin": ("location",),
    "lot": ("label",),
    "reserved": ("reserved for",),
    NOTE: ("notes", "remark", "remarks", "comment", "comments"),
}
CALLED = {also: name for name, others in ALSO.items() for also in (name, *others)} | {
    name: name for name in HEADERS
}
MOST_BYTES = 200_000_000
_IN = re.compile(r"(.+?) ?(?:\bin |[(\[])(in|mm|thou)[)\]]?")


@dataclass(frozen=True, slots=True)
class _Columns:
    """The position of each column, and the unit of thicknesses written without one."""

    at: dict[str, int]
    unit: LengthUnit | None

    def cell(self, cells: Sequence[str], name: str) -> str:
        """Return a row's text in a named column; empty where the file has no such column."""
        at = self.at.get(name, len(cells))
        return undefused(cells[at]) if at < len(cells) else ""


class _CellError(ValueError):
    """A cell holds a value that cannot be taken."""


def read_sheet(raw: bytes, file: str, unit: LengthUnit | None = None) -> list[Counted]:
    """Read the lots of a CSV file.

    Parameters
    ----------
    raw
        The file's bytes.
    file
        The file's name, for messages.
    unit
        The unit of thicknesses written without one, where the column's header does not name it.

    Raises
    ------
    InputError
        With every row that cannot be taken, or with what is wrong with the file as a whole.
    """
    with open_table(raw, file, most_bytes=MOST_BYTES) as table:
        columns = _columns(table, unit)
        found: list[Counted] = []
        problems: list[Problem] = []
        for line, cells in table.rows:
            try:
                found.append(_counted(table, columns, cells, line))
            except _CellError as problem:
                problems.append(table.problem(str(problem), line))
    if problems:
        raise refusal(problems, file)
    return found


def write_sheet(balances: Iterable[Balance], unit: LengthUnit) -> str:
    """Write lots as CSV that `read_sheet` reads back the same; thicknesses in `unit`."""
    return write_table([HEADERS, *(map(defused, _row(balance, unit)) for balance in balances)])


def _row(balance: Balance, unit: LengthUnit) -> tuple[str, ...]:
    part = balance.part
    return (
        part.family,
        part.size,
        str(balance.on_hand),
        exact(part.thickness, unit) if part.thickness else "",
        part.condition,
        part.bin,
        part.label,
        json.dumps(dict(balance.holders), ensure_ascii=False) if balance.holders else "",
    )


def _named(cell: str) -> tuple[str, LengthUnit | None]:
    """Return a header in small letters, and the unit it names, as in `Thickness (mm)`."""
    text = " ".join(cell.strip().strip('"').replace("_", " ").lower().split())
    found = _IN.fullmatch(text)
    units: dict[str, LengthUnit] = {"in": "in", "mm": "mm", "thou": "thou"}
    return (found[1], units[found[2]]) if found else (text, None)


def _columns(table: Table, unit: LengthUnit | None) -> _Columns:
    at: dict[str, int] = {}
    problems = []
    for nth, cell in enumerate(table.names):
        text, stated = _named(cell)
        name = CALLED.get(text, text)
        if name in at and name != NOTE:
            problems.append(f'"{shortened(cell)}" is a second column of {name}; keep one')
        elif text and text not in CALLED:
            problems.append(f"{_unknown(text)} A column called `note` is left out.")
        at[name] = nth
        unit = stated if stated and name == "thickness" else unit
    lacking = [name for name in NEEDED if name not in at]
    if lacking:
        problems.append(
            f"found no column {', '.join(lacking)}; the first line names the columns: "
            f"{', '.join(HEADERS)}"
        )
    if problems:
        raise InputError(*map(table.problem, problems))
    return _Columns(at, unit)


def _unknown(header: str) -> str:
    close = nearest(header, [*CALLED])
    meant = f'did you mean "{close}"?' if close else f"the columns are {', '.join(HEADERS)}."
    return f"{quoted(header)}; {meant}"


def _counted(table: Table, columns: _Columns, cells: list[str], line: int) -> Counted:
    if len(cells) > len(table.names):
        raise _CellError(table.misfit(cells))
    text = {name: columns.cell(cells, name) for name in HEADERS}
    condition = text["condition"].lower() or "new"
    if condition not in ("new", "used"):
        raise _CellError(f"condition: {near(condition, ['new', 'used'], 'conditions')}")
    part = Part(
        text["family"], text["size"], _thickness(text["thickness"], columns.unit),
        "used" if condition == "used" else "new", text["bin"], text["lot"],
    )  # fmt: skip
    counted = Counted(part, _whole("count", text["count"]), _reserved(text["reserved"]), line)
    for problem in counted.problems():
        raise _CellError(problem)
    return counted


def _whole(name: str, text: str) -> int:
    if not re.fullmatch("[0-9]{1,9}", text):
        raise _CellError(f"{name}: {quoted(text)}; write a whole number from 0 to {MOST_AT_ONCE}")
    return int(text)


@lru_cache(maxsize=10_000)
def _thickness(text: str, unit: LengthUnit | None) -> Length | None:
    if not text:
        return None
    try:
        length = parse_length(text, unit)
        check_proportion(length, "part", text, unit)
    except LengthError as error:
        hint = ", or --lengths mm for the whole file" * ("has no unit" in str(error))
        raise _CellError(f"thickness: {error}{hint}") from None
    return length


def _reserved(text: str) -> dict[str, int]:
    if not text.startswith("{"):
        return {"": _whole("reserved", text)} if text.strip("0") else {}
    try:
        found = json.loads(text)
        return {str(job): _whole("reserved", str(number)) for job, number in found.items()}
    except ValueError:
        raise _CellError(f'reserved: {quoted(text)}; write {{"J-1042": 1}}') from None
