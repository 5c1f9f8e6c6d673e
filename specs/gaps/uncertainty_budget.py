"""The uncertainty budget of a gap: the readings, parts and gauges its uncertainty comes from.

    gap = sum of factor * reading + trial factor * trial stack - stack

Each source of error enters with the sum of its factors. So a part of the trial build that stays in
enters twice with opposite signs and cancels. Parts measured together, readings that gaps share and
an error common to all readings of a gauge count as one source each.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.models.lot import Lot
from specs.parts.lookup import is_measured, selective
from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import Contribution, ErrorSource, joined

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.job import AsBuilt, TakenReading
    from specs.models.unit import Unit
    from specs.parts.lookup import ListedBuild
    from specs.values.lengths import Length

    Laid = dict["Piece", list[Fraction]]

PROUD = 3  # how many times the gauge's doubt, where a ring is read as it stands proud

WORDS = ("none", "thinnest", "thickest")  # trial builds of parts that are not of this job
Placed = Mapping[str, tuple[Lot, ...]]
"""The lots at each place whose part is chosen, by the label of the place."""


@dataclass(frozen=True, slots=True)
class Tilt:
    """A reading whose places lie farther apart than the unit allows."""

    gap: str
    reading: str
    places: tuple[int, int]
    """The numbers of the two places that differ most, from 1."""
    apart: Length
    """The difference of the two, without its sign."""


def terms_of(gap: JobGap, layout: str, placed: Placed) -> tuple[Contribution, ...]:
    """List the sources of error of a gap, for one build of it.

    Parameters
    ----------
    gap
        The gap of the job; all readings of the layout's space are taken.
    layout
        The name of the layout.
    placed
        The lots at each of its places whose part is chosen.

    Returns
    -------
    tuple of Contribution
        Each source once, with its doubt and its factor.
    """
    arranged = gap.written.arrangements[layout]
    return joined([*_readings(gap, arranged), *_stacks(gap, arranged, placed)])


def space_terms(gap: JobGap, layout: str) -> tuple[Contribution, ...]:
    """List the sources of error of the space of a layout, apart from parts.

    Parameters
    ----------
    gap
        The gap of the job.
    layout
        The name of the layout.

    Returns
    -------
    tuple of Contribution
        Each source once. A reading that is not taken counts as the unit file asks for it: with its
        gauge, at its number of places.
    """
    return joined(_readings(gap, gap.written.arrangements[layout]))


def difference_terms(
    gap: JobGap, promised: Iterable[Contribution], read: AsBuilt
) -> tuple[Contribution, ...]:
    """List the sources of error of the difference between a gap's measurement and its promise.

    Parameters
    ----------
    gap
        The gap of the job.
    promised
        The sources of error of the promise, as `terms_of` lists them.
    read
        The reading after assembly.

    Returns
    -------
    tuple of Contribution
        Each source once. An error common to all readings of a gauge enters on both sides, and
        cancels as far as its factors do.
    """
    source = ErrorSource("reading", "as built", gap.name)
    before = (replace(term, factor=-term.factor) for term in promised)
    return joined([*before, *_reading(gap, "gap", read, source, Fraction(1))])


def tilts(gap: JobGap, layout: str) -> Iterator[Tilt]:
    """Find the readings whose places lie farther apart than the unit allows.

    Parameters
    ----------
    gap
        The gap of the job; all readings of the layout's space are taken.
    layout
        The name of the layout.

    Yields
    ------
    Tilt
        One for each such reading, with the two places that differ most.
    """
    for name in gap.written.arrangements[layout].space.readings:
        tilt = tilt_of(gap, name, gap.needed(name))
        if tilt:
            yield tilt


def tilt_of(gap: JobGap, name: str, read: TakenReading) -> Tilt | None:
    """Return where the places of a figure lie too far apart; None where they are even.

    Parameters
    ----------
    gap
        The gap of the job.
    name
        The reading's name; `gap` for the gap itself after assembly.
    read
        The figure as taken.
    """
    at = read.at
    apart = max(at) - min(at)
    if apart <= gap.even_within(name):
        return None
    first, second = sorted((at.index(min(at)), at.index(max(at))))
    return Tilt(gap.name, name, (first + 1, second + 1), apart)


def _readings(gap: JobGap, layout: Arrangement) -> Iterator[Contribution]:
    formula = layout.space
    for name in formula.readings:
        source = ErrorSource("reading", name, "" if gap.is_shared(name) else gap.name)
        read = gap.reading(name) or gap.as_asked(name)
        yield from _reading(gap, name, read, source, formula.factor(name))


def _reading(
    gap: JobGap, name: str, read: TakenReading, source: ErrorSource, factor: Fraction
) -> Iterator[Contribution]:
    for doubt, times in reading_doubts(gap, name, read):
        yield Contribution(source, doubt, factor, times)
    if read.u is None:
        yield from _together(gap.case, gap.gauge_with(name, read), factor)


def reading_doubts(gap: JobGap, name: str, read: TakenReading) -> tuple[tuple[Doubt, int], ...]:
    """Return the doubts of the average of a reading, apart from what its gauge is off in all.

    Parameters
    ----------
    gap
        The gap of the job, whose files describe reading and gauge.
    name
        The reading's name; `gap` for the gap itself after assembly.
    read
        The figure as taken.

    Returns
    -------
    tuple of (Doubt, int)
        Each with how many independent ones like it add up. A stated `u` stands alone. Otherwise
        each place has the gauge's doubt, or half the distance from what goes to what stops, and the
        spread between places where the reading has one. For n places, a gauge of standard
        uncertainty u and a spread s, the variances add up to (s^2 + u^2) / n. How far a ring stands
        proud has three times the gauge's doubt.
    """
    if read.u is not None:
        return ((Doubt("normal", read.u), 1),)
    places = len(read.at)
    alone = gap.case.gauge(gap.gauge_with(name, read)).doubt
    if read.goes is not None and read.stops is not None:
        alone = Doubt("rectangular", (read.stops - read.goes) / 2)
    if read.proud is not None:
        alone = Doubt(alone.shape, alone.size * PROUD)
    found: Counter[Doubt] = Counter()
    for one in (alone, Doubt("normal", gap.spread(name, read))):
        if one.size:
            found[Doubt(one.shape, one.size / places)] += places
    return tuple(found.items())


def _together(case: Case, gauge: str | None, factor: Fraction) -> Iterator[Contribution]:
    """Yield the error common to all readings of a gauge, where the files state its limits."""
    limits = case.gauge(gauge).limits
    if gauge and limits:
        yield Contribution(ErrorSource("gauge", gauge), Doubt("rectangular", limits), factor)


def _stacks(gap: JobGap, layout: Arrangement, placed: Placed) -> Iterator[Contribution]:
    """Yield the parts of a build, and those of the trial build that its space was read with."""
    closes, opens = Fraction(-layout.sign), layout.space.trial_factor
    yield from _fixed(gap, layout, closes, gap.case.fixed_thickness)
    tried: Laid = {}
    parts = gap.trial
    if opens and parts:
        listed = gap.build(parts)
        before = gap.written.arrangements[listed.layout]
        yield from _fixed(gap, before, opens, gap.tried)
        lots = as_lots(gap.case, listed, own=parts.parts not in WORDS)
        tried = _laid(gap.case, before, lots, opens)
    elif opens and gap.settled:
        yield from _fixed(gap, layout, opens, gap.tried)
    laid = _laid(gap.case, layout, placed, closes)
    for piece in dict.fromkeys((*tried, *laid)):
        out, in_ = tried.get(piece, []), laid.get(piece, [])
        stay = _staying(gap, piece, len(out), len(in_))
        both = [one + two for one, two in zip(out[:stay], in_[:stay], strict=True)]
        yield from _pieces(gap, piece, Counter([*both, *out[stay:], *in_[stay:]]))


def _fixed(
    gap: JobGap,
    layout: Arrangement,
    sign: Fraction,
    thickness: Callable[[str], Length | None],
) -> Iterator[Contribution]:
    """Yield the parts that are not chosen: each by itself, or as measured for this job.

    `thickness` tells what one of them is counted as; in the trial build it may be another part.
    """
    case = gap.case
    for place, label in zip(layout.stack, layout.labels, strict=True):
        family = case.unit.family_of(place.part)
        if family.fixed is None:
            continue
        factor = sign * place.factor
        if thickness(place.part) != case.fixed_thickness(place.part):
            source = ErrorSource("part", place.part, gap.name, "tried")
            yield Contribution(source, as_measured(case, ""), factor)
            yield from _together(case, case.part_gauge(""), factor)
        elif case.job.parts.get(place.part) == case.fixed_thickness(place.part):
            yield Contribution(ErrorSource("part", place.part), as_measured(case, ""), factor)
            yield from _together(case, case.part_gauge(""), factor)
        else:
            source = ErrorSource("part", place.part, gap.name, label)
            yield Contribution(source, Doubt("rectangular", family.sold_within("")), factor)


@dataclass(frozen=True, slots=True)
class Piece:
    """Parts that are alike in all that is known of their thickness."""

    shared: str
    """The name of the shared part; empty for others."""
    family: str
    size: str
    thickness: Length
    own: bool
    measured: bool
    gauge: str
    within: Length


def _laid(case: Case, layout: Arrangement, placed: Placed, sign: Fraction) -> Laid:
    """Return the pieces at the places of a stack, each with the factors it enters by."""
    found: Laid = {}
    for index, label in selective(case.unit, layout):
        place = layout.stack[index]
        shared = place.part if place.part in case.unit.shared_parts else ""
        for lot in placed.get(label, ()):
            piece = Piece(
                shared, lot.family, lot.size, lot.thickness, lot.own or lot.tried, lot.measured,
                lot.gauge, lot.within,
            )  # fmt: skip
            found.setdefault(piece, []).append(sign * place.factor)
    return found


def as_lots(case: Case, listed: ListedBuild, *, own: bool) -> Placed:
    """Turn the parts of a listed build into lots.

    Parameters
    ----------
    case
        The case.
    listed
        The build.
    own
        Whether the parts are at hand for this job alone.

    Returns
    -------
    dict of str to tuple of Lot
        The lots at each place whose part is chosen, one for each part.
    """
    return {
        label: tuple(
            Lot(
                part.family, part.size, part.thickness, 1, own=own,
                measured=is_measured(case.unit, part),
            )
            for part in parts
        )
        for label, parts in listed.parts.items()
    }  # fmt: skip


def _staying(gap: JobGap, piece: Piece, out: int, in_: int) -> int:
    """Return how many parts of the trial build must be among those of a build."""
    if not piece.own or not out or not in_:
        return 0
    # Of n like parts, `out` were in the trial and `in_` go in: at least out + in_ - n are in both.
    return max(0, min(out, in_, out + in_ - max(out, _in_now(gap, piece))))


def _in_now(gap: JobGap, piece: Piece) -> int:
    """Return how many such parts are in the unit now; they may be others than the trial's."""
    parts = gap.now
    if parts is None or isinstance(parts.parts, str):
        return 0
    listed = gap.build(parts)
    layout = gap.written.arrangements[listed.layout]
    lots = as_lots(gap.case, listed, own=True)
    return len(_laid(gap.case, layout, lots, Fraction(1)).get(piece, []))


