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
from specs.errors import InputError, Problem, listed, quoted, refusal
from specs.findings import near
from specs.formats.table import check_width, table_lines
from specs.values.lengths import LengthError, parse_length
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from specs.values.lengths import Length, Unit

MOST_PLACES = 24


class SlipError(ValueError):
    """What is wrong with one value, and what to write instead."""


def read_list(
    path: Path, unit: Unit | None, usual: Measured, features: Sequence[str], gauges: Sequence[str]
) -> tuple[Measured, ...]:
    """Read every row; `usual` holds for what a row leaves unsaid. InputError with all problems."""
    lines = list(table_lines(path))
    if len(lines) < 2:  # noqa: PLR2004 - a header and a row
        sentence = "this list is empty; its first line names the columns, `thickness` among them"
        raise InputError(Problem(sentence, str(path)))
    (first, header), *rows = lines
    check_width(header, str(path), first)
    names = [name.strip() for name in header]
    problems = [Problem(sentence, str(path), first) for sentence in _header_slips(names, features)]
    if problems:
        raise refusal(problems)
    parts = []
    for line, cells in rows:
        try:
            row = _row(names, cells)
            parts.append(_part(row, unit, replace(usual, line=line), gauges))
        except SlipError as slip:
            problems.append(Problem(str(slip), str(path), line))
    if problems:
        raise refusal(problems)
    return tuple(parts)


def _header_slips(names: list[str], features: Sequence[str]) -> list[str]:
    slips = []
    if "thickness" not in names:
        slips.append(f"no column is called `thickness`; the first line has {listed(names)}")
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            slips.append(f'two columns are called "{name}"; keep one')
        if name not in LISTED and name not in features:
            slips.append(near(name, [*LISTED, *features], "the columns may be"))
    return slips


def _row(names: list[str], cells: list[str]) -> dict[str, str]:
    if len(cells) != len(names):
        raise SlipError(f"found {len(cells)} cells; the header names {len(names)} columns")
    return {name: cell.strip() for name, cell in zip(names, cells, strict=True) if cell.strip()}


def _part(
    row: Mapping[str, str], unit: Unit | None, usual: Measured, gauges: Sequence[str]
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


def shape(name: str, text: str | None, unit: Unit | None) -> Length | None:
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


def places(text: str, unit: Unit | None) -> tuple[Length, ...]:
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
