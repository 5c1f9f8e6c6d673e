"""The service of `check`: gaps after assembly against the promise, and the least change."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from gapwright.check.answer import Check
from gapwright.fit.assembly import assemblies_of, fetched
from gapwright.fit.diagnostics import explained
from gapwright.fit.listed_parts import listed_parts
from gapwright.fit.part_remarks import remarks_of
from gapwright.fit.service import ready, reported
from gapwright.record.reading import job_case
from gapwright.shelf.on_hand import stock_of
from solver.engines.limits import Clock, Limits
from solver.problem.from_case import instance_of
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError
from specs.gaps.built import built, parts_of
from specs.gaps.job_gap import JobGap
from specs.gaps.suspected_causes import suspected_causes
from specs.models.job import GapJob, Parts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from gapwright.fit.report import Report
    from specs.gaps.built import Built
    from specs.models.case import Case
    from specs.models.job import AsBuilt
    from specs.models.lot import Lot


def check_job(
    job: Path,
    unit: Path | None = None,
    shelf: Path | str | None = None,
    limits: Limits | None = None,
) -> Check:
    """Compare what was measured after assembly with what was promised, and say what to change.

    Parameters
    ----------
    job
        The job's file, with `as built` under each gap that was measured.
    unit, shelf
        The unit's file and the shelf's file, kit or ledger, where the job's own are not meant.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.

    Returns
    -------
    Check
        Each gap as measured and as promised, the single mistakes that would explain a difference,
        and the least change where a gap lies out of its window.

    Raises
    ------
    InputError
        With all that is wrong with the files, or where nothing was measured or promised.

    """
    return check_case(job_case(job, unit, shelf), limits)


def check_case(case: Case, limits: Limits | None = None) -> Check:
    """Compare what was measured after assembly with what was promised, for a case as read.

    Raises InputError where nothing was measured, or nothing was promised.
    """
    clock = Clock(limits or Limits())
    gaps, parts, drawn = _measured(case, clock)
    remarks = remarks_of(case, [gap.gap for gap in gaps])
    check = Check(case, tuple(gaps), remarks, ())
    if check.unread:
        return check
    check = replace(check, causes=tuple(suspected_causes(case, gaps)))
    return check if check.lands else replace(check, change=_change(check, parts, drawn, clock))


def measured_gaps(case: Case, clock: Clock) -> list[Built]:
    """Return each gap that was measured after assembly, with its promise.

    Raises InputError where nothing was measured, or nothing was promised.
    """
    return _measured(case, clock)[0]


def _measured(case: Case, clock: Clock) -> tuple[list[Built], dict[str, Parts], Counter[str]]:
    measured = {name: work.as_built for name, work in case.job.gaps.items() if work.as_built}
    if not measured:
        sentence = "nothing was measured after assembly; write it under a gap's `as built`"
        raise InputError(case.origins["job"].problem(("gaps",), sentence))
    parts, drawn = _parts(case, measured, clock)
    names = [name for name in case.unit.gaps if name in measured]
    return [built(JobGap(case, name), measured[name], parts[name]) for name in names], parts, drawn


def _parts(
    case: Case, measured: dict[str, AsBuilt], clock: Clock
) -> tuple[dict[str, Parts], Counter[str]]:
    """Return the parts each gap was built of, and how many of them each entry of the shelf gave.

    Of parts that the job lists, those came from the shelf that were tried from it.
    """
    from solver.rebuild.fit import fit

    given = {name: parts_of(as_built) for name, as_built in measured.items()}
    listed = {name: parts for name, parts in given.items() if parts is not None}
    solved, _ = ready(case)
    on_hand = stock_of(case, solved).on_hand
    tried = _tried(case, listed, on_hand)
    if set(solved) <= listed.keys():
        return listed, tried
    promise = fit(instance_of(case, on_hand, solved), clock.rest())
    if isinstance(promise, Fit) and promise.proved:
        lines = assemblies_of(case, promise.instance, promise.build)
        promised = [gap for gap in lines if gap.name not in listed]
        parts = {gap.name: listed_parts(case, gap) for gap in promised}
        fetch = (lot for _, lot in fetched(tuple(promised)))
        return parts | listed, tried + Counter(lot.entry for lot in fetch if not lot.own)
    wanting = [name for name in measured if name not in listed]
    if wanting:
        path = ("gaps", wanting[0], "as built")
        sentence = "nothing was promised for these files; list the parts that went in: parts: [...]"
        raise InputError(case.origins["job"].problem(path, sentence))
    return listed, tried


def _tried(case: Case, listed: dict[str, Parts], on_hand: Iterable[Lot]) -> Counter[str]:
    """Count by entry the parts of the shelf that were tried and are built in as listed."""
    went_in = Counter(
        (part.family, part.size, part.thickness)
        for name, parts in listed.items()
        for places in JobGap(case, name).build(parts).parts.values()
        for part in places
    )
    found: Counter[str] = Counter()
    for lot in on_hand:
        if lot.tried and not lot.own:
            part = lot.family, lot.size, lot.thickness
            some = min(lot.count, went_in[part])
            went_in[part] -= some
            found[lot.entry] += some
    return found


def _less(lots: Iterable[Lot], drawn: Counter[str]) -> Iterator[Lot]:
    """Yield the lots of a shelf without the parts that were drawn from its entries."""
    left = Counter(drawn)
    for lot in lots:
        some = 0 if lot.own else min(lot.count, left[lot.entry])
        left[lot.entry] -= some
        if lot.count > some:
            yield replace(lot, count=lot.count - some)


def _change(check: Check, parts: dict[str, Parts], drawn: Counter[str], clock: Clock) -> Report:
    """Solve again from the parts that are in, each gap as found, changing as little as will do."""
    from solver.rebuild.fit import fit

    closed = frozenset(gap.gap for gap in check.gaps if gap.inside)
    case = replace(_as_it_stands(check.case, parts), kept_new=closed)
    gaps = tuple(name for name in ready(case)[0] if name in parts)
    stock = stock_of(case, gaps)
    left = (*_less(stock.on_hand, drawn), *stock.for_sale)
    instance = instance_of(case, left, gaps, larger={gap.gap: gap.more for gap in check.gaps})
    answer = fit(instance, clock.rest())
    report = reported(case, answer)
    if isinstance(answer, NoFit):
        return explained(report, answer, clock, why=False)
    if isinstance(answer, Fit):
        return replace(report, gaps=assemblies_of(case, instance, answer.build))
    return report


def _as_it_stands(case: Case, parts: dict[str, Parts]) -> Case:
    """Return the case with the parts that went in, and with `change` as its first aim."""
    gaps = dict(case.job.gaps)
    for name, listed in parts.items():
        work = gaps.get(name, GapJob())
        tried = JobGap(case, name).trial  # it may mean the build that was in before
        gaps[name] = work.model_copy(update={"now": listed, "trial": tried})
    first = ("change", *(aim for aim in case.aims if aim != "change"))
    return replace(case, job=case.job.model_copy(update={"gaps": gaps, "aims": first}))