def _pieces(gap: JobGap, piece: Piece, factors: Counter[Fraction]) -> Iterator[Contribution]:
    """Yield the doubt of each of some like parts, and the doubt they have in common."""
    case, name = gap.case, f"{piece.family} {piece.size}"
    if piece.measured:
        total = sum((factor * times for factor, times in factors.items()), Fraction(0))
        yield from _together(case, case.part_gauge(piece.gauge), total)
        if not piece.own:  # measured once for all of them
            source = ErrorSource("part", name, "", f"measured {piece.thickness.nm} {piece.gauge}")
            yield Contribution(source, as_measured(case, piece.gauge), total)
    alone = _alone(case, piece)
    for factor, times in factors.items():
        label = f"{piece.thickness.nm} {piece.own}" + ("" if piece.shared else f" {factor}")
        source = ErrorSource("part", piece.shared or name, "" if piece.shared else gap.name, label)
        yield Contribution(source, alone, factor, times)


def _alone(case: Case, piece: Piece) -> Doubt:
    """Return the doubt of one part by itself, as sold or as measured."""
    if piece.measured:
        return as_measured(case, "") if piece.own else Doubt("rectangular", piece.within)
    return as_sold(case.unit, piece.family, piece.size)


def as_sold(unit: Unit, family_name: str, size: str) -> Doubt:
    """Return the doubt of a part as sold, which lies anywhere alike within what its file states."""
    return Doubt("rectangular", unit.families[family_name].sold_within(size))


def as_measured(case: Case, gauge: str) -> Doubt:
    """Return the doubt of a part measured with a gauge; the usual one where no file names it."""
    return case.gauge(case.part_gauge(gauge)).doubt
