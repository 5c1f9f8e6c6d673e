"""A pile sorted: how many there are of each size, which are between sizes, which are none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.tell.next_measurement import Look, next_looks

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.tell.candidates import Candidate
    from gapwright.tell.service import Measured, Teller, Told
    from specs.values.lengths import Length


@dataclass(frozen=True, slots=True)
class SortedLot:
    """Parts told to be of one size."""

    candidate: Candidate
    told: tuple[Told, ...]

    @property
    def wrong(self) -> float:
        """How many of them are to be expected to be of another size."""
        return sum(one.wrong for one in self.told)

    @property
    def thinnest(self) -> Length:
        """The least that was read."""
        return min(one.part.thickness for one in self.told)

    @property
    def thickest(self) -> Length:
        """The most that was read."""
        return max(one.part.thickness for one in self.told)


@dataclass(frozen=True, slots=True)
class Between:
    """Parts that may be of several sizes, and what would part them."""

    candidates: tuple[Candidate, ...]
    told: tuple[Told, ...]
    looks: tuple[Look, ...]


@dataclass(frozen=True, slots=True)
class Pile:
    """All parts, sorted."""

    told: tuple[Told, ...]
    lots: tuple[SortedLot, ...]
    """In the order of the unit file, what is no part of a stack last."""
    between: tuple[Between, ...]
    out: tuple[Told, ...]
    """Out of limits, or unknown to the unit."""


def sort_pile(teller: Teller, parts: Iterable[Measured]) -> Pile:
    """Tell every part and put those of a size together."""
    told = tuple(teller.tell(part) for part in parts)
    lots: dict[Candidate, list[Told]] = {}
    open_: dict[tuple[Candidate, ...], list[Told]] = {}
    for one in told:
        if one.verdict == "told":
            lots.setdefault(one.candidate, []).append(one)
        elif one.verdict == "between":
            key = tuple(sorted((s.candidate for s in one.shares), key=lambda c: (c.low, str(c))))
            open_.setdefault(key, []).append(one)
    every = [(one.family, one.size) for one in teller.every()]
    order = sorted(lots, key=lambda one: every.index((one.family, one.size)))
    return Pile(
        told,
        tuple(SortedLot(one, tuple(lots[one])) for one in order),
        tuple(_between(teller, key, tuple(some)) for key, some in open_.items()),
        tuple(one for one in told if one.verdict in ("out of limits", "unknown")),
    )


def _between(teller: Teller, candidates: tuple[Candidate, ...], told: tuple[Told, ...]) -> Between:
    """What would part them is worked out for the one that is hardest to tell."""
    hardest = max(told, key=lambda one: one.wrong)
    return Between(candidates, told, next_looks(teller, hardest))
