"""One section of a file by itself: a unit to name parts by, a shelf to take counts from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.checks.case import worded
from specs.checks.unit import unit_findings
from specs.errors import InputError, Problem, refusal
from specs.files.parse import take_file
from specs.formats.yaml import parse, read
from specs.models.case import Origin
from specs.models.unit import Unit

if TYPE_CHECKING:
    from pathlib import Path

    from specs.files.parse import Taken
    from specs.models.shelf import Shelf


def read_unit(path: Path) -> tuple[Unit, Origin]:
    """Read a unit and where it stands; raises InputError with every problem found."""
    taken = take_file(read(path))
    origin = _origin(taken, "unit")
    unit = taken.file.unit
    if isinstance(unit, Unit) and not taken.problems:
        taken.problems += worded(origin, list(unit_findings(unit)), [])
    _check(taken, "unit")
    if not isinstance(unit, Unit):
        raise InputError(_absent(taken, "unit"))
    return unit, origin


def shelf_of(raw: bytes, file: str) -> tuple[Shelf, Origin]:
    """Take the text of a shelf file and where it stands; InputError with every problem found."""
    taken = take_file(parse(raw, file))
    _check(taken, "shelf")
    if not isinstance(taken.file.shelf, dict):
        raise InputError(_absent(taken, "shelf"))
    return taken.file.shelf, _origin(taken, "shelf")


def _origin(taken: Taken, section: str) -> Origin:
    return Origin(taken.source, section, taken.file.length)


def _check(taken: Taken, section: str) -> None:
    problems = [one for one in taken.problems if not one.field or one.field.startswith(section)]
    if problems:
        raise refusal(problems)


def _absent(taken: Taken, section: str) -> Problem:
    sentence = f"this file holds no {section}; write it under the key `{section}`, or name another"
    return Problem(sentence, taken.source.file)
