"""The shapes the brute force thinks in: places, layouts, fillings, and what it says of a job.

Lengths are whole numbers, multiplied by what makes all lengths of the job whole, except in what
is said: that is in nanometres.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from specs.models.case import Case

Old = Counter[Any]
"""What lies at a place now, by what tells parts apart."""
Space = Callable[[Case, str, str], Fraction]
"""The space of a gap in a layout."""
Key = tuple[str, bool, int]
"""A level: its measure, and for thin steels whether the pack shifts and which grade."""
Parts = tuple[tuple[int, ...], ...]
Told = tuple[tuple[str, dict[str, tuple[object, ...]]], ...]
"""For each gap the layout's name, and at each label what tells its parts from others."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place whose part is chosen: what may lie there and what each takes from the gap."""

    label: str
    takes: dict[int, int]
    how_many: tuple[int, int]
    heat: int
    weight: int
    shared: str
    old: Old | None
    """What lies there now, by what tells parts apart; None where the job does not say."""


@dataclass(frozen=True, slots=True)
class Stack:
    """A layout with the window that applies to it."""

    name: str
    rank: int
    room: int
    low: int | None
    high: int | None
    aim: int
    width: int
    nearest: bool
    slots: tuple[Slot, ...]
    moved: int
    """What changes at places whose part is not chosen here."""

    def miss(self, gap: int) -> int:
        """How far a gap lies outside the window."""
        under = 0 if self.low is None else self.low - gap
        over = 0 if self.high is None else gap - self.high
        return max(0, under, over)


def differ(new: Old, old: Old) -> int:
    """How many parts go in or come out, whichever is more."""
    return max((new - old).total(), (old - new).total())


@dataclass(frozen=True, slots=True, eq=False)
class Filling:
    """One assignment of parts to the places of one gap."""

    stack: Stack
    order: tuple[int, Parts]
    gap: int
    uses: Counter[int]
    shares: dict[str, int]


Assignment = tuple[Filling, ...]


@dataclass(frozen=True, slots=True)
class Best:
    """The best build: the value of every level in order, lengths in nanometres."""

    values: dict[Key, Fraction]
    build: Told
    gaps: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Nearest:
    """How near no fit comes: each gap alone (its miss and gap, in nanometres), all together."""

    alone: tuple[tuple[Fraction, Fraction] | None, ...]
    together: tuple[int, int] | None
    """The largest miss in ten-thousandths of its window's width, and their sum."""
