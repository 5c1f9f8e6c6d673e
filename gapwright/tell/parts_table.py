"""The list of measured parts: a table with a row for each part, as a spreadsheet saves it.

    part;  thickness;   gauge;   condition; flatness; found;               teeth
    box 1; .0655 .0657; caliper; used;      .0020;    hot spots + scuffing; 36

Only `thickness` is needed; blanks separate the values of several places. Columns that are not in
`LISTED` are features that the unit file names.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from gapwright.tell.service import Measured
from specs.checks.families import LISTED
from specs.errors import Problem, listed, quoted, refusal
from specs.findings import near
from specs.formats.table import open_table
from specs.values.lengths import LengthError, parse_length
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from specs.formats.table import Table
    from specs.values.lengths import Length, LengthUnit

MOST_BYTES = 20_000_000
MOST_PLACES = 24


class RowError(ValueError):
    """One value that cannot be taken, with what to write instead."""


def read_list(
    path: Path,
    unit: LengthUnit | None,
    usual: Measured,
    features: Sequence[str],
    gauges: Sequence[str],
) -> tuple[Measured, ...]:
    """Read the parts of a list.

    Parameters
    ----------
    path
        The list's file.
    unit
        The unit of lengths written without one.
    usual
        A part whose values stand for those that a row leaves out.
    features
        The names of the features that the unit file states; each may be a column.
    gauges
        The names of the gauges that are known.

    Raises
    ------
    InputError
        With every row that cannot be taken, or with what is wrong with the header.
    """
    with open_table(path, most_bytes=MOST_BYTES, kind="list") as table:
        problems = [*table.header_problems(), *map(table.problem, _unknown(table.names, features))]
        if problems:
            raise refusal(problems)
        parts = []
        for line, cells in table.rows:
            try:
                parts.append(_part(_row(table, cells), unit, replace(usual, line=line), gauges))
            except RowError as slip:
                problems.append(table.problem(str(slip), line))
    if not parts and not problems:
        problems = [Problem("there is no row under the header", table.file)]
    if problems:
        raise refusal(problems)
    return tuple(parts)


def _unknown(names: Sequence[str], features: Sequence[str]) -> Iterator[str]:
    """Yield a sentence for each column that a list of parts does not take."""
    if "thickness" not in names:
        yield f"no column is called `thickness`; the first line has {listed(names)}"
    for name in dict.fromkeys(names):
        if name and name not in LISTED and name not in features:
            yield near(name, [*LISTED, *features], "the columns may be")


def _row(table: Table, cells: list[str]) -> dict[str, str]:
    misfit = table.misfit(cells)
    if misfit:
        raise RowError(misfit)
    return {name: cell for name, cell in zip(table.names, cells, strict=True) if cell}


def _part(
    row: Mapping[str, str], unit: LengthUnit | None, usual: Measured, gauges: Sequence[str]
) -> Measured:
    if "thickness" not in row:
        raise RowError("this row has no thickness; measure the part, or take the row out")
    condition = row.get("condition", "used" if usual.used else "new")
    if condition not in ("new", "used"):
        raise RowError(f"condition: {near(condition, ['new', 'used'], 'write')}")
    if condition == "new" and {"flatness", "coning", "found"} & row.keys():
        raise RowError("flatness, coning and found are of used parts; write used for condition")
    gauge = row.get("gauge", usual.gauge)
    check_gauge(gauge, gauges)
    seen = dict(usual.seen) | {name: value for name, value in row.items() if name not in LISTED}
    return Measured(
        at=places(row["thickness"], unit),
        gauge=gauge,
        seen=tuple(seen.items()),
        used=condition == "used",
        flat=shape("flatness", row["flatness"], unit) if "flatness" in row else usual.flat,
        cone=shape("coning", row["coning"], unit) if "coning" in row else usual.cone,
        found=_findings(row.get("found", "")) or usual.found,
        label=row.get("part", ""),
        line=usual.line,
    )


def _findings(text: str) -> tuple[str, ...]:
    """Split a text into findings, which semicolons or plus signs separate."""
    return tuple(one.strip() for one in re.split("[;+]", text) if one.strip())


def shape(name: str, text: str | None, unit: LengthUnit | None) -> Length | None:
    """Read how far a part is out of flat, or coned. Raises RowError for no such length.

    Parameters
    ----------
    name
        The column or option, for messages.
    text
        The length as written; None gives None.
    unit
        The unit of a length written without one.
    """
    if text is None:
        return None
    try:
        length = parse_length(text, unit)
        check_proportion(length, "tolerance", text, unit)
    except LengthError as error:
        raise RowError(f"{name}: {error}") from None
    return length


def check_gauge(name: str, gauges: Sequence[str]) -> None:
    """Raise RowError for a gauge that is neither usual nor of the unit file."""
    if name and name not in gauges:
        raise RowError(f"gauge: {near(name, gauges, 'the gauges known are')}")


def check_used(part: Measured) -> None:
    """Raise RowError where wear is stated of a part that is not called used."""
    if not part.used and (part.flat or part.cone or part.found):
        raise RowError("--flatness, --coning and --found go with --used; add it")


def places(text: str, unit: LengthUnit | None) -> tuple[Length, ...]:
    """Read one thickness, or one for each place, separated by blanks. Raises RowError."""
    texts = re.split(r"\s+(?=[-+.\d])", text)
    if "(" in text:  # both units of one thickness
        texts = [text]
    if len(texts) > MOST_PLACES:
        raise RowError(f"thickness: {quoted(text)}; write no more than {MOST_PLACES} places")
    try:
        found = tuple(parse_length(one, unit) for one in texts)
        for one, length in zip(texts, found, strict=True):
            check_proportion(length, "part", one, unit)
    except LengthError as error:
        raise RowError(f"thickness: {error}") from None
    return found
