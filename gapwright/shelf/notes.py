"""What a shelf's notes say for its own use: the units it was used with, and its reorder points."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from inventory.movements import Note, Request
from specs.errors import InputError, Problem, shortened, visible
from specs.values.codes import canonical
from specs.values.lengths import Length, exact, parse_exact

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory import Shelf
    from specs.models.case import Origin
    from specs.models.families import Family
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit

    UnitFile = tuple[Unit, Origin]

UNIT, REORDER = "unit", "reorder"
"""The kinds of these notes, which are about a unit's name, and about a family and a size."""


@dataclass(frozen=True, slots=True)
class KnownSize:
    """A size of a remembered unit: its thickness, what its parts may measure, and its mark."""

    thickness: Length
    low: Length
    high: Length
    mark: str


@dataclass(frozen=True, slots=True)
class KnownUnit:
    """What a shelf remembers of a unit's file."""

    length: LengthUnit
    """The unit of a bare thickness."""
    families: dict[str, dict[str, KnownSize]]


def remember(shelf: Shelf, unit: Unit, origin: Origin, who: str) -> None:
    """Note the families and sizes of a unit on a shelf, where they are not what stands there."""
    name = unit.name if origin.written(("name",)) else Path(origin.source.file).name
    note = Note(UNIT, shortened(visible(name)), _text(unit, origin.length or "mm"))
    if [one.note for one in shelf.notes(UNIT, note.about)] != [note]:
        shelf.post(Request(uuid4().hex, who, "unit", (), (note,)))


def known_units(shelf: Shelf) -> list[KnownUnit]:
    """Return the units that a shelf was used with, each as its file stood last."""
    return [_known_unit(one.note, shelf.name) for one in shelf.notes(UNIT)]


def _text(unit: Unit, length: LengthUnit) -> str:
    families = {
        family: {name: _plain(one, name, length) for name in one.sizes}
        for family, one in unit.families.items()
    }
    return canonical({"length": length, "families": families})


def _plain(family: Family, name: str, length: LengthUnit) -> list[str]:
    size = family.sizes[name]
    within = family.stated_tolerance
    low, high = size.thickness.low, size.thickness.high
    ends = (size.nominal if low is None else low) - within, (high or size.nominal) + within
    return [*(exact(one, length) for one in (size.nominal, *ends)), size.mark or ""]


def _known_unit(note: Note, shelf: str) -> KnownUnit:
    with _as_noted(note, shelf):
        data = json.loads(note.text)
        families = {
            family: {name: _known(*values) for name, values in sizes.items()}
            for family, sizes in data["families"].items()
        }
        return KnownUnit(data["length"], families)


def reorder_note(family: str, size: str, number: int) -> Note:
    """Write that a size is short where fewer than `number` are free; never, where it is 0."""
    return Note(REORDER, canonical([family, size]), str(number))


def reorder_points(shelf: Shelf) -> dict[tuple[str, str], int]:
    """Return of each family and size that has a reorder point below how many it is short."""
    points = {}
    for one in shelf.notes(REORDER):
        with _as_noted(one.note, shelf.name):
            family, size = json.loads(one.note.about)
            points[str(family), str(size)] = int(one.note.text)
    return {size: number for size, number in points.items() if number}


@contextmanager
def _as_noted(note: Note, shelf: str) -> Iterator[None]:
    """Raise InputError where the `with` block cannot read a note as it was written."""
    try:
        yield
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        sentence = f"its note {note.kind} on {shortened(note.about)} is not what gapwright writes"
        raise InputError(Problem(f"{sentence}; try `gapwright shelf verify`", shelf)) from error


def _known(thickness: str, low: str, high: str, mark: str) -> KnownSize:
    return KnownSize(parse_exact(thickness), parse_exact(low), parse_exact(high), mark)
