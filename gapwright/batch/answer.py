"""The JSON of `batch`: a plan, each key declared once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from gapwright.batch.earlier_plan import SHAPE, SHAPE_OF_SEVERAL
from gapwright.batch.tables import of_sizes
from gapwright.fit.answer import (
    BoughtAnswer,
    BuildAnswer,
    FormerUnitsAnswer,
    LevelAnswer,
    PartRemarkAnswer,
    WaitingAnswer,
    waiting_answers,
)
from gapwright.output.answers import Answer, Exact, key
from gapwright.output.money import exact_money
from gapwright.record.answer import PromisedAnswer
from solver.explain.ways_out import whole_packs
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.batch.service import PlanReport
    from gapwright.batch.several_shelves import Plans
    from solver.batch.purchase import Order
    from solver.problem.aims import Level

Proof = Literal["proved", "proved to the engine's tolerance", "not proved"]
PROOFS: dict[str, Proof] = {
    "exact": "proved",
    "engine": "proved to the engine's tolerance",
    "open": "not proved",
}


def answer_of(plans: Plans) -> PlanAnswer | PlansAnswer:
    """Return the declared answer of the plans of some shelves; of one shelf, just that plan's."""
    first, *others = plans.by_shelf.values()
    return PlansAnswer(plans) if others else PlanAnswer(first)


def _scale(level: Level | None, report: PlanReport) -> Exact:
    """Return what one of a level is in nanometres, where the level counts steps of the grid."""
    return report.plan.batch.step if level and level.in_steps else 1


def _order(report: PlanReport, order: Order | None) -> OrderAnswer | None:
    return None if order is None else OrderAnswer(order, batch=report.plan.batch)


def _jobs(report: PlanReport) -> Iterator[PlannedJobAnswer]:
    for nth, (planned, case) in enumerate(zip(report.plan.batch.jobs, report.cases, strict=True)):
        yield PlannedJobAnswer(
            planned, case=case, built=report.built.get(nth),
            waiting=waiting_answers(report.waiting[nth], report.unread[nth]),
            remarks=report.remarks[nth], former_units=FormerUnitsAnswer(report.former[nth]),
            promised=(stands := report.promised(nth)) and PromisedAnswer(stands),
            lacking=report.diagnostics.lacking.get(nth), report=report, length=case.length,
        )  # fmt: skip


class PlanLevelAnswer(LevelAnswer):
    """What the plan reaches on one level; heat and deviation are in nanometres."""

    value: Exact = key(lambda level, reached, report: reached.value * _scale(level, report))
    """The level's value; of the levels of completion what is left."""
    at_least: Exact = key(lambda level, reached, report: reached.bound * _scale(level, report))
    """What it is at least while the levels before it are held."""
    proof: Proof = key(lambda reached: PROOFS[reached.proof])
    """How it is proved that it cannot be less."""


class LackNearestAnswer(Answer):
    """How near one gap comes from the whole shelf."""

    gap: str
    """The gap's name."""
    status: Literal["near", "unfillable", "unknown"]
    """`near`: proved nearest; `unfillable`: too few parts for its places; `unknown`: no time."""
    nearest: Length = key(lambda miss, step: Length(miss.gap * step))
    """What the gap would be."""
    missed_by: Length = key(lambda miss, step: Length(miss.by * step))
    """How far that is outside the window."""


class LacksAnswer(Answer):
    """What a job that is left lacks."""

    buy: list[BoughtAnswer] = key(
        lambda lacking, instance: [
            BoughtAnswer(instance.choices[choice], count=count)
            for choice, count in whole_packs(instance, lacking.short)
        ]
    )
    """The cheapest to buy beyond what the other jobs leave."""
    nearest: list[LackNearestAnswer] = key(
        lambda lacking, instance: [
            LackNearestAnswer(miss, gap=gap.name, step=instance.step)
            for gap, miss in zip(instance.gaps, lacking.misses, strict=False)
        ]
    )
    """Where the whole shelf could not complete it: how near each gap comes."""
    could_be_built_of_it: list[str] = key(lambda lacking: lacking.buildable)
    """Gaps that could be built together from what is left."""


