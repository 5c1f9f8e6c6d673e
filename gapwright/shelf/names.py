"""The families and sizes a ledger knows, from its lots and from the units it was used with.

One size has one name on a shelf: `.070` and `.0700` are the same, and so are a size's name, its
mark and its thickness where a unit says so. A name that is nearly a known one is doubted before
anything is posted.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from uuid import uuid4

from inventory.movements import Note, Request
from specs.errors import InputError, Problem, quoted, shortened, visible
from specs.findings import misspelt, plain
from specs.values.codes import canonical
from specs.values.lengths import Length, LengthError, exact, parse_exact, parse_length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from inventory import Shelf
    from inventory.movements import Balance
    from specs.models.case import Origin
    from specs.models.families import Family
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit

    UnitFile = tuple[Unit, Origin]

UNIT = "unit"
"""The kind of a ledger's notes on the units it was used with, which are about a unit's name."""
AS_NEW = "if it is new all the same, say so: --new"
CLOSEST = 500
"""Numbers closer to each other than one part in so many are the same size, measured."""


class DoubtfulNameError(InputError):
    """A name is nearly one that is known; nothing was posted."""

    def __init__(
        self,
        file: str,
        what: Literal["family", "size"],
        written: str,
        near: tuple[str, ...],
        advice: str = "",
    ) -> None:
        self.what, self.written, self.near = what, written, near
        meant = " or ".join(f'"{shortened(one)}"' for one in near)
        sentence = f"{quoted(written)}; did you mean {meant}?{f' {advice}' if advice else ''}"
        super().__init__(Problem(sentence, file))


@dataclass(frozen=True, slots=True)
class KnownSize:
    """A size of a remembered unit: its thickness, what its parts may measure, and its mark."""

    thickness: Length
    low: Length
    high: Length
    mark: str


@dataclass(frozen=True, slots=True, eq=False)
class KnownUnit:
    """What a ledger remembers of a unit's file."""

    length: LengthUnit
    families: dict[str, dict[str, KnownSize]]

    def size(self, family: str, text: str) -> str:
        """Return the name of the size that a name, a mark or a thickness means; empty for none."""
        sizes = self.families.get(family, {})
        ways: tuple[Callable[[str], bool], ...] = (
            lambda name: name == text,
            lambda name: _same(name, text),
            lambda name: sizes[name].mark == text,
            lambda name: sizes[name].thickness == self._thickness(text),
        )
        found = ([name for name in sizes if way(name)] for way in ways)
        return next((names[0] for names in found if len(names) == 1), "")

    def measured(self, family: str, text: str) -> list[str]:
        """Return the sizes whose parts may measure what a text says."""
        thickness = self._thickness(text)
        if thickness is None:
            return []
        sizes = self.families.get(family, {}).items()
        return [name for name, size in sizes if size.low <= thickness <= size.high]

    def _thickness(self, text: str) -> Length | None:
        try:
            return parse_length(text, self.length)
        except LengthError:
            return None


