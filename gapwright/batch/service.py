"""The service of `batch`: it reads jobs, plans them from one shelf, and finds what is short."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.batch.earlier_plan import read_earlier
from gapwright.fit.assembly import assemblies_of
from gapwright.fit.diagnostics import examined
from gapwright.fit.no_reading import no_readings
from gapwright.fit.part_remarks import PartRemark, remarks_of, worn_lots
from gapwright.fit.report import BuildReport, begun
from gapwright.fit.service import check_solvable, ready, sorted_gaps
from gapwright.record.former_findings import former_findings
from gapwright.record.former_units import Records
from gapwright.record.promise import promise_of, standing_closing
from gapwright.record.reading import job_cases
from gapwright.shelf.on_hand import Shelves
from gapwright.today import today
from inventory import set_apart
from solver.batch.instance import BatchJob, batch_of
from solver.engines.limits import Clock, Limits
from solver.problem.from_case import instance_of
from specs.errors import InputError, Problem, listed
from specs.files.shelf_address import without_password
from specs.findings import near
from specs.gaps.job_gap import in_the_drum
from specs.parts.lookup import NamedPart

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.no_reading import NoReading
    from gapwright.fit.report import Reserved
    from gapwright.record.former_findings import FormerFindings
    from solver.batch.allocation import Allocation
    from solver.batch.instance import Batch, Kept
    from solver.batch.planning import Plan
    from solver.batch.purchase import Order
    from solver.batch.shadow_prices import ShadowPrice
    from solver.batch.shortages import Lacking
    from solver.problem.instance import Build, Instance
    from specs.models.case import Case
    from specs.models.lot import Lot
    from specs.models.record import Promised

URGENT, SOON = 2, 7  # days
EXPLAIN_SECONDS = 30
FEW_JOBS = 60  # up to so many, every level is looked at for what one more part would bring


@dataclass(frozen=True, slots=True)
class PlanOptions:
    """The options of a plan besides its jobs."""

    pin: tuple[str, ...] = ()
    hold: tuple[str, ...] = ()
    keep: Path | None = None
    budget: int | None = None
    """In ten-thousandths of the currency."""
    day: str = ""
    """The day to count due dates from; today where it is empty."""
    records: Records | None = None
    """The records to hold the readings against; those of the jobs' own ledgers unless given."""

    def of(self, jobs: Collection[str]) -> PlanOptions:
        """Return the options that apply to a plan of only these jobs."""
        pin, hold = (
            tuple(name for name in names if name in jobs) for names in (self.pin, self.hold)
        )
        return replace(self, pin=pin, hold=hold)

    def check_names(self, jobs: Iterable[str]) -> None:
        """Raise InputError where an option names no job of these, or one job is pinned and held."""
        names = sorted(jobs)
        problems = [
            Problem(f"--{option}: {near(name, names, 'the jobs are')}")
            for option, asked in (("pin", self.pin), ("hold", self.hold))
            for name in asked
            if name not in names
        ]
        both = sorted({*self.pin} & {*self.hold})
        problems += [
            Problem(f"{name} is pinned and held back; take one of the two") for name in both
        ]
        if problems:
            raise InputError(*problems)


@dataclass(frozen=True, slots=True)
class PlanDiagnostics:
    """The findings around a plan: the parts that are short, and what to order."""

    lacking: dict[int, Lacking] = field(default_factory=dict)
    worths: tuple[ShadowPrice, ...] = ()
    looked_at: int = 0
    """How many levels were looked at for what one more part would bring."""
    for_all: Order | None = None
    one_more: Order | None = None
    within: Order | None = None


