"""The use case of a batch: read the jobs, plan them, and look at what is short."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from gapwright.desk import ready
from gapwright.lines import GapLines, lines_of
from gapwright.reserve import check_reservable, reserve_together, until_reserved
from gapwright.shelf.on_hand import Shelves
from solver.batch.problem import BatchJob, batch_of
from solver.engine import Clock, Limits
from solver.pose import pose
from specs.errors import InputError, Problem
from specs.findings import near
from specs.several import read_cases

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from gapwright.fit.report import Reserved
    from gapwright.shelf.desk import Said
    from solver.batch.draws import Draw
    from solver.batch.lacking import Lacking
    from solver.batch.order import Order
    from solver.batch.planning import Plan
    from solver.batch.problem import Batch, Kept
    from solver.batch.worth import Worth
    from specs.case import Case

SHAPE = "gapwright batch 1"
URGENT, SOON = 2, 7  # days
EXPLAIN_SECONDS = 30
MOST_PLANS = 3  # where the shelf changes under a plan
FEW_JOBS = 60  # up to so many, every level is looked at for what one more part would bring


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked of a plan besides its jobs."""

    pin: tuple[str, ...] = ()
    hold: tuple[str, ...] = ()
    keep: Path | None = None
    budget: int | None = None
    """In ten-thousandths of the currency."""
    day: str = ""
    """The day to count due dates from; today where it is empty."""


@dataclass(frozen=True, slots=True)
class PlanReport:
    """A plan with all that is to be said about it."""

    cases: tuple[Case, ...]
    """In the order of the plan's jobs."""
    plan: Plan
    day: str
    waiting: tuple[dict[str, tuple[str, ...]], ...]
    """For each job the gaps that wait, with the readings they wait for."""
    draws: tuple[Draw, ...]
    gaps: dict[int, tuple[GapLines, ...]]
    """What is built of every job that is completed."""
    lacking: dict[int, Lacking] = field(default_factory=dict)
    worths: tuple[Worth, ...] = ()
    looked_at: int = 0
    """How many levels were looked at for what one more part would bring."""
    for_all: Order | None = None
    one_more: Order | None = None
    within: Order | None = None
    budget: int | None = None
    reserved: dict[str, Reserved] | None = None
    """What was posted to the ledger for each job that is completed, where that was asked for."""
    planned_again: int = 0
    """How often the shelf changed while this was planned, so that it was planned again."""


def plan_reserved(
    cases: Sequence[Case], said: Said, limits: Limits | None = None, wish: Wish | None = None
) -> PlanReport:
    """Plan jobs and reserve what all of them take together, in one request or not at all.

    Where others meanwhile took something of the plan, it is made again. Raises ChangedShelfError
    where that goes on, InputError without one ledger that can reserve.
    """
    for case in cases:
        check_reservable(case)

    def attempt(again: int) -> PlanReport:
        report = plan_cases(cases, limits, wish)
        builds = [(report.cases[job], gaps) for job, gaps in report.gaps.items()]
        return replace(report, planned_again=again, reserved=reserve_together(builds, said))

    return until_reserved(attempt, MOST_PLANS, "plan")


def plan_jobs(
    paths: Iterable[Path],
    unit: Path | None = None,
    shelf: Path | str | None = None,
    limits: Limits | None = None,
    wish: Wish | None = None,
) -> PlanReport:
    """Read jobs and plan them. Raises InputError with all that is wrong with their files."""
    return plan_cases(read_cases(paths, unit, shelf), limits, wish)


def plan_cases(
    cases: Iterable[Case], limits: Limits | None = None, wish: Wish | None = None
) -> PlanReport:
    """Plan jobs that were read."""
    from solver.batch.draws import draws, with_its_draws
    from solver.batch.planning import plan

    wish = wish or Wish()
    clock = Clock(limits or Limits())
    ordered = tuple(sorted(cases, key=lambda case: case.job.name))
    wish = replace(wish, day=wish.day or date.today().isoformat())  # noqa: DTZ011 - the shop's own day
    batch = _batch(ordered, wish)
    found = plan(batch, clock.rest())
    taken = draws(found)
    gaps = {
        job: lines_of(ordered[job], with_its_draws(found, job, _of(taken, job)), build)
        for job, build in enumerate(found.builds)
        if build is not None
    }
    report = PlanReport(
        ordered, found, wish.day, tuple(ready(case)[1] for case in ordered), taken, gaps
    )
    return _looked_around(report, wish, clock) if found.proved else report


