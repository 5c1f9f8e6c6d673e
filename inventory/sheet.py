"""Counts as a spreadsheet keeps them, in CSV: read as people's programs write it, and written.

A cell that begins like a formula is written behind an apostrophe, and read without it: what a
label says must not be worked out by the next program that opens it.
"""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.counted import Counted, exact
from inventory.movements import MOST_AT_ONCE, Part
from specs.errors import InputError, Problem, quoted, refusal
from specs.findings import near, nearest
from specs.formats.table import MOST_COLUMNS, check_width
from specs.values.lengths import LengthError, parse_length
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from inventory.movements import Balance
    from specs.values.lengths import Length, Unit

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
FORMULA = tuple("=+-@'\uff1d\uff0b\uff0d\uff20")  # the last four: full-width, in Japanese tables
MOST_BYTES = 200_000_000
_IN = re.compile(r"(.+?) ?(?:\bin |[(\[])(in|mm|thou)[)\]]?")
_SEP = re.compile(r"sep=([,;\t])")


@dataclass(frozen=True, slots=True)
class _Columns:
    """Which column is which, and the unit of bare thicknesses."""

    at: dict[str, int]
    width: int
    unit: Unit | None

    def cell(self, cells: Sequence[str], name: str) -> str:
        """The text of a row under a name; empty where there is none."""
        at = self.at.get(name, len(cells))
        text = cells[at].strip() if at < len(cells) else ""
        return text[1:] if text[:1] == "'" and text[1:2] in FORMULA else text


class _SlipError(ValueError):
    """What is wrong with a cell."""


def read_sheet(raw: bytes, file: str, unit: Unit | None = None) -> list[Counted]:
    """Read the rows of a CSV file; InputError with every row that cannot be taken."""
    rows = _rows(_decoded(raw, file), file)
    line, header = next(rows, (1, []))
    check_width(header, file, line)
    columns = _columns(header, file, line, unit)
    found: list[Counted] = []
    problems: list[Problem] = []
    for line, cells in rows:
        try:
            found.append(_counted(columns, cells, line))
        except _SlipError as slip:
            problems.append(Problem(str(slip), file, line))
    if problems:
        raise refusal(problems, file)
    return found


def write_sheet(balances: Iterable[Balance], unit: Unit) -> str:
    """Write lots as CSV that `read_sheet` reads back the same."""
    text = io.StringIO(newline="")
    sheet = csv.writer(text)
    sheet.writerow(HEADERS)
    for balance in balances:
        part = balance.part
        thickness = exact(part.thickness, unit) if part.thickness else ""
        reserved = json.dumps(dict(balance.holders), ensure_ascii=False) if balance.holders else ""
        row = (part.family, part.size, str(balance.on_hand), thickness, part.condition, part.bin)
        sheet.writerow(map(defused, (*row, part.label, reserved)))
    return text.getvalue()


def defused(text: str) -> str:
    """Keep a spreadsheet from taking a text for a formula."""
    return f"'{text}" if text.startswith(FORMULA) else text


def _decoded(raw: bytes, file: str) -> str:
    if len(raw) > MOST_BYTES:
        raise InputError(Problem("is larger than 200 MB: check that it is the right file", file))
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(Problem("is UTF-16: save it as CSV in UTF-8", file))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1
        sentence = "holds a character that is not UTF-8: save it as CSV in UTF-8"
        raise InputError(Problem(sentence, file, line)) from None


