"""A job built from a kit: the parts it takes, and the parts left over.

The job is solved from the kit alone. Parts of its trial builds and parts now in the unit are used
only where the job keeps a place as it is. So the parts built in and the parts left add up to the
kit.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gapwright.fit.assembly import fetched
from gapwright.fit.diagnostics import diagnose, explained
from gapwright.fit.no_reading import no_readings
from gapwright.fit.service import ready, reported
from gapwright.record.former_findings import former_findings
from gapwright.record.former_units import Records
from gapwright.shelf.on_hand import stock_of
from solver.engines.limits import Clock, Limits
from solver.problem.from_case import instance_of
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError
from specs.gaps.job_gap import in_the_drum, lots_of
from specs.models.kit import ONE_THICKNESS
from specs.parts.kit_contents import gaps_of, held

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.fit.report import Report
    from specs.models.case import Case
    from specs.models.lot import Lot
    from specs.parts.kit_contents import Sizes


@dataclass(frozen=True, slots=True)
class LeftOver:
    """A job built from a kit, with the parts it uses and those left over, by family and size."""

    report: Report
    used: Sizes
    left: Sizes
    """All of the kit where nothing fits."""


def left_over(case: Case, options: Iterable[str] = (), limits: Limits | None = None) -> LeftOver:
    """Build a job from its kit alone.

    Parameters
    ----------
    case
        The kit's files with the job; the kit is the case's shelf.
    options
        The names of the kit's options taken with it.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.

    Raises
    ------
    InputError
        Where no gap that the kit is for has all its readings.
    """
    clock = Clock(limits or Limits())
    report = _built(case, clock)
    kit = held(case, options)
    used = _used(report, kit) if isinstance(report.answer, Fit) else Counter()
    return LeftOver(report, used, kit - used)


def _built(case: Case, clock: Clock) -> Report:
    from solver.rebuild.fit import fit

    mine = gaps_of(case)
    ready_now, waiting = ready(case)
    solved = tuple(name for name in ready_now if name in mine)
    if not solved:
        sentence = f"no gap the kit is for has all its readings yet: {', '.join(mine)}"
        raise InputError(case.origins["job"].problem((), sentence))
    answer = fit(instance_of(case, _lots(case, solved), solved), clock.rest())
    report = replace(
        reported(case, answer),
        waiting={name: names for name, names in waiting.items() if name in mine},
        unread={name: one for name, one in no_readings(case, clock).items() if name in mine},
        former=former_findings(case, solved, Records()),
    )
    if isinstance(answer, Fit):
        return diagnose(report, answer, clock)
    return explained(report, answer, clock, why=False) if isinstance(answer, NoFit) else report


def _lots(case: Case, gaps: tuple[str, ...]) -> tuple[Lot, ...]:
    """Return the kit's parts, those that could be bought, and the unit's own that are kept."""
    work = case.job.gaps
    kept = tuple(name for name in gaps if name in work and "now" in work[name].keep.values())
    sold = (lot for lot in stock_of(case, gaps).all if not lot.own)
    return (*sold, *lots_of(case, in_the_drum(case, kept).own))


def _used(report: Report, kit: Sizes) -> Sizes:
    """Count the kit's parts in a build: the chosen ones, and the fixed ones that the kit holds."""
    chosen = Counter((lot.family, lot.size) for _, lot in fetched(report.gaps) if not lot.own)
    fixed = Counter(
        (line.family, ONE_THICKNESS)
        for gap in report.gaps
        for line in gap.steps
        if line.lot is None
    )
    return chosen + (fixed & kit)
