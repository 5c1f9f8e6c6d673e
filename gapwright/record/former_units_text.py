"""The sentences on former units: doubted readings, what was built in like rooms, what counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.shelf.text import so_many
from specs.gaps.far_rooms import FEWEST
from specs.values.lengths import number, show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gapwright.record.former_findings import FormerFindings
    from gapwright.record.former_units import FormerBuild
    from specs.files.history import Uncounted
    from specs.gaps.far_rooms import FarRoom, RoomBound
    from specs.models.case import Case
    from specs.values.lengths import LengthUnit

MOST_NAMED, MOST_LOOKS, MOST_MISTAKES, MOST_BUILDS = 5, 4, 4, 3


def doubt_words(found: FormerFindings, case: Case, unit: LengthUnit) -> Iterator[str]:
    """Say which readings are doubted, what to look at, and the mistakes that would explain each.

    Lines below the first of a gap are indented.
    """
    for far in found.far:
        room = show(far.room, unit)
        yield f"DOUBT THE READING of {far.gap} (room {room}): {far_words(far, case, unit)}"
        looks = far.looks[:MOST_LOOKS] or ("read it again before any part is changed",)
        yield f"  first {', '.join(looks)}"
        if far.mistakes:
            yield "  one mistake that would explain it, each to be looked at, none corrected here:"
        for mistake in far.mistakes[:MOST_MISTAKES]:
            meant = show(mistake.meant, unit)
            yield f"  - {mistake.words}: `{mistake.reading}` would then be {meant}"
        if far.mistakes[MOST_MISTAKES:]:
            yield f"  and {len(far.mistakes) - MOST_MISTAKES} more"


def far_words(far: FarRoom, case: Case, unit: LengthUnit) -> str:
    """Say how a room lies beside those of other units."""
    layout = case.unit.gaps[far.gap].arrangements[far.layout]
    sides = ("smaller", "larger") if layout.window.on == "height" else ("tighter", "roomier")
    side = sides[far.roomier]
    by = {bound.kind: bound for bound in far.crossed}
    told = []
    if each := by.get("each former unit"):
        off = show(abs(each.off(far.room)), unit)
        told.append(f"{side} than each of {each.drums} drums of this unit, by {off}")
        if len(by) == 1:
            told[-1] += f" (1 drum in {(each.drums + 1) // 2} is so by chance)"
    if spread := by.get("deviations"):
        middle = "their middle" if each else f"the middle of {spread.drums} drums of this unit"
        told.append(f"{'' if each else f'{side}, '}{_deviations(far, spread, unit)} from {middle}")
    if spaces := by.get("spaces"):
        told.append(_spaces(far, spaces, side, unit))
    return " and ".join(told)


def _deviations(far: FarRoom, bound: RoomBound, unit: LengthUnit) -> str:
    """Say how many standard deviations a room lies off the middle of a bound."""
    if bound.middle is None or not bound.deviation:
        return show(abs(bound.off(far.room)), unit)
    times = float(abs(far.room - bound.middle).nm / bound.deviation.nm)
    return f"{times:.1f} deviations of {show(bound.deviation, unit)}"


def _spaces(far: FarRoom, bound: RoomBound, side: str, unit: LengthUnit) -> str:
    if bound.middle is None:
        limits = f"{number(bound.low, unit)} to {show(bound.high, unit)}"
        off = show(abs(bound.off(far.room)), unit)
        return f"{side} than the unit file allows ({limits}), by {off}"
    times, middle = _deviations(far, bound, unit), show(bound.middle, unit)
    return f"{side} by {times} than the unit file's {middle}"


def like_words(found: FormerFindings, gap: str, unit: LengthUnit) -> str:
    """Say what was built in the like rooms of former units; empty where nothing was."""
    like = found.like_of(gap)
    if like is None:
        return ""
    layouts = len({build.layout for build, _ in like.builds}) > 1
    told = [f"{_build(build, layouts)} ({number_})" for build, number_ in like.builds[:MOST_BUILDS]]
    told += [f"{len(like.builds) - MOST_BUILDS} other builds"] * (len(like.builds) > MOST_BUILDS)
    drums = so_many(like.drums, "drum")
    return f"before, in {drums} within {show(like.within, unit)} of this room: {', '.join(told)}"


def _build(build: FormerBuild, layouts: bool) -> str:  # noqa: FBT001 - of this file alone
    parts = " ".join("+".join(place) or "none" for place in build.parts)
    return f"{build.layout}: {parts}" if layouts else parts


def heard_words(found: FormerFindings) -> Iterator[str]:
    """Say how many former units were heard, and which kept jobs do not count."""
    if found.asked or found.drums >= FEWEST:
        few = "" if found.drums >= FEWEST else f", too few to hold a reading against ({FEWEST})"
        yield f"former units: {found.drums or 'none'} in {found.where}{few}"
    yield from uncounted_words(found.uncounted)


def uncounted_words(uncounted: Sequence[Uncounted]) -> Iterator[str]:
    """Name the kept jobs that do not count, with the reason."""
    if uncounted:
        yield f"not counted: {so_many(len(uncounted), 'job')}"
        yield from (f"  {one.job}: {one.why}" for one in uncounted[:MOST_NAMED])
    if uncounted[MOST_NAMED:]:
        yield f"  and {len(uncounted) - MOST_NAMED} more"