class StandingAnswer(Answer):
    """One job of a plan, and whether it is completed."""

    job: str = key(lambda planned: planned.name)
    """The job's name."""
    unit: str = key(lambda case: case.unit.name)
    """The unit's name."""
    priority: int = key(lambda case: case.job.priority)
    """Its priority, as the job says."""
    due: str | None = key(lambda case: case.job.due)
    """The day it is due."""
    counts: int = key(lambda planned: planned.priority)
    """What it counts: its priority, raised by the due date."""
    pinned: bool
    """Whether it is to be completed before any other."""
    held_back: bool = key(lambda planned: planned.held)
    """Whether it is held back, or all its gaps wait."""
    complete: bool = key(lambda built: built is not None)
    """Whether it is completed."""


class PlannedJobAnswer(StandingAnswer, BuildAnswer):
    """What becomes of one job; of one that is not completed there is no build."""

    waiting: list[WaitingAnswer]
    """Gaps that wait for readings."""
    part_remarks: list[PartRemarkAnswer] = key(
        lambda remarks: [PartRemarkAnswer(remark) for remark in remarks]
    )
    """What is to be minded of its parts."""
    former_units: FormerUnitsAnswer
    """What former units, and the `spaces` of the unit file, say of the readings."""
    lacks: LacksAnswer | None = key(
        lambda planned, lacking, report: (
            LacksAnswer(lacking, report=report, instance=planned.instance)
            if lacking and lacking.known
            else None
        )
    )
    """What it lacks; null where it is complete, held back or was not looked into."""
    promised: PromisedAnswer | None
    """Of a job that is completed: the promise of its build, kept with `--reserve`."""


class PlannedSizeAnswer(Answer):
    """What the plan draws of one size."""

    family: str
    """The family."""
    size: str
    """The size."""
    on_hand: int
    """How many are on hand."""
    drawn: int
    """How many the plan takes."""
    short: int
    """How many the jobs left lack, each for itself, where they buy what is cheapest."""


class OneMoreAnswer(Answer):
    """What one more part of a size would bring."""

    family: str = key(lambda worth: worth.size[0])
    """The family."""
    size: str = key(lambda worth: worth.size[1])
    """The size."""
    aim: str | None = key(lambda worth: worth.level.aim if worth.level else None)
    """The first aim it betters; null for none of those looked at."""
    measure: str | None = key(lambda worth: worth.level.measure if worth.level else None)
    """What is counted or measured there."""
    gain: Exact = key(lambda worth, report: worth.gain * _scale(worth.level, report))
    """By how much it is bettered."""
    proved: bool
    """Whether that is proved."""


class PacksAnswer(Answer):
    """Packs of one size to buy."""

    family: str = key(lambda item: item.family)
    """The family."""
    size: str = key(lambda item: item.size)
    """The size."""
    packs: int
    """How many packs."""
    parts: int = key(lambda item, packs: packs * item.pack)
    """How many parts that are."""


class OrderAnswer(Answer):
    """An order, and what it completes together with what is on hand."""

    buy: list[PacksAnswer] = key(
        lambda order, batch: [
            PacksAnswer(item=batch.items[item], packs=packs) for item, packs in order.packs
        ]
    )
    """What to buy."""
    cost: str | None = key(lambda order: None if order.cost is None else exact_money(order.cost))
    """What it costs, in the currency of the unit file; null where a price is not stated."""
    completes: list[str] = key(
        lambda order, batch: [
            job.name
            for job, build in zip(batch.jobs, order.builds, strict=True)
            if build is not None
        ]
    )
    """The jobs it completes."""
    no_size_could_serve: list[str] = key(
        lambda order, batch: [batch.jobs[job].name for job in order.beyond_sizes]
    )
    """Jobs with a gap that no size the unit is made in could serve, whatever they ask for."""
    no_purchase_completes: list[str] = key(
        lambda order, batch: [
            batch.jobs[job].name for job in order.cannot if job not in order.beyond_sizes
        ]
    )
    """Other jobs that nothing to buy completes: a kept part, a layout's condition or a rule is in
    the way."""
    proved: bool
    """Whether it is proved to be the best."""


