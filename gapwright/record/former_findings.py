"""What former units say of a job: which readings are doubted, what was chosen in like rooms."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.record.former_units import FormerBuild
from specs.gaps.far_rooms import FarRoom, far_room
from specs.gaps.job_gap import JobGap
from specs.models.job import Parts
from specs.parts.lookup import PartError
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.record.former_units import FormerUnits, Records
    from specs.files.history import Uncounted
    from specs.models.case import Case
    from specs.values.lengths import LengthUnit

LIKE: dict[LengthUnit, Length] = {
    "in": Length(50_800), "thou": Length(50_800), "mm": Length(50_000),
}  # fmt: skip
"""How near another room a room is like it: 0.002 in or 0.05 mm."""


@dataclass(frozen=True, slots=True)
class LikeRooms:
    """What was built in the rooms of former units that are like that of a gap."""

    gap: str
    within: Length
    """How far they are from it at most."""
    builds: tuple[tuple[FormerBuild, int], ...]
    """Each build by its sizes, with the number of units; the most frequent first."""

    @property
    def drums(self) -> int:
        """How many units they are."""
        return sum(number for _, number in self.builds)


@dataclass(frozen=True, slots=True)
class FormerFindings:
    """What former units say of a job."""

    where: str = ""
    """Where they are kept; empty where there is no record at hand."""
    drums: int = 0
    """How many they are."""
    asked: bool = False
    """Whether somebody named the place."""
    far: tuple[FarRoom, ...] = ()
    """The rooms of the job that lie far from theirs, or from what the unit file expects."""
    like: tuple[LikeRooms, ...] = ()
    """For each gap what was built in like rooms; without gaps of which none was."""
    uncounted: tuple[Uncounted, ...] = ()
    """Kept jobs that do not count, with the reason."""

    def like_of(self, gap: str) -> LikeRooms | None:
        """Return what was built in rooms like that of a gap; None where none was."""
        return next((one for one in self.like if one.gap == gap), None)


def former_findings(case: Case, gaps: Iterable[str], records: Records) -> FormerFindings:
    """Hold the rooms of a job against those of former units.

    Parameters
    ----------
    case
        The job's files as read.
    gaps
        Its gaps that have all their readings.
    records
        Where former units are kept.

    Raises
    ------
    InputError
        Where a place that is named cannot be read.
    """
    former = records.beside(case)
    ready = [JobGap(case, name) for name in gaps]
    far = tuple(filter(None, (_far(gap, former) for gap in ready)))
    like = tuple(filter(None, (_like(gap, former) for gap in ready)))
    return FormerFindings(former.where, former.drums, records.asked, far, like, former.uncounted)


def _layouts(gap: JobGap) -> Iterator[str]:
    """Yield the layouts of a gap, the best first, each with a room of its own."""
    seen: set[str] = set()
    for name in gap.layouts:
        if name not in seen:
            seen |= {*gap.written.alike(name)}
            yield name


def _far(gap: JobGap, former: FormerUnits) -> FarRoom | None:
    found = (far_room(gap, name, former.rooms(gap, name)) for name in _layouts(gap))
    return next((one for one in found if one), None)


def _like(gap: JobGap, former: FormerUnits) -> LikeRooms | None:
    within = LIKE[gap.case.length]
    for name in _layouts(gap):
        room = gap.space(name).length
        near = {
            nth
            for other, numbers in former.by_room(gap, name).items()
            if abs(other - room) <= within
            for nth in numbers - former.own
        }
        held = (former.units[nth].builds.get(gap.name) for nth in near)
        builds = Counter(by_size for one in held if one and (by_size := _by_size(gap, one)))
        if builds:
            ordered = sorted(builds.items(), key=lambda pair: (-pair[1], pair[0].parts))
            return LikeRooms(gap.name, within, tuple(ordered))
    return None


def _by_size(gap: JobGap, build: FormerBuild) -> FormerBuild | None:
    """Return a build by its sizes alone; None where the unit has no such build any more."""
    parts = Parts.model_construct(parts=build.parts, layout=build.layout, linings=None)
    try:
        listed = gap.build(parts)
    except PartError:
        return None
    return FormerBuild(listed.layout, listed.sizes)
