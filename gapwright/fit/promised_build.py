"""The build that was promised for a job, as a report like an answer's, for its sheet."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from gapwright.fit.assembly import assemblies_of
from gapwright.fit.diagnostics import examined
from gapwright.fit.service import reported
from gapwright.record.promise import not_as_promised
from gapwright.shelf.on_hand import stock_of
from inventory.on_hand import set_apart
from solver.problem import judge
from solver.problem.from_case import instance_of
from solver.problem.instance import GapBuild
from solver.problem.solution import Fit
from specs.checks.job import misfits
from specs.gaps.built import promised_parts
from specs.gaps.job_gap import JobGap, in_the_drum
from specs.models.lot import Lot

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.report import Report
    from solver.problem.instance import Instance
    from specs.models.case import Case
    from specs.models.record import Promised


def as_promised(report: Report) -> Report:
    """Return the report of the promise that stands, where the answer differs from it.

    Parameters
    ----------
    report
        The answer to a job, with the promise that stands for it.

    Returns
    -------
    Report
        The promised build, with the answer as its `anew`. The answer itself where nothing was
        promised, where it is as promised, and where the job's files have no place for the promised
        parts any more.
    """
    promised, case = report.standing, report.case
    if promised is None:
        return report
    if report.gaps and not not_as_promised(report):
        return report
    if [*misfits(case, promised, "")]:
        return report
    gaps = tuple(promised.gaps)
    taken, _ = set_apart(case, _taken(case, promised), in_the_drum(case, gaps).tried)
    own = (lot for lot in stock_of(case, gaps).on_hand if lot.own)
    instance = instance_of(case, (*taken, *own), gaps)
    build = _build(case, promised, instance)
    if build is None:
        return report
    lands = tuple(judge.gap_of(instance, build, index) for index in range(len(gaps)))
    answer = Fit(instance, build, lands, values=(), bounds=(), proved=False)
    begun = replace(
        reported(case, answer), standing=promised, anew=report, waiting=report.waiting,
        link=report.link, closed=report.closed, issued=report.issued, equal=((),) * len(gaps),
        former=report.former,
    )  # fmt: skip
    return examined(begun, instance, build, assemblies_of(case, instance, build))


def _taken(case: Case, promised: Promised) -> Iterator[Lot]:
    """Yield what the promise takes from the shelf, as lots, whether they are there now or not."""
    for one in promised.takes:
        as_sold = case.unit.families[one.family].sizes[one.size].nominal
        yield Lot(
            one.family, one.size, one.thickness or as_sold, one.count, condition=one.condition,
            measured=one.thickness is not None, bin=one.bin or "", lot=one.lot or "",
            id=one.code or "", entry=one.code or f"{one.family} {one.size} {one.bin} {one.lot}",
        )  # fmt: skip


def _build(case: Case, promised: Promised, instance: Instance) -> tuple[GapBuild, ...] | None:
    """Return the promised build as choices of an instance; None where one has no place there."""
    left = Counter({at: choice.count for at, choice in enumerate(instance.choices)})
    shared: dict[int, int] = {}
    found = []
    for gap in instance.gaps:
        listed = JobGap(case, gap.name).build(promised_parts(promised.gaps[gap.name]))
        names = [layout.name for layout in gap.layouts]
        if listed.layout not in names:
            return None
        at = names.index(listed.layout)
        parts = []
        for place in gap.layouts[at].places:
            here = []
            for part in listed.parts[place.label]:
                like = (
                    choice
                    for choice in place.takes
                    if (lot := instance.choices[choice].lots[0])
                    and (lot.family, lot.size, lot.thickness)
                    == (part.family, part.size, part.thickness)
                    and left[choice] > 0
                )
                choice = shared.get(place.shared, next(like, -1))
                if choice < 0:
                    return None
                if place.shared not in shared:
                    left[choice] -= 1
                if place.shared >= 0:
                    shared[place.shared] = choice
                here.append(choice)
            parts.append(tuple(here))
        found.append(GapBuild(at, tuple(parts)))
    return tuple(found)
