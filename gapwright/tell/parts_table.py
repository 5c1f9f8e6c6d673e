"""A list of measured parts: a table with a part a row, as a spreadsheet saves it.

    part;  thickness;   gauge;   condition; flatness; found;               teeth
    box 1; .0655 .0657; caliper; used;      .0020;    hot spots + scuffing; 36

`thickness` is needed, several places parted by blanks. Columns that are not `LISTED` are features
that the unit file names.
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


class SlipError(ValueError):
    """What is wrong with one value, and what to write instead."""


def read_list(
    path: Path,
    unit: LengthUnit | None,
    usual: Measured,
    features: Sequence[str],
    gauges: Sequence[str],
) -> tuple[Measured, ...]:
    """Read every row; `usual` holds for what a row leaves unsaid. InputError with all problems."""
    with open_table(path, most_bytes=MOST_BYTES, kind="list") as table:
        problems = [*table.header_problems(), *map(table.problem, _unknown(table.names, features))]
        if problems:
            raise refusal(problems)
        parts = []
        for line, cells in table.rows:
            try:
                parts.append(_part(_row(table, cells), unit, replace(usual, line=line), gauges))
            except SlipError as slip:
                problems.append(table.problem(str(slip), line))
    if not parts and not problems:
        problems = [Problem("there is no row under the header", table.file)]
    if problems:
        raise refusal(problems)
    return tuple(parts)


def _unknown(names: Sequence[str], features: Sequence[str]) -> Iterator[str]:
    """Say of the header what a list of parts does not take."""
    if "thickness" not in names:
        yield f"no column is called `thickness`; the first line has {listed(names)}"
    for name in dict.fromkeys(names):
        if name and name not in LISTED and name not in features:
            yield near(name, [*LISTED, *features], "the columns may be")


def _row(table: Table, cells: list[str]) -> dict[str, str]:
    misfit = table.misfit(cells)
    if misfit:
        raise SlipError(misfit)
    return {name: cell for name, cell in zip(table.names, cells, strict=True) if cell}


def _part(
    row: Mapping[str, str], unit: LengthUnit | None, usual: Measured, gauges: Sequence[str]
) -> Measured:
    if "thickness" not in row:
        raise SlipError("this row has no thickness; measure the part, or take the row out")
    condition = row.get("condition", "used" if usual.used else "new")
    if condition not in ("new", "used"):
        raise SlipError(f"condition: {near(condition, ['new', 'used'], 'write')}")
    if condition == "new" and {"flatness", "coning", "found"} & row.keys():
        raise SlipError("flatness, coning and found are of used parts; write used for condition")
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
        found=findings(row.get("found", "")) or usual.found,
        label=row.get("part", ""),
        line=usual.line,
    )


def findings(text: str) -> tuple[str, ...]:
    """What was seen, one thing after a semicolon or a plus."""
    return tuple(one.strip() for one in re.split("[;+]", text) if one.strip())


def shape(name: str, text: str | None, unit: LengthUnit | None) -> Length | None:
    """How far a part is out of flat or coned; SlipError for what is no such length."""
    if text is None:
        return None
    try:
        length = parse_length(text, unit)
        check_proportion(length, "tolerance", text, unit)
    except LengthError as error:
        raise SlipError(f"{name}: {error}") from None
    return length


def check_gauge(name: str, gauges: Sequence[str]) -> None:
    """Raise SlipError for a gauge the unit file says nothing of."""
    if name and name not in gauges:
        raise SlipError(f"gauge: {near(name, gauges, 'the gauges of the unit file are')}")


def check_used(part: Measured) -> None:
    """Raise SlipError where wear is told of parts that nobody called used."""
    if not part.used and (part.flat or part.cone or part.found):
        raise SlipError("--flatness, --coning and --found go with --used; add it")


def places(text: str, unit: LengthUnit | None) -> tuple[Length, ...]:
    """One thickness, or one for each place, parted by blanks; SlipError with what is wrong."""
    texts = re.split(r"\s+(?=[-+.\d])", text)
    if "(" in text:  # both units of one thickness
        texts = [text]
    if len(texts) > MOST_PLACES:
        raise SlipError(f"thickness: {quoted(text)}; write no more than {MOST_PLACES} places")
    try:
        found = tuple(parse_length(one, unit) for one in texts)
        for one, length in zip(texts, found, strict=True):
            check_proportion(length, "part", one, unit)
    except LengthError as error:
        raise SlipError(f"thickness: {error}") from None
    return found
