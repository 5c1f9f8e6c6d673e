"""The families and sizes a ledger knows, from its lots and from the units it was used with.

One size has one name on a shelf: `.070` and `.0700` are the same, and so are a size's name, its
mark and its thickness where a unit says so. A name that is nearly a known one is doubted before
anything is posted.
"""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import TYPE_CHECKING, Literal

from gapwright.shelf.notes import known_units, reorder_points
from specs.errors import InputError, Problem, quoted, shortened
from specs.findings import misspelt, plain
from specs.values.lengths import LengthError, parse_length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from gapwright.shelf.notes import KnownUnit
    from inventory import Shelf
    from inventory.movements import Balance
    from specs.values.lengths import Length

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


class Names:
    """The names of the families and sizes that a shelf knows."""

    def __init__(self, shelf: Shelf, balances: Iterable[Balance]) -> None:
        self._shelf = shelf.name
        self._units = known_units(shelf)
        self._on_hand: dict[str, Counter[str]] = {}
        on_hand = [((one.part.family, one.part.size), one.on_hand) for one in balances]
        for (family, size), number in (*on_hand, *((named, 0) for named in reorder_points(shelf))):
            self._on_hand.setdefault(family, Counter())[size] += number

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
        meant = [(unit, _size_of(unit, family, written)) for unit in self._units]

        def same(name: str) -> bool:
            told = (_size_of(unit, family, name) == size for unit, size in meant if size)
            return _same(name, written) or any(told)

        found = _named(written, known, others, same)
        if found or not doubt:
            return found or written
        near = misspelt(written, sorted({*known, *others}))
        if near:
            raise DoubtfulNameError(self._shelf, "size", written, near, advice)
        measured = [name for unit in self._units for name in _measuring(unit, family, written)]
        measured += [name for name in known if _close(name, written)]
        if measured:
            raise InputError(Problem(_rather(family, written, measured[0], advice), self._shelf))
        return written


def _size_of(unit: KnownUnit, family: str, text: str) -> str:
    """Return the size of a unit that a name, a mark or a thickness means; empty for none."""
    sizes, thickness = unit.families.get(family, {}), _thickness(unit, text)
    ways: tuple[Callable[[str], bool], ...] = (
        lambda name: name == text,
        lambda name: _same(name, text),
        lambda name: sizes[name].mark == text,
        lambda name: sizes[name].thickness == thickness,
    )
    found = ([name for name in sizes if way(name)] for way in ways)
    return next((names[0] for names in found if len(names) == 1), "")


def _measuring(unit: KnownUnit, family: str, text: str) -> list[str]:
    """Return the sizes of a unit whose parts may measure what a text says."""
    thickness = _thickness(unit, text)
    if thickness is None:
        return []
    sizes = unit.families.get(family, {}).items()
    return [name for name, size in sizes if size.low <= thickness <= size.high]


def _thickness(unit: KnownUnit, text: str) -> Length | None:
    try:
        return parse_length(text, unit.length)
    except LengthError:
        return None


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