@dataclass(frozen=True, slots=True)
class PlanReport:
    """A plan with its cases and every finding around it."""

    cases: tuple[Case, ...]
    """In the order of the plan's jobs."""
    plan: Plan
    diagnostics: PlanDiagnostics
    day: str
    waiting: tuple[dict[str, tuple[str, ...]], ...]
    """For each job the gaps that wait, with the readings they wait for."""
    unread: tuple[dict[str, NoReading], ...]
    """For each job those of them that read nothing; a job with no other gap is not planned."""
    draws: tuple[Allocation, ...]
    remarks: tuple[tuple[PartRemark, ...], ...]
    """For each job what is to be minded of its parts."""
    built: dict[int, BuildReport]
    """What is built of every job that is completed, with all that `fit` would say of it."""
    former: tuple[FormerFindings, ...]
    """For each job what former units say of it."""
    budget: int | None = None
    reserved: dict[str, Reserved] | None = None
    """What was posted to the ledger for each job that is completed, where that was asked for."""
    planned_again: int = 0
    """How often the shelf changed while this was planned, so that it was planned again."""
    closed: tuple[str, ...] = ()
    """Jobs that are closed, and so not planned; of all shelves, where this is the first of some."""

    @property
    def gaps(self) -> dict[int, tuple[GapAssembly, ...]]:
        """The gaps of every job that is completed."""
        return {job: built.gaps for job, built in self.built.items()}

    @property
    def builds(self) -> list[BuildReport]:
        """What is built of every job that is completed."""
        return [*self.built.values()]

    def promised(self, job: int) -> Promised | None:
        """Return the promise of a job: as its ledger has it, or else as this plan would promise it.

        None where the job is not completed.
        """
        if job not in self.built:
            return None
        posted = self.reserved and self.reserved.get(self.cases[job].job.name)
        return posted.promised if posted else promise_of(self.built[job], self.day)

    @property
    def length(self) -> None:
        """None: each job is shown in its unit file's own unit of length unless asked otherwise."""


@dataclass(frozen=True, slots=True)
class BatchProblem:
    """Jobs as instances, ready to be planned, with the options of the plan."""

    cases: tuple[Case, ...]
    """In the order of the batch's jobs."""
    unread: tuple[dict[str, NoReading], ...]
    """For each job the gaps that read nothing, each with the trial build to make next."""
    worn: tuple[tuple[Lot, ...], ...]
    """For each job the lots of the shelf that are worn by its unit's limits."""
    former: tuple[FormerFindings, ...]
    """For each job what former units say of it."""
    batch: Batch
    options: PlanOptions
    """With the day that due dates were counted from."""


def plan_jobs(
    paths: Iterable[Path],
    unit: Path | None = None,
    shelf: Path | str | None = None,
    limits: Limits | None = None,
    options: PlanOptions | None = None,
) -> PlanReport:
    """Plan several rebuilds from one shelf: which to complete, with which parts, what to order.

    Parameters
    ----------
    paths
        Job files, folders of them, or tables of readings with one row for each drum.
    unit, shelf
        The unit's file and the shelf's file, kit or ledger, where the jobs' own are not meant.
    limits
        How long to search; 60 seconds unless stated.
    options
        What is asked besides: jobs to pin or to hold back, an earlier plan, a budget, the day.

    Returns
    -------
    PlanReport
        The plan, what is built of each job, what the others lack, and what to order.

    Raises
    ------
    InputError
        With all that is wrong with the files, or where the jobs name several shelves.

    """
    return plan_cases(job_cases(paths, unit, shelf), limits, options)


def plan_cases(
    cases: Iterable[Case], limits: Limits | None = None, options: PlanOptions | None = None
) -> PlanReport:
    """Plan jobs that were read.

    Parameters
    ----------
    cases
        The jobs' files as read.
    limits
        How long to search; 60 seconds unless stated.
    options
        The options of the plan.

    Raises
    ------
    InputError
        Where the jobs name several shelves, an option names no job of these, or a job is not ready.
    """
    (cases, closed), options = open_jobs(cases), options or PlanOptions()
    _check_one_shelf(cases)
    options.check_names([*closed, *(case.job.name for case in cases)])
    posed = batch_problem(cases, options)
    found = solved(posed.batch, posed.options.budget, limits or Limits())
    return replace(reported(posed, *found), closed=closed)


def open_jobs(cases: Iterable[Case]) -> tuple[tuple[Case, ...], tuple[str, ...]]:
    """Return the jobs that are not closed, and the names of the others, which are not planned.

    Raises InputError where all are closed.
    """
    shelves, open_, closed = Shelves(of_many=True), [], []
    for case in cases:
        if standing_closing(case, shelves.book(case)):
            closed.append(case.job.name)
        else:
            open_.append(case)
    if closed and not open_:
        raise InputError(Problem(f"all of these jobs are closed: {listed(closed)}"))
    return tuple(open_), tuple(closed)


