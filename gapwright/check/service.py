"""The service of `check`: gaps after assembly against the promise, and the least change."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gapwright.check.answer import Check, OtherParts
from gapwright.fit.assembly import assemblies_of, fetched
from gapwright.fit.diagnostics import explained
from gapwright.fit.listed_parts import listed_parts
from gapwright.fit.part_remarks import remarks_of
from gapwright.fit.service import ready, reported
from gapwright.record.promise import one_of, standing_promise
from gapwright.record.reading import job_case
from gapwright.record.sizes import counted
from gapwright.record.state import check_promise
from gapwright.shelf.on_hand import Shelves
from solver.engines.limits import Clock, Limits
from solver.problem.from_case import instance_of
from solver.problem.solution import Fit, NoFit
from specs.errors import InputError
from specs.gaps.built import built, parts_of, promised_builds, promised_parts
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
    from specs.models.record import Promised, PromisedGap, Taken


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
    clock, shelves = Clock(limits or Limits()), Shelves()
    build = _went_in(case, shelves, clock)
    gaps = _built(case, build)
    promised = build.promise.gaps if build.promise else {}
    others = (
        _other_parts(case, gap.gap, promised[gap.gap], build.parts[gap.gap])
        for gap in gaps
        if gap.other_parts
    )
    check = Check(
        case, tuple(gaps), remarks_of(case, [gap.gap for gap in gaps]), (), promise=build.promise,
        other_parts=tuple(others), chosen_anew=build.chosen_anew,
    )  # fmt: skip
    if check.unread:
        return check
    check = replace(check, causes=tuple(suspected_causes(case, gaps)))
    return check if check.lands else replace(check, change=_change(check, build, shelves, clock))


def measured_gaps(case: Case, clock: Clock) -> list[Built]:
    """Return each gap that was measured after assembly, with its promise.

    Raises InputError where nothing was measured, or nothing was promised.
    """
    return _built(case, _went_in(case, Shelves(), clock))


@dataclass(frozen=True, slots=True)
class _WentIn:
    """The parts that went into a job's gaps, and where they are known from."""

    parts: dict[str, Parts]
    """By gap: as the job lists them, or else as promised, or else as chosen anew."""
    drawn: Counter[str]
    """How many of them each entry of the shelf gave that still counts them."""
    promise: Promised | None
    chosen_anew: tuple[str, ...] = ()
    """Measured gaps whose parts are neither listed nor promised."""


def _measured(case: Case) -> dict[str, AsBuilt]:
    """Return what each gap measured after assembly, in the unit file's order."""
    work = ((name, case.job.gaps.get(name)) for name in case.unit.gaps)
    return {name: gap.as_built for name, gap in work if gap and gap.as_built}


def _built(case: Case, build: _WentIn) -> list[Built]:
    """Compare each gap that was measured with what was promised of it, or what its parts make."""
    promised = build.promise.gaps if build.promise else {}
    return [
        built(JobGap(case, name), as_built, build.parts[name], promised.get(name))
        for name, as_built in _measured(case).items()
    ]


def _other_parts(case: Case, gap: str, promised: PromisedGap, went_in: Parts) -> OtherParts:
    """Tell the parts that went into a gap from those that were promised of it."""
    was, now = (counted(case, {gap: parts}) for parts in (promised_parts(promised), went_in))
    return OtherParts(gap, promised.gap, was - now, now - was)


def _went_in(case: Case, shelves: Shelves, clock: Clock) -> _WentIn:
    """Find out of which parts each gap was built: listed, promised, or chosen anew."""
    from solver.rebuild.fit import fit

    measured = _measured(case)
    if not measured:
        sentence = "nothing was measured after assembly; write it under a gap's `as built`"
        raise InputError(case.origins["job"].problem(("gaps",), sentence))
    promise = standing_promise(case, shelves.book(case))
    if promise:
        check_promise(case, promise)
    known = promised_builds(promise)
    given = ((name, parts_of(one)) for name, one in measured.items())
    known |= {name: parts for name, parts in given if parts is not None}
    solved, _ = ready(case)
    stock = shelves.stock(case, solved)
    on_hand = stock.on_hand
    drawn = _drawn(case, known, promise.takes if promise else (), on_hand)
    lacking = tuple(name for name in measured if name not in known)
    if known.keys() >= {*solved} or (promise and not lacking):
        return _WentIn(known, drawn, promise)
    in_hand = tuple(lot for lot in on_hand if lot.own) if stock.issued else on_hand
    found = fit(instance_of(case, in_hand, solved), clock.rest())
    if stock.issued and not isinstance(found, Fit):  # more went in than the ledger issued
        found = fit(instance_of(case, on_hand, solved), clock.rest())
    if isinstance(found, Fit) and found.proved:
        lines = assemblies_of(case, found.instance, found.build)
        anew = tuple(gap for gap in lines if gap.name not in known)
        parts = {gap.name: listed_parts(case, gap) for gap in anew}
        fetch = Counter(lot.entry for _, lot in fetched(anew) if not lot.own)
        return _WentIn(parts | known, drawn + fetch, promise, lacking)
    if lacking:
        path = ("gaps", lacking[0], "as built")
        sentence = "nothing was promised for these files; list the parts that went in: parts: [...]"
        raise InputError(case.origins["job"].problem(path, sentence))
    return _WentIn(known, drawn, promise)


def _drawn(
    case: Case, parts: dict[str, Parts], takes: Iterable[Taken], on_hand: tuple[Lot, ...]
) -> Counter[str]:
    """Count by entry the parts that went in and still count as on hand.

    These are what the promise takes of a lot, and what was tried from the shelf and built in.
    """
    went_in = Counter(
        (part.family, part.size, part.thickness)
        for name, listed in parts.items()
        for places in JobGap(case, name).build(listed).parts.values()
        for part in places
    )
    wanted = {one.model_copy(update={"count": 1}): one.count for one in takes}
    given = [0] * len(on_hand)
    for promised in (True, False):
        for at, lot in enumerate(on_hand):
            if lot.own:
                continue
            part, one = (lot.family, lot.size, lot.thickness), one_of(case, lot)
            most = wanted.get(one, 0) if promised else lot.count * lot.tried
            some = min(lot.count - given[at], went_in[part], most)
            given[at] += some
            went_in[part] -= some
            if promised and some:
                wanted[one] -= some
    found: Counter[str] = Counter()
    for lot, some in zip(on_hand, given, strict=True):
        found[lot.entry] += some
    return +found


def _less(lots: Iterable[Lot], drawn: Counter[str]) -> Iterator[Lot]:
    """Yield the lots of a shelf without the parts that were drawn from its entries."""
    left = Counter(drawn)
    for lot in lots:
        some = 0 if lot.own else min(lot.count, left[lot.entry])
        left[lot.entry] -= some
        if lot.count > some:
            yield replace(lot, count=lot.count - some)


def _change(check: Check, build: _WentIn, shelves: Shelves, clock: Clock) -> Report:
    """Solve again from the parts that are in, each gap as found, changing as little as will do."""
    from solver.rebuild.fit import fit

    closed = frozenset(gap.gap for gap in check.gaps if gap.inside)
    case = replace(_as_it_stands(check.case, build.parts), kept_new=closed)
    gaps = tuple(name for name in ready(case)[0] if name in build.parts)
    stock = shelves.stock(case, gaps)
    left = (*_less(stock.on_hand, build.drawn), *stock.for_sale)
    more = {gap.gap: gap.found - gap.made for gap in check.gaps}
    instance = instance_of(case, left, gaps, larger=more)
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
