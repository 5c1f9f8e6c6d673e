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

from specs.gaps.job_gap import (
    JobGap,
)
from specs.models.lot import Lot
from specs.parts.lookup import is_measured, selective
from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import Contribution, ErrorSource, joined, spread_of
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.job import AsBuilt, TakenReading
    from specs.parts.lookup import ListedBuild

    Laid = dict["Piece", list[Fraction]]

PART_IN, PART_MM = Length(5_080), Length(5_000)  # 0.0002 in, 0.005 mm: what tells a thickness

WORDS = ("none", "thinnest", "thickest")  # trial builds of parts that are not of this job
Placed = Mapping[str, tuple[Lot, ...]]
"""The lots at each place whose part is chosen, by the label of the place."""


@dataclass(frozen=True, slots=True)
class Tilt:
    """A reading whose places differ by more than its gauge explains."""

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
    gauge = gap.gauge_with("gap", read)
    doubt, times = reading_doubt(gap.case, read, gauge)
    measured = Contribution(ErrorSource("reading", "as built", gap.name), doubt, Fraction(1), times)
    before = (replace(term, factor=-term.factor) for term in promised)
    return joined([*before, measured, *_together(gap.case, gauge, Fraction(1))])


def tilts(gap: JobGap, layout: str) -> Iterator[Tilt]:
    """Find the readings whose places differ by more than their gauge explains.

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

    Notes
    -----
    Places are listed in their order around the part. An even number of them is compared across from
    each other; of an odd number, the lowest is compared with the highest.
    """
    for name in gap.written.arrangements[layout].space.readings:
        at = gap.needed(name).at
        half = len(at) // 2
        pairs = [(nth, nth + half) for nth in range(half)]
        if len(at) % 2:
            pairs = [(at.index(min(at)), at.index(max(at)))]
        one, two = max(pairs, key=lambda pair: abs(at[pair[0]] - at[pair[1]]))
        apart = abs(at[one] - at[two])
        if apart > _explained(gap.case, gap.gauge_of(name)):
            first, second = sorted((one, two))
            yield Tilt(gap.name, name, (first + 1, second + 1), apart)


def _readings(gap: JobGap, layout: Arrangement) -> Iterator[Contribution]:
    formula = layout.space
    for name in formula.readings:
        source = ErrorSource("reading", name, "" if gap.is_shared(name) else gap.name)
        gauge, factor = gap.gauge_of(name), formula.factor(name)
        doubt, times = reading_doubt(gap.case, gap.needed(name), gauge)
        yield Contribution(source, doubt, factor, times)
        yield from _together(gap.case, gauge, factor)


def reading_doubt(case: Case, reading: TakenReading, gauge: str | None) -> tuple[Doubt, int]:
    """Return the doubt of the average of a reading.

    Parameters
    ----------
    case
        The case, whose files describe the gauge.
    reading
        The reading as taken.
    gauge
        The name of its gauge; None where the files do not say.

    Returns
    -------
    doubt : Doubt
        The uncertainty the job states; or half the distance from what goes to what stops; or the
        spread over the places, where they differ by more than the gauge explains; or else the
        gauge's own, divided by the number of places.
    times : int
        How many independent doubts like it add up to the error of the average.
    """
    at = reading.at
    if reading.u is not None:
        return Doubt("normal", reading.u), 1
    if reading.goes is not None and reading.stops is not None:
        return Doubt("rectangular", (reading.stops - reading.goes) / 2), 1
    if max(at) - min(at) > _explained(case, gauge):
        return Doubt("normal", spread_of(at)), 1
    alone = case.gauge(gauge).doubt(case.usual)
    return Doubt(alone.shape, alone.size / len(at)), len(at)


def _explained(case: Case, gauge: str | None) -> Length:
    """Return the largest difference of two readings that a gauge explains."""
    return case.tells(gauge) * 2


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
        if thickness(place.part) != case.fixed_thickness(place.part):
            source, doubt = (
                ErrorSource("part", place.part, gap.name, "tried"),
                as_measured(case, ""),
            )
        elif case.job.parts.get(place.part) == case.fixed_thickness(place.part):
            source, doubt = ErrorSource("part", place.part), as_measured(case, "")
        else:
            source = ErrorSource("part", place.part, gap.name, label)
            doubt = Doubt("rectangular", family.tolerance)
        yield Contribution(source, doubt, sign * place.factor)


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
    if piece.measured and not piece.own:  # measured once for all of them
        total = sum((factor * times for factor, times in factors.items()), Fraction(0))
        label = f"measured {piece.thickness.nm} {piece.gauge}"
        yield Contribution(
            ErrorSource("part", name, "", label), as_measured(case, piece.gauge), total
        )
        yield from _together(case, piece.gauge, total)
    alone = _alone(case, piece)
    for factor, times in factors.items():
        label = f"{piece.thickness.nm} {piece.own}" + ("" if piece.shared else f" {factor}")
        source = ErrorSource("part", piece.shared or name, "" if piece.shared else gap.name, label)
        yield Contribution(source, alone, factor, times)


def _alone(case: Case, piece: Piece) -> Doubt:
    """Return the doubt of one part by itself, as sold or as measured."""
    if piece.measured:
        return as_measured(case, "") if piece.own else Doubt("rectangular", piece.within)
    return as_sold(case, piece.family, piece.size)


def as_sold(case: Case, family_name: str, size: str) -> Doubt:
    """Return the doubt of a part as sold: half its printed range, and its tolerance."""
    family = case.unit.families[family_name]
    printed = family.sizes[size].thickness
    half = (printed.high - printed.low) / 2 if printed.low and printed.high else ZERO
    return Doubt("rectangular", half + family.tolerance)


def as_measured(case: Case, gauge: str) -> Doubt:
    """Return the doubt of a part measured with a gauge; the usual one where no file states it."""
    return case.gauge(gauge).doubt(PART_MM if case.length == "mm" else PART_IN)