def batch_problem(cases: Iterable[Case], options: PlanOptions) -> BatchProblem:
    """Read the shelf of some jobs and make them ready to be planned.

    Raises InputError with all that is wrong with any of them.
    """
    ordered = tuple(sorted(cases, key=lambda case: case.job.name))
    options = replace(options, day=options.day or today().isoformat())
    shelves = Shelves(of_many=True)
    clock = Clock(Limits(EXPLAIN_SECONDS))
    unread = tuple(no_readings(case, clock, shelves) for case in ordered)
    batch, worn = _batch(ordered, unread, shelves, options)
    records = options.records or Records()
    former = tuple(former_findings(case, sorted_gaps(case)[0], records) for case in ordered)
    return BatchProblem(ordered, unread, worn, former, batch, options)


def solved(batch: Batch, budget: int | None, limits: Limits) -> tuple[Plan, PlanDiagnostics]:
    """Plan a batch and look around the plan.

    It needs no file and no shelf, so it may run in another process or on another machine. A plan
    that is not proved is not looked around, for time is up or somebody does not want to wait.

    Parameters
    ----------
    batch
        The jobs as instances, with the parts they may draw.
    budget
        The most to spend on an order, in ten-thousandths of the currency; None for no such order.
    limits
        How long to search.
    """
    from solver.batch.planning import plan

    clock = Clock(limits)
    found = plan(batch, clock.rest())
    return found, _diagnosed(found, budget, clock) if found.proved else PlanDiagnostics()


def reported(posed: BatchProblem, found: Plan, diagnostics: PlanDiagnostics) -> PlanReport:
    """Report a plan: which parts, from which bins, go into each job that is completed."""
    from solver.batch.allocation import allocations

    taken = allocations(found)
    mine: defaultdict[int, list[Allocation]] = defaultdict(list)
    for draw in taken:
        mine[draw.job].append(draw)
    built = {
        job: _built(posed, found, job, build, mine[job])
        for job, build in enumerate(found.builds)
        if build is not None
    }
    return PlanReport(
        cases=posed.cases,
        plan=found,
        diagnostics=diagnostics,
        day=posed.options.day,
        waiting=tuple(sorted_gaps(case)[1] for case in posed.cases),
        unread=posed.unread,
        draws=taken,
        remarks=tuple(
            built[nth].remarks
            if nth in built
            else remarks_of(case, _looked_at(posed, nth), job.instance, worn=posed.worn[nth])
            for nth, (case, job) in enumerate(zip(posed.cases, found.batch.jobs, strict=True))
        ),
        built=built,
        former=posed.former,
        budget=posed.options.budget,
    )


def _tried_first(case: Case, instance: Instance) -> Instance:
    """Return a job's instance with the shelf's parts in its trial build before equal ones."""
    tried = in_the_drum(case, [gap.name for gap in instance.gaps]).tried
    choices = []
    for choice in instance.choices:
        part = NamedPart(choice.family, choice.size, choice.lots[0].thickness)
        if choice.own or not choice.count or not tried[part]:
            choices.append(choice)
            continue
        lots, lacking = set_apart(case, choice.lots, Counter({part: tried[part]}))
        tried[part] = lacking[part]
        choices.append(replace(choice, lots=lots))
    return replace(instance, choices=tuple(choices))


def _looked_at(posed: BatchProblem, job: int) -> list[str]:
    """Return the gaps of a job whose parts are looked at: planned, or waiting with no reading."""
    return [*(gap.name for gap in posed.batch.jobs[job].instance.gaps), *posed.unread[job]]


def _built(
    posed: BatchProblem, found: Plan, job: int, build: Build, mine: list[Allocation]
) -> BuildReport:
    """Report the build of one job: its parts with their bins, and what is to be minded."""
    from solver.batch.allocation import with_its_draws

    case = posed.cases[job]
    instance = _tried_first(case, with_its_draws(found, job, mine))
    layouts = {
        gap.name: gap.layouts[filled.layout].name
        for gap, filled in zip(instance.gaps, build, strict=True)
    }
    gaps = assemblies_of(case, instance, build)
    remarks = remarks_of(case, _looked_at(posed, job), instance, gaps, posed.worn[job])
    report = BuildReport(**begun(case, layouts), remarks=remarks, former=posed.former[job])
    return examined(report, instance, build, gaps)