class OrdersAnswer(Answer):
    """What to order."""

    to_complete_all: OrderAnswer | None = key(
        lambda report: _order(report, report.diagnostics.for_all)
    )
    """The cheapest that completes every job."""
    to_complete_one_more: OrderAnswer | None = key(
        lambda report: _order(report, report.diagnostics.one_more)
    )
    """The cheapest that completes one job more."""
    within_the_budget: OrderAnswer | None = key(
        lambda report: _order(report, report.diagnostics.within)
    )
    """The one within the budget that does most."""


class PostedNumbersAnswer(Answer):
    """What was posted to the ledger for one job."""

    reserved: int = key(lambda posted: sum(number for _, number in posted.reserved))
    """How many parts were newly reserved."""
    kept: int
    """How many were reserved before and stay so."""
    released: int = key(lambda posted: sum(number for _, number in posted.released))
    """How many were released."""


class PlanAnswer(Answer, shape=SHAPE, indent=2):
    """A plan of several jobs from one shelf."""

    day: str
    """The day due dates were counted from."""
    engine: str = key(lambda report: report.plan.engine)
    """The engine with its version."""
    proved: bool = key(lambda report: report.plan.proved)
    """Whether no level is left open."""
    levels: list[PlanLevelAnswer] = key(
        lambda report: [
            PlanLevelAnswer(level, reached=reached, report=report)
            for level, reached in zip(report.plan.batch.levels, report.plan.reached, strict=True)
        ]
    )
    """The levels of the aims, in order."""
    jobs: list[PlannedJobAnswer] = key(lambda report: [*_jobs(report)])
    """The jobs by name; lengths are shown in each unit file's own unit unless one is asked for."""
    sizes: list[PlannedSizeAnswer] = key(lambda report: [*map(PlannedSizeAnswer, of_sizes(report))])
    """What is drawn, by size."""
    one_more: list[OneMoreAnswer] = key(
        lambda report: [OneMoreAnswer(worth, report=report) for worth in report.diagnostics.worths]
    )
    """Of each size used up and sold: what one more part would bring."""
    orders: OrdersAnswer = key(OrdersAnswer)
    """What to order."""
    budget: str | None = key(
        lambda report: None if report.budget is None else exact_money(report.budget)
    )
    """The budget, as asked."""
    reserved: dict[str, PostedNumbersAnswer] | None = key(
        lambda report: (
            report.reserved
            and {job: PostedNumbersAnswer(one) for job, one in report.reserved.items()}
        )
    )
    """With `--reserve`: for each job completed what was posted."""
    closed: list[str]
    """Jobs that are closed, and so not planned; of all shelves in the first of several plans."""
    planned_again: int
    """How often the shelf changed under the plan, so that it was planned again."""


class ShelfPlanAnswer(Answer):
    """The plan of one shelf."""

    shelf: str
    """The shelf."""
    plan: PlanAnswer
    """Its plan."""


class PlansAnswer(Answer, shape=SHAPE_OF_SEVERAL, indent=2):
    """The plans of several shelves."""

    proved: bool
    """Whether each is proved."""
    shelves: list[ShelfPlanAnswer] = key(
        lambda plans: [
            ShelfPlanAnswer(shelf=shelf, plan=PlanAnswer(report))
            for shelf, report in plans.by_shelf.items()
        ]
    )
    """The shelves by name."""


ANSWERS = {"batch": (PlanAnswer, PlansAnswer)}
