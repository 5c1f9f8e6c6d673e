"""A case in which one reading, or one space, takes any value while the others stand.

The services of cover, of stock and of a fit's sensitivity use it. The varied reading stays a
reading of a case. For a space, the sum of the gap is replaced by one reading, the room for the
stack, from which each layout keeps its distance. So any question about a case can be asked at
every value.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar, cast

from specs.errors import InputError, Problem
from specs.findings import near
from specs.gaps.job_gap import JobGap
from specs.models.gaps import Reading
from specs.models.job import TakenReading
from specs.values.fields import Written
from specs.values.formula import Formula, Term
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from specs.models.case import Case

M = TypeVar("M", bound=Written)
ROOM = "room for the stack"
"""The name of a varied space among the readings of its gap."""


@dataclass(frozen=True, slots=True)
class VariedReading:
    """A case in which one reading may take any value."""

    case: Case
    """The case, with the reading at zero."""
    gap: str
    """The gap whose reading it is; empty for a reading that gaps share."""
    reading: str
    stands: Length | None
    """The reading or the space as the job states it; None where it does not."""

    @property
    def name(self) -> str:
        """The name of the reading or space in print and in the columns of a history."""
        return self.gap if self.reading == ROOM else self.reading

    def at(self, value: Length) -> Case:
        """Return the case with the reading at a value."""
        return _with(self.case, self.gap, self.reading, value)

    def factor(self, gap: str, layout: str) -> Fraction:
        """Return by how much the space of a gap's layout grows with the reading."""
        moved = JobGap(self.case, gap)
        owns = self.gap == gap or (not self.gap and moved.is_shared(self.reading))
        return moved.written.arrangements[layout].space.factor(self.reading) * owns

    def gaps(self) -> tuple[str, ...]:
        """Return the names of the gaps whose space depends on the reading."""
        return tuple(
            name
            for name, gap in self.case.unit.gaps.items()
            if any(self.factor(name, layout) for layout in gap.arrangements)
        )


def move_space(case: Case, name: str) -> VariedReading:
    """Let the space of one gap take any value.

    Parameters
    ----------
    case
        The case.
    name
        The gap.

    Returns
    -------
    VariedReading
        The case with the space as one reading.

    Raises
    ------
    InputError
        Where the gap is unknown, or where its layouts compute their spaces from different readings
        and the job does not hold them all.
    """
    _known(case, name)
    gap = case.unit.gaps[name]
    off = _offsets(case, name)
    layouts = {
        layout: _changed(written, space=_room(off.get(layout, ZERO)))
        for layout, written in gap.layouts.items()
    }
    readings = {**gap.readings, ROOM: Reading.model_validate({"what": ROOM})}
    moved = _changed(gap, space=_room(ZERO), layouts=layouts, readings=readings)
    where = "packs" if name in case.unit.packs else "end_plays"
    unit = _changed(case.unit, **{where: {**getattr(case.unit, where), name: moved}})
    as_read = JobGap(case, name)
    first = next(iter(as_read.layouts), None)
    stands = as_read.space(first).length if first is not None and not as_read.missing() else None
    varied = replace(case, unit=unit, as_written=case.as_written or case)
    return VariedReading(_with(varied, name, ROOM, ZERO), name, ROOM, stands)


def move_reading(case: Case, reading: str, gap: str = "") -> VariedReading:
    """Let one reading take any value.

    Parameters
    ----------
    case
        The case.
    reading
        The name of the reading.
    gap
        The gap it belongs to; needed where several gaps have a reading of that name.

    Returns
    -------
    VariedReading
        The case with the reading varied.

    Raises
    ------
    InputError
        Where the reading is unknown or ambiguous, or where a gap it moves lacks other readings.
    """
    moving = _moving(case, reading, gap)
    for name in moving.gaps():
        waits = JobGap(moving.case, name).missing()
        if waits:
            sentence = f"{name} also waits for {', '.join(waits)}; write that in the job"
            raise _refused(case, f"{sentence}, or leave out --reading to move its space")
    return moving


