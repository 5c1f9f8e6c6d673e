"""A gap that reads nothing: no reading, and the trial build to make next.

Where a trial build leaves nothing, the true gap may be anything below. The trial build to make next
is the loosest that the parts on hand allow. A drum can be built from them only where its space is
at least their lowest stack and the low end of the window, so this trial build leaves at least that
low end in every drum that parts on hand could serve. Where that is too little to read, or where
nothing on hand is thinner than what was tried, a place of the trial build is left empty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gapwright.fit.assembly import assemblies_of
from gapwright.fit.listed_parts import listed_parts
from gapwright.shelf.on_hand import Shelves
from solver.problem.from_case import instance_of
from solver.problem.judge import gap_of
from specs.gaps.job_gap import JobGap
from specs.gaps.varied_reading import move_reading
from specs.models.job import LEFT_OUT, GapJob
from specs.parts.lookup import selective
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.assembly import GapAssembly
    from solver.engines.limits import Clock
    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.job import Parts
    from specs.models.lot import Lot


@dataclass(frozen=True, slots=True)
class NextTrial:
    """The trial build to make next for a gap that read nothing."""

    build: Parts
    """Its layout and its parts, as a job file lists them under `trial`."""
    left_out: str
    """The place that is left empty; empty where every place is filled."""
    looser: Length
    """How much lower its stack is than that of the trial build that read nothing."""
    leaves: Length
    """What it leaves at least, in every drum that a build from what is on hand could serve."""
    sure: bool
    """Whether that is more than the gauge needs to tell it from nothing."""


@dataclass(frozen=True, slots=True)
class NoReading:
    """A gap that read nothing."""

    readings: dict[str, tuple[int, ...]]
    """The readings that found nothing, with the places, from 1, where they did."""
    places: dict[str, int]
    """At how many places each was taken."""
    trial: NextTrial | None
    """None where other readings are lacking too, where nothing on hand can be put together, or
    where a layout's space is not the trial stack and the reading, as with a window on a height."""


@dataclass(frozen=True, slots=True)
class _Lowest:
    """The lowest stack of one layout from what is on hand."""

    assembly: GapAssembly
    looser: Length
    """How much lower it is than the trial build that was tried."""
    needs: Length
    """What the trial build that was tried must leave for this layout to reach its window."""


def no_readings(case: Case, clock: Clock, shelves: Shelves | None = None) -> dict[str, NoReading]:
    """Find the gaps of a job that read nothing, each with the trial build to make next.

    Parameters
    ----------
    case
        The job's files as read.
    clock
        The time that is left.
    shelves
        The shelves of jobs that are solved together, each read once.

    Returns
    -------
    dict of NoReading
        By the gap's name, in the unit file's order.

    Raises
    ------
    InputError
        Where the shelf cannot be read.
    """
    found = {}
    for name in case.unit.gaps:
        gap = JobGap(case, name)
        nothing = gap.no_reading()
        if nothing:
            places = {reading: len(gap.needed(reading).at) for reading in nothing}
            found[name] = NoReading(nothing, places, _next_trial(gap, clock, shelves or Shelves()))
    return found


def _next_trial(gap: JobGap, clock: Clock, shelves: Shelves) -> NextTrial | None:
    """Choose the loosest trial build, with a place left out where that is needed to read it."""
    reading, *others = gap.missing()
    if others or gap.trial is None:
        return None
    if not all(_measures(gap, layout, reading) for layout in gap.layouts.values()):
        return None
    lots = shelves.stock(gap.case, (gap.name,)).on_hand
    lowest = [*_lowest(gap, reading, lots, clock)]
    if not lowest:
        return None
    needs = min(one.needs for one in lowest)
    loosest = max(lowest, key=lambda one: one.looser)
    tells = gap.case.tells(gap.gauge_of(reading))
    filled = _trial(loosest, gap.case, needs, tells, "")
    if filled.sure:
        return filled
    label = _to_leave_out(gap, loosest.assembly)
    return _trial(loosest, gap.case, needs, tells, label) if label else filled


def _lowest(gap: JobGap, reading: str, lots: tuple[Lot, ...], clock: Clock) -> Iterator[_Lowest]:
    """Yield the lowest stack on hand of each layout."""
    from solver.rebuild.loosest import loosest

    at_nothing = move_reading(gap.case, reading, gap.name).case
    for layout in gap.layouts.values():
        alone = _only(at_nothing, gap, layout)
        instance = instance_of(alone, lots, (gap.name,))
        build = loosest(instance, clock.rest())
        if build is not None:
            left = Length(gap_of(instance, build, 0) * instance.step)
            height = JobGap(alone, gap.name).space(layout.name).length - left
            low = layout.window.gap.low or ZERO
            assembly = assemblies_of(alone, instance, build)[0]
            yield _Lowest(assembly, gap.trial_stack(layout) - height, low - left)


def _measures(gap: JobGap, layout: Arrangement, reading: str) -> bool:
    """Say whether a layout's space is the trial stack and, one to one, the reading."""
    formula = layout.space
    whole = formula.trial_factor == 1 and formula.factor(reading) == 1
    return whole and layout.sign == 1 and gap.reads_gap(layout, reading)


def _only(case: Case, gap: JobGap, layout: Arrangement) -> Case:
    """Return the case with one layout of the gap allowed."""
    if not gap.written.layouts:
        return case
    work = case.job.gaps.get(gap.name) or GapJob()
    mine = {**case.job.gaps, gap.name: work.model_copy(update={"layout": layout.name})}
    return replace(case, job=case.job.model_copy(update={"gaps": mine}))


def _to_leave_out(gap: JobGap, loosest: GapAssembly) -> str:
    """Return the place that opens the gap most when empty; never a ring, which it is read at."""
    layout = gap.written.arrangements[gap.written.layout_meant(loosest.layout)]
    opens = {
        label: _thickness(gap.case, loosest, label)
        for index, label in selective(gap.case.unit, layout)
        if layout.stack[index].groove is None
        and gap.case.unit.family_of(layout.stack[index].part).kind != "ring"
    }
    label = max(opens, key=lambda one: opens[one], default="")
    return label if label and opens[label] > ZERO else ""


def _thickness(case: Case, build: GapAssembly, label: str) -> Length:
    """Return what the parts at a place take from the gap; zero for no place."""
    gap = case.unit.gaps[build.name]
    layout = gap.arrangements[gap.layout_meant(build.layout)]
    factors = {label: layout.stack[index].factor for index, label in selective(case.unit, layout)}
    here = (step.thickness for step in build.steps if step.lot and step.label == label)
    return sum(here, ZERO) * factors.get(label, 1)


def _trial(loosest: _Lowest, case: Case, needs: Length, tells: Length, label: str) -> NextTrial:
    """Return a trial build with a place left out, or with all places filled."""
    listed = listed_parts(case, loosest.assembly)
    layout = case.unit.gaps[loosest.assembly.name].arrangements[listed.layout or ""]
    parts = tuple(
        (LEFT_OUT,) if here == label else tuple(texts)
        for (_, here), texts in zip(selective(case.unit, layout), listed.parts, strict=True)
    )
    looser = loosest.looser + _thickness(case, loosest.assembly, label)
    leaves = needs + looser
    return NextTrial(
        listed.model_copy(update={"parts": parts}), label, looser, leaves,
        sure=looser > ZERO and leaves > tells,
    )  # fmt: skip