def _rows(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Every row that is not empty, with the line it begins in, cut where its header says."""
    lines = io.StringIO(text, newline="")
    skipped, first = 0, ""
    while not first.strip() and (line := lines.readline()):
        skipped, first = skipped + 1, line
    told = _SEP.fullmatch(first.strip())
    sheet = csv.reader(
        lines if told else (line for part in ((first,), lines) for line in part),
        delimiter=told[1] if told else _delimiter(first),
        strict=True,
    )
    skipped -= not told
    begins = 1
    try:
        for cells in sheet:
            if any(cell.strip() for cell in cells):
                yield skipped + begins, cells
            begins = sheet.line_num + 1
    except csv.Error as error:
        sentence = f"a quote or a cell is left open ({error}): mend the row"
        raise InputError(Problem(sentence, file, skipped + begins)) from None


def _delimiter(header: str) -> str:
    def known(delimiter: str) -> int:
        cells = header.split(delimiter, MOST_COLUMNS)
        return sum(_named(cell)[0] in CALLED for cell in cells[:MOST_COLUMNS])

    return max(",;\t", key=known)


def _named(cell: str) -> tuple[str, Unit | None]:
    """A header in small letters, and the unit it names: `Thickness (mm)`."""
    text = " ".join(cell.strip().strip('"').replace("_", " ").lower().split())
    found = _IN.fullmatch(text)
    units: dict[str, Unit] = {"in": "in", "mm": "mm", "thou": "thou"}
    return (found[1], units[found[2]]) if found else (text, None)


def _columns(header: list[str], file: str, line: int, unit: Unit | None) -> _Columns:
    at: dict[str, int] = {}
    slips = []
    for nth, cell in enumerate(header):
        text, stated = _named(cell)
        name = CALLED.get(text, text)
        if name in at and name != NOTE:
            slips.append(f'"{cell.strip()}" is a second column of {name}; keep one')
        elif text and text not in CALLED:
            slips.append(f"{_unknown(text)} A column called `note` is left out.")
        at[name] = nth
        unit = stated if stated and name == "thickness" else unit
    lacking = [name for name in NEEDED if name not in at]
    if lacking:
        slips.append(
            f"found no column {', '.join(lacking)}; the first line names the columns: "
            f"{', '.join(HEADERS)}"
        )
    if slips:
        raise InputError(*(Problem(slip, file, line) for slip in slips))
    return _Columns(at, len(header), unit)


def _unknown(header: str) -> str:
    close = nearest(header, [*CALLED])
    meant = f'did you mean "{close}"?' if close else f"the columns are {', '.join(HEADERS)}."
    return f"{quoted(header)}; {meant}"


def _counted(columns: _Columns, cells: list[str], line: int) -> Counted:
    if any(cell.strip() for cell in cells[columns.width :]):
        wide = f"has {len(cells)} cells under {columns.width} columns"
        raise _SlipError(f"{wide}: put a text that holds a comma, or a decimal comma, in quotes")
    text = {name: columns.cell(cells, name) for name in HEADERS}
    condition = text["condition"].lower() or "new"
    if condition not in ("new", "used"):
        raise _SlipError(f"condition: {near(condition, ['new', 'used'], 'conditions')}")
    part = Part(
        text["family"], text["size"], _thickness(text["thickness"], columns.unit),
        "used" if condition == "used" else "new", text["bin"], text["lot"],
    )  # fmt: skip
    counted = Counted(part, _whole("count", text["count"]), _reserved(text["reserved"]), line)
    for slip in counted.slips():
        raise _SlipError(slip)
    return counted


def _whole(name: str, text: str) -> int:
    if not re.fullmatch("[0-9]{1,9}", text):
        raise _SlipError(f"{name}: {quoted(text)}; write a whole number from 0 to {MOST_AT_ONCE}")
    return int(text)


@lru_cache(maxsize=10_000)
def _thickness(text: str, unit: Unit | None) -> Length | None:
    if not text:
        return None
    try:
        length = parse_length(text, unit)
        check_proportion(length, "part", text, unit)
    except LengthError as error:
        asked = ", or --lengths mm for the whole file" * ("has no unit" in str(error))
        raise _SlipError(f"thickness: {error}{asked}") from None
    return length


def _reserved(text: str) -> dict[str, int]:
    if not text.startswith("{"):
        return {"": _whole("reserved", text)} if text.strip("0") else {}
    try:
        found = json.loads(text)
        return {str(job): _whole("reserved", str(number)) for job, number in found.items()}
    except ValueError:
        raise _SlipError(f'reserved: {quoted(text)}; write {{"J-1042": 1}}') from None
