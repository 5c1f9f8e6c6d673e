"""Suspected causes of a gap that is not as promised, for the technician to look at.

In the drum: a part more or fewer than listed, one of another size, two that were swapped, plates
of a look-alike family, a ring on the inner face of its groove. At the bench: the suspected mistakes
of a reading. Each moves the gap by a known length, and is listed where that length explains the
difference.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.gaps.suspected_mistakes import INCH, lying, other_families, suspected_mistakes
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from specs.gaps.built import Built
    from specs.models.case import Case
    from specs.parts.lookup import NamedPart


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that may have happened."""

    words: str
    """The cause as it is printed, with the gap it is in."""
    shifts: dict[str, Length]
    """For each gap it moves, how much more than promised the gap then measures."""


@dataclass(frozen=True, slots=True)
class _Lying:
    """A chosen part of a build."""

    gap: str
    label: str
    part: NamedPart
    opens: Fraction
    """How far the gap opens for each length the part is thinner."""
    shared: str
    """The shared part it is, which lies in other gaps too; empty for others."""


def suspected_causes(case: Case, gaps: list[Built]) -> list[Cause]:
    """List the single causes that would explain the gaps of a job.

    Parameters
    ----------
    case
        The case.
    gaps
        Its gaps as measured after assembly.

    Returns
    -------
    list of Cause
        The causes that explain every gap they move, at least one of which the doubt of both sides
        does not explain.
    """
    found: dict[str, Cause] = {}
    for cause in _everything(case, gaps):
        moved = [one for one in gaps if one.gap in cause.shifts]
        explains = all(one.explained_by(cause.shifts[one.gap]) for one in moved)
        if explains and any(not one.explained for one in moved):
            found.setdefault(cause.words, cause)
    return [*found.values()]


def _everything(case: Case, gaps: list[Built]) -> Iterator[Cause]:
    yield from _swapped(case, gaps)
    for one in gaps:
        yield from _number(case, one)
        yield from _other_size(case, one, gaps)
        yield from _other_family(case, one)
    for one in gaps:
        yield from _read(case, one)


def _number(case: Case, one: Built) -> Iterator[Cause]:
    """Yield a part fewer or more than listed, and a ring on the inner face of its groove."""
    layout = one.layout
    for place, label in zip(layout.stack, layout.labels, strict=True):
        for words, thickness in lying(case, place, label, one.listed):
            opened = thickness * place.factor * layout.sign
            yield Cause(f"{one.gap}: one {words} fewer than listed", {one.gap: opened})
            yield Cause(f"{one.gap}: one {words} more than listed", {one.gap: -opened})
            widest = place.groove.takes.high if place.groove else None
            if widest is not None:
                held = f"{one.gap}: the {words} held on the inner face of its groove"
                yield Cause(held, {one.gap: thickness - widest})


def _other_size(case: Case, one: Built, gaps: list[Built]) -> Iterator[Cause]:
    for lies in _chosen(case, one):
        same = [lies]
        if lies.shared:
            same = [o for each in gaps for o in _chosen(case, each) if o.shared == lies.shared]
        for size, spec in case.unit.families[lies.part.family].sizes.items():
            if size != lies.part.size:
                thinner = lies.part.thickness - spec.nominal
                where = " and ".join(other.gap for other in same)
                words = f"{lies.part.family} {size} where {lies.part.size} is listed"
                moved = {other.gap: thinner * other.opens for other in same}
                yield Cause(f"{where}: {words}", moved)


def _other_family(case: Case, one: Built) -> Iterator[Cause]:
    layout = one.layout
    for words, opened in other_families(case, layout):
        yield Cause(f"{one.gap}: {words}", {one.gap: opened * layout.sign})


def _swapped(case: Case, gaps: list[Built]) -> Iterator[Cause]:
    """Yield each two parts of one family that may lie in each other's place."""
    lying_ = [lies for one in gaps for lies in _chosen(case, one)]
    for a, b in combinations(lying_, 2):
        if a.part.family != b.part.family or a.part.thickness == b.part.thickness:
            continue
        thinner = a.part.thickness - b.part.thickness
        moved: dict[str, Length] = {a.gap: thinner * a.opens}
        moved[b.gap] = moved.get(b.gap, Length(0)) - thinner * b.opens
        if any(moved.values()):
            where = a.gap if a.gap == b.gap else f"{a.gap} and {b.gap}"
            sizes = f"{a.part.family} {a.part.size} and {b.part.size}"
            yield Cause(f"{where}: {sizes} swapped ({a.label}, {b.label})", moved)


def _chosen(case: Case, one: Built) -> Iterator[_Lying]:
    layout = one.layout
    for place, label in zip(layout.stack, layout.labels, strict=True):
        if case.fixed_thickness(place.part) is None:
            opens = place.factor * layout.sign
            shared = place.part if place.part in case.unit.shared_parts else ""
            yield from (_Lying(one.gap, label, p, opens, shared) for p in one.listed.parts[label])


def _read(case: Case, one: Built) -> Iterator[Cause]:
    """Yield the mistakes of a reading, after assembly or before it."""
    metric = case.length == "mm"
    meant = one.read * INCH if metric else one.read / INCH
    unit = "inches" if metric else "millimetres"
    yield Cause(f"{one.gap}: read in {unit} after assembly", {one.gap: one.read - meant})
    for mistake in suspected_mistakes(JobGap(case, one.gap), one.listed.layout):
        yield Cause(f"{one.gap}, at the bench: {mistake.words}", {one.gap: mistake.shift})