def _of(taken: tuple[Draw, ...], job: int) -> list[Draw]:
    return [draw for draw in taken if draw.job == job]


def _batch(cases: tuple[Case, ...], wish: Wish) -> Batch:
    names = [case.job.name for case in cases]
    problems = [
        Problem(f"--{option}: {near(name, names, 'the jobs are')}")
        for option, asked in (("pin", wish.pin), ("hold", wish.hold))
        for name in asked
        if name not in names
    ]
    both = sorted({*wish.pin} & {*wish.hold})
    problems += [Problem(f"{name} is pinned and held back; take one of the two") for name in both]
    if problems:
        raise InputError(*problems)
    earlier = read_earlier(wish.keep) if wish.keep else {}
    for case in cases:
        try:
            ready(case)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    shelves = Shelves()
    packs = {
        (name, size): spec.sold_in
        for case in cases
        for name, family in case.unit.families.items()
        for size, spec in family.sizes.items()
    }
    return batch_of((_job(case, shelves, wish, earlier) for case in cases), packs)


def _job(case: Case, shelves: Shelves, wish: Wish, earlier: dict[str, Kept]) -> BatchJob:
    solved, _ = ready(case)
    lots = shelves.stock(case, solved).all
    name = case.job.name
    return BatchJob(
        name=name,
        task=pose(case, lots, solved),
        priority=weight(case, wish.day),
        pinned=name in wish.pin,
        held=name in wish.hold,
        kept={
            gap: (was[0] or next(iter(case.unit.gaps[gap].arrangements)), was[1])
            for gap, was in earlier.get(name, {}).items()
            if gap in solved
        },
    )


def weight(case: Case, day: str) -> int:
    """What completing a job counts: its priority, four times where it is due within two days.

    Twice where it is due within seven; a day gone by is due. The rule is printed with the plan.
    """
    if case.job.due is None:
        return case.job.priority
    days = (date.fromisoformat(case.job.due) - date.fromisoformat(day)).days
    return case.job.priority * (4 if days <= URGENT else 2 if days <= SOON else 1)


def read_earlier(path: Path) -> dict[str, Kept]:
    """What an earlier plan built, from its JSON. Raises InputError where it is none."""
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(Problem(f"cannot be read ({error.strerror})", str(path))) from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise InputError(Problem("is no JSON; keep what --json printed", str(path))) from None
    shape = told.get("shape") if isinstance(told, dict) else None
    sentence = f'is no plan of the shape "{SHAPE}"; keep what --json printed'
    if shape != SHAPE:
        raise InputError(Problem(sentence, str(path)))
    try:
        jobs = {job["job"]: job["gaps"] for job in told["jobs"] if job["complete"]}
        return {name: {gap["name"]: _kept(gap) for gap in gaps} for name, gaps in jobs.items()}
    except (KeyError, TypeError, AttributeError):
        raise InputError(Problem(sentence, str(path))) from None


def _kept(gap: dict[str, Any]) -> tuple[str, tuple[tuple[tuple[str, str], int], ...]]:
    counts: dict[tuple[str, str], int] = {}
    for part in gap["parts"]:
        if part["size"]:
            size = (str(part["family"]), str(part["size"]))
            counts[size] = counts.get(size, 0) + 1
    return gap["layout"] or "", tuple(sorted(counts.items()))


def _looked_around(report: PlanReport, wish: Wish, clock: Clock) -> PlanReport:
    """Add what is short and what to order, within a time of its own; only of a plan that is proved.

    Where it is not, time is up, or somebody does not want to wait.
    """
    from solver.batch.lacking import lacking
    from solver.batch.order import order_for_all, order_for_one_more, order_within
    from solver.batch.worth import worths

    rest = clock.rest()
    clock = Clock(replace(rest, seconds=min(rest.seconds, EXPLAIN_SECONDS)))
    batch, left = report.plan.batch, None in report.plan.builds
    depth = len(batch.levels)
    if len(batch.jobs) > FEW_JOBS:
        depth = sum(level.aim == "complete" for level in batch.levels)
    part = Clock(replace(clock.rest(), seconds=clock.left / 3))
    short = {one.job: one for one in lacking(report.plan, part)}
    one_more = order_for_one_more(report.plan, clock) if left else None
    for_all = order_for_all(batch, clock) if left else None
    within = None if wish.budget is None else order_within(batch, wish.budget, clock)
    return replace(
        report,
        within=within,
        for_all=for_all,
        one_more=one_more,
        lacking=short,
        worths=tuple(worths(report.plan, depth, clock)),
        looked_at=depth,
        budget=wish.budget,
    )