def _moving(case: Case, reading: str, gap: str) -> VariedReading:
    """Let one reading take any value, whatever the gaps it moves wait for."""
    if gap:
        _known(case, gap)
    homes = [name for name in case.unit.gaps if reading in _readings_of(case, name)]
    joint = [name for name in homes if JobGap(case, name).is_shared(reading)]
    own = [name for name in homes if name not in joint]
    if gap in own or (not joint and len(own) == 1 and not gap):
        home = gap or own[0]
    elif gap in joint or (joint and not gap):
        home = ""
    else:
        raise _refused(case, _which(case, reading, gap, own))
    meant = JobGap(case, home or joint[0])
    at = meant.reading(reading)
    stands = at.average if at and reading not in meant.no_reading() else None
    return VariedReading(_with(case, home, reading, ZERO), home, reading, stands)


def varied_readings(case: Case, names: tuple[str, ...]) -> tuple[VariedReading, ...]:
    """Let each reading that some gaps are computed from take any value, in the unit's order.

    Parameters
    ----------
    case
        The case.
    names
        The names of the gaps; a gap that shares a reading with them may wait for others.

    Returns
    -------
    tuple of VariedReading
        One for each reading, a shared one once; without those that move none of the gaps.
    """
    found: dict[tuple[str, str], VariedReading] = {}
    for name in names:
        for layout in JobGap(case, name).layouts.values():
            for reading in layout.space.readings:
                moving = _moving(case, reading, name)
                found.setdefault((moving.gap, reading), moving)
    return tuple(one for one in found.values() if not set(names).isdisjoint(one.gaps()))


def _readings_of(case: Case, name: str) -> set[str]:
    """Return the readings that the layouts of a gap ask for."""
    layouts = case.unit.gaps[name].arrangements.values()
    return {reading for layout in layouts for reading in layout.space.readings}


def _which(case: Case, reading: str, gap: str, own: list[str]) -> str:
    if own and not gap:
        return f"several gaps have a reading {reading}; add --gap with one of {', '.join(own)}"
    names = [gap] if gap else [*case.unit.gaps]
    known = sorted({one for name in names for one in _readings_of(case, name)})
    return near(reading, known, f"readings of {gap}" if gap else "readings")


def _known(case: Case, gap: str) -> None:
    if gap not in case.unit.gaps:
        raise _refused(case, near(gap, [*case.unit.gaps], "packs and end plays"))


def _refused(case: Case, sentence: str) -> InputError:
    return InputError(Problem(sentence, case.origins["unit"].source.file))


def _room(off: Length) -> Formula:
    """Build the space of a layout: the room, and the distance of the layout's space from it."""
    return Formula(ROOM, (Term(Fraction(1), ROOM, None), Term(Fraction(1), None, off)))


def _offsets(case: Case, name: str) -> dict[str, Length]:
    """Return how much more space each allowed layout has than the first."""
    gap = JobGap(case, name)
    layouts = gap.layouts
    if not gap.missing():
        spaces = {layout: gap.space(layout).length for layout in layouts}
    else:
        spaces = {layout: written.space.fixed for layout, written in layouts.items()}
        if len({_sum(written.space) for written in layouts.values()}) > 1:
            sentence = (
                f"the layouts of {name} work their spaces out from different readings; write "
                "those of one drum in a job, or move one of them with --reading"
            )
            raise _refused(case, sentence)
    first = next(iter(spaces.values()), ZERO)
    return {layout: length - first for layout, length in spaces.items()}


def _sum(formula: Formula) -> frozenset[tuple[str, Fraction]]:
    """Return what a space is computed from, without its fixed lengths."""
    factors = {(reading, formula.factor(reading)) for reading in formula.readings}
    return frozenset({*factors, ("", formula.trial_factor)})


def _with(case: Case, gap: str, reading: str, value: Length) -> Case:
    """Return the case with a reading, of a gap or shared, at a value."""
    case = replace(case, as_written=case.as_written or case)
    job = case.job
    work = JobGap(case, gap).work
    held = job.readings if not gap else work.readings
    before = (work.gap if gap and reading == "gap" else None) or held.get(reading)
    now = before.moved_to(value) if before else TakenReading.supposed(value)
    readings = {**held, reading: now}
    if not gap:
        return replace(case, job=_changed(job, readings=readings))
    mine = _changed(work, readings=readings, gap=None if reading == "gap" else work.gap)
    return replace(case, job=_changed(job, gaps={**job.gaps, gap: mine}))


def _changed(model: M, **fields: object) -> M:
    """Copy a model with some fields changed, without its cached properties."""
    kept = {name: getattr(model, name) for name in type(model).model_fields}
    return cast("M", type(model).model_construct(**{**kept, **fields}))
