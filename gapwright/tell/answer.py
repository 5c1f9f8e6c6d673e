"""The JSON of `tell`: what measured parts are, each key declared once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from gapwright.output.answers import Answer, key
from gapwright.tell.belongs import belongs_with
from gapwright.tell.next_measurement import next_measurements
from gapwright.tell.pile import sort_pile
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.tell.service import Identification


def share(value: float) -> float:
    """Round a chance, or a sum of chances, to six decimals; more of it is worth nothing."""
    return round(value, 6)


class SizeAnswer(Answer):
    """A size of a family."""

    family: str = key(lambda candidate: candidate.family)
    """The family."""
    size: str | None = key(lambda candidate: candidate.size)
    """The size; null for a family made in one thickness."""


class CanBeAnswer(SizeAnswer):
    """A size that a part can be."""

    lowest: Length = key(lambda candidate: candidate.low)
    """The least such a part may measure."""
    highest: Length = key(lambda candidate: candidate.high)
    """The most it may measure."""
    share: float
    """The chance that the part is of this size, from 0 to 1."""


class NearestSizeAnswer(SizeAnswer):
    """The size that a part out of limits is nearest to."""

    off: Length
    """By how much the part is thicker than it may be; below zero: thinner."""


class ShownAnswer(Answer):
    """What some sizes show of a feature."""

    value: str
    """What is seen then."""
    shown_by: list[str]
    """The sizes that show it."""


class LookAnswer(Answer):
    """Something to look at or to measure next."""

    kind: Literal["feature", "gauge"]
    """Which of the two it is."""
    name: str
    """The feature or the gauge."""
    values: list[ShownAnswer] = key(
        lambda look: [ShownAnswer(value=value, shown_by=who) for value, who in look.values]
    )
    """Of a feature: what each size then shows."""
    then: float = key(lambda look: share(look.right))
    """The chance of being right about the part then, from 0 to 1."""


class PartToldAnswer(Answer):
    """What is known of one part."""

    part: str | None = key(lambda identified: identified.part.label)
    """What a list calls it."""
    line: int | None = key(lambda identified: identified.part.line or None)
    """The line of the list it stands in."""
    read: Length = key(lambda identified: identified.part.thickness)
    """Its thickness, the average over its places."""
    gauge: str | None = key(lambda identified: identified.part.gauge)
    """The gauge it was measured with."""
    seen: dict[str, str] = key(lambda identified: dict(identified.part.seen))
    """What is seen of it, by feature."""
    condition: Literal["new", "used"] = key(
        lambda identified: "used" if identified.part.used else "new"
    )
    """Whether it is new or was in a unit."""
    verdict: Literal["told", "between", "out of limits", "unknown"]
    """What to make of it; `unknown`: no part of the unit is as seen."""
    can_be: list[CanBeAnswer] = key(
        lambda identified: [
            CanBeAnswer(candidate=one.candidate, share=share(one.share))
            for one in identified.shares
        ]
    )
    """The sizes it can be, the likeliest first."""
    nearest: NearestSizeAnswer | None = key(
        lambda identified: (
            identified.nearest
            and NearestSizeAnswer(candidate=identified.nearest, off=identified.off)
        )
    )
    """Out of limits: the size it is nearest to."""
    standing: Literal["good", "in doubt", "worn"] | None
    """Of a used or an uneven part that is told: whether it may be used."""
    because: list[str] = key(lambda identified: [ground.words for ground in identified.grounds])
    """What keeps it from being used, in words."""
    belongs: list[str] = key(
        lambda identified: (
            [*belongs_with(identified.teller.case, identified.candidate)]
            if identified.shares
            else []
        )
    )
    """What it goes with, in words."""
    next: list[LookAnswer] = key(
        lambda identified: [LookAnswer(look) for look in next_measurements(identified)]
    )
    """What to look at or to measure next, what tells most first."""


class SortedLotAnswer(SizeAnswer):
    """Parts told to be of one size."""

    parts: int = key(lambda lot: len(lot.identified))
    """How many."""
    thinnest: Length
    """The least that was read."""
    thickest: Length
    """The most that was read."""
    wrong: float = key(lambda lot: share(lot.wrong))
    """How many of them are to be expected to be of another size."""


class PileAnswer(Answer, shape="gapwright tell 1"):
    """Which parts of a unit measured parts are."""

    unit: str = key(lambda pile: pile.teller.case.unit.name)
    """The unit's name."""
    sure: float = key(lambda pile: share(pile.teller.sure))
    """The chance from which a part is told, from 0 to 1."""
    parts: list[PartToldAnswer] = key(lambda pile: [PartToldAnswer(one) for one in pile.identified])
    """The parts in the order given."""
    lots: list[SortedLotAnswer] = key(
        lambda pile: [SortedLotAnswer(lot, candidate=lot.candidate) for lot in pile.lots]
    )
    """Those that are told, by size."""


ANSWERS = {"tell": (PileAnswer,)}


def part_answer(identified: Identification) -> PileAnswer:
    """Return the declared answer of one part, as a pile of one."""
    return PileAnswer(sort_pile(identified.teller, [identified.part]))