def shelf_of(case: Case) -> str:
    """Return where a job's shelf lies, as messages name it, without a password."""
    return without_password(case.ledger) or case.origins["shelf"].source.file


def by_shelf(cases: Iterable[Case]) -> dict[str, list[Case]]:
    """Group jobs by their shelf, shelves in the order of their names."""
    found: dict[str, list[Case]] = {}
    homes: dict[str, str] = {}
    for case in cases:
        home = case.ledger or str(Path(shelf_of(case)).resolve())
        found.setdefault(homes.setdefault(home, shelf_of(case)), []).append(case)
    return dict(sorted(found.items()))


def _check_one_shelf(cases: tuple[Case, ...]) -> None:
    shelves = [*by_shelf(cases)]
    if len(shelves) > 1:
        found = ", ".join(Path(shelf).name for shelf in shelves[:4])
        sentence = f"these jobs name {len(shelves)} shelves ({found}); plan each shelf by itself"
        raise InputError(Problem(sentence))


def _batch(
    cases: tuple[Case, ...], unread: tuple[dict[str, NoReading], ...], shelves: Shelves,
    options: PlanOptions,
) -> tuple[Batch, tuple[tuple[Lot, ...], ...]]:  # fmt: skip
    """Make a batch of the jobs, and find the worn lots of the shelf for each."""
    earlier = read_earlier(options.keep) if options.keep else {}
    problems: list[Problem] = []
    for case, nothing in zip(cases, unread, strict=True):
        try:
            check_solvable(case, sorted_gaps(case)[0]) if nothing else ready(case)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    jobs, worn = [], []
    built = [(case, sorted_gaps(case)[0]) for case in cases]
    for (case, solved), stock in zip(built, shelves.common_stock(built), strict=True):
        jobs.append(_job(case, solved, stock.all, options, earlier))
        worn.append(worn_lots(case.unit, stock.on_hand))
    return batch_of(jobs), tuple(worn)


def _job(
    case: Case, solved: tuple[str, ...], lots: tuple[Lot, ...], options: PlanOptions,
    earlier: dict[str, Kept],
) -> BatchJob:  # fmt: skip
    name = case.job.name
    return BatchJob(
        name=name,
        instance=instance_of(case, lots, solved),
        priority=weight(case, options.day),
        pinned=name in options.pin,
        held=name in options.hold or not solved,  # all wait, and there is nothing to build
        kept={
            gap: (was[0] or next(iter(case.unit.gaps[gap].arrangements)), was[1])
            for gap, was in earlier.get(name, {}).items()
            if gap in solved
        },
    )


def weight(case: Case, day: str) -> int:
    """Return the weight of completing a job: its priority, times a factor for its due date.

    The factor is four where the job is due within two days or overdue, two within seven days, one
    otherwise. The rule is printed with the plan. `day` is the day to count from, as YYYY-MM-DD.
    """
    if case.job.due is None:
        return case.job.priority
    days = (date.fromisoformat(case.job.due) - date.fromisoformat(day)).days
    return case.job.priority * (4 if days <= URGENT else 2 if days <= SOON else 1)


def _diagnosed(found: Plan, budget: int | None, clock: Clock) -> PlanDiagnostics:
    """Find what is short and what to order, within at most EXPLAIN_SECONDS."""
    from solver.batch.purchase import order_for_all, order_for_one_more, order_within
    from solver.batch.shadow_prices import shadow_prices_of
    from solver.batch.shortages import lacking

    rest = clock.rest()
    clock = Clock(replace(rest, seconds=min(rest.seconds, EXPLAIN_SECONDS)))
    batch, left = found.batch, None in found.builds
    depth = len(batch.levels)
    if len(batch.jobs) > FEW_JOBS:
        depth = sum(level.aim == "complete" for level in batch.levels)
    # Shortages get a third of the time; orders and shadow prices share what is left.
    part = Clock(replace(clock.rest(), seconds=clock.left / 3))
    return PlanDiagnostics(
        lacking={one.job: one for one in lacking(found, part)},
        one_more=order_for_one_more(found, clock) if left else None,
        for_all=order_for_all(batch, clock) if left else None,
        within=None if budget is None else order_within(batch, budget, clock),
        worths=tuple(shadow_prices_of(found, depth, clock)),
        looked_at=depth,
    )