class Names:
    """The names of the families and sizes that a shelf knows."""

    def __init__(self, shelf: Shelf, balances: Iterable[Balance]) -> None:
        self._shelf = shelf.name
        self._units = [_read(one.note, shelf.name) for one in shelf.notes(UNIT)]
        self._on_hand: dict[str, Counter[str]] = {}
        for balance in balances:
            sizes = self._on_hand.setdefault(balance.part.family, Counter())
            sizes[balance.part.size] += balance.on_hand

    def called(
        self, family: str, size: str, *, doubt: bool = True, advice: str = ""
    ) -> tuple[str, str]:
        """Return the shelf's own names for a family and a size as somebody wrote them.

        Parameters
        ----------
        family, size
            The names as written. Those that the shelf does not know are returned as they are.
        doubt
            Whether to doubt a name that is nearly one that is known.
        advice
            What to do where it is no slip, for the message.

        Raises
        ------
        DoubtfulNameError
            Where a name is nearly one that is known.
        InputError
            Where a size is rather what a part of another size measured.
        """
        family = self._family(family, advice, doubt=doubt)
        return family, self._size(family, size, advice, doubt=doubt)

    def _family(self, written: str, advice: str, *, doubt: bool) -> str:
        known = {name: sizes.total() for name, sizes in self._on_hand.items()}
        others = {name for unit in self._units for name in unit.families}
        found = _named(written, known, others, lambda name: plain(name) == plain(written))
        near = misspelt(written, sorted({*known, *others})) if doubt and not found else ()
        if near:
            raise DoubtfulNameError(self._shelf, "family", written, near, advice)
        return found or written

    def _size(self, family: str, written: str, advice: str, *, doubt: bool) -> str:
        known = self._on_hand.get(family, Counter())
        others = {name for unit in self._units for name in unit.families.get(family, ())}
        meant = [(unit, unit.size(family, written)) for unit in self._units]

        def same(name: str) -> bool:
            told = (unit.size(family, name) == size for unit, size in meant if size)
            return _same(name, written) or any(told)

        found = _named(written, known, others, same)
        if found or not doubt:
            return found or written
        near = misspelt(written, sorted({*known, *others}))
        if near:
            raise DoubtfulNameError(self._shelf, "size", written, near, advice)
        measured = [name for unit in self._units for name in unit.measured(family, written)]
        measured += [name for name in known if _close(name, written)]
        if measured:
            raise InputError(Problem(_rather(family, written, measured[0], advice), self._shelf))
        return written


def _rather(family: str, written: str, size: str, advice: str) -> str:
    measured = f'write the size, and what it measured with --measured "{shortened(written)}"'
    sentence = f"{quoted(written)}; is it {family} {size}? {measured}"
    return sentence + f"; {advice}" * bool(advice)


def _named(
    written: str, known: Mapping[str, int], others: set[str], same: Callable[[str], bool]
) -> str:
    """Return the known name that is the same as a written one; empty where there is none.

    One that lots have comes before one of a unit's file, and one with parts on hand before others.
    """
    if written in known:
        return written
    alike = [name for name in sorted({*known, *others}) if name == written or same(name)]
    ranks = {name: (known.get(name, 0) > 0, name in known, name == written) for name in alike}
    return max(alike, key=lambda name: ranks[name], default="")


def _same(one: str, other: str) -> bool:
    """Say whether two sizes are the same word or the same number."""
    number = _number(one)
    return plain(one) == plain(other) or (number is not None and number == _number(other))


def _close(one: str, other: str) -> bool:
    """Say whether two numbers are as close as what a part measures is to its size."""
    first, second = _number(one), _number(other)
    if first is None or second is None:
        return False
    return abs(first - second) * CLOSEST < max(first, second)


@cache
def _number(size: str) -> Length | None:
    """Read a size as a length, a bare number as one of millimetres; None where it is a word."""
    try:
        return parse_length(size, "mm")
    except LengthError:
        return None


def remember(shelf: Shelf, unit: Unit, origin: Origin, who: str) -> None:
    """Note the families and sizes of a unit on a shelf, where they are not what stands there."""
    name = unit.name if origin.written(("name",)) else Path(origin.source.file).name
    note = Note(UNIT, shortened(visible(name)), _text(unit, origin.length or "mm"))
    if [one.note for one in shelf.notes(UNIT, note.about)] != [note]:
        shelf.post(Request(uuid4().hex, who, "unit", (), (note,)))


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


def _read(note: Note, shelf: str) -> KnownUnit:
    """Read what a shelf remembers of a unit. Raises InputError where it is not as it was noted."""
    try:
        data = json.loads(note.text)
        families = {
            family: {name: _known(*values) for name, values in sizes.items()}
            for family, sizes in data["families"].items()
        }
        return KnownUnit(data["length"], families)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        sentence = f'its note on the unit "{shortened(note.about)}" is not what gapwright writes'
        raise InputError(Problem(f"{sentence}; try `gapwright shelf verify`", shelf)) from error


def _known(thickness: str, low: str, high: str, mark: str) -> KnownSize:
    return KnownSize(parse_exact(thickness), parse_exact(low), parse_exact(high), mark)
