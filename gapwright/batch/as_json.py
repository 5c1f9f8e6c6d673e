"""A plan as JSON, in the shape that DEVELOPERS.md documents."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.batch.earlier_plan import SHAPE, SHAPE_OF_SEVERAL
from gapwright.batch.tables import of_sizes, short_of
from gapwright.fit.answer import BuiltGapAnswer, LevelAnswer
from gapwright.output.answers import plain as length
from gapwright.output.money import exact_money
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.batch.service import PlanReport
    from solver.batch.purchase import Order
    from solver.batch.shadow_prices import Worth
    from solver.batch.shortages import Lacking
    from specs.values.lengths import Unit

PROOFS = {"exact": "proved", "engine": "proved to the engine's tolerance", "open": "not proved"}


def dump_plan(report: PlanReport, unit: Unit | None = None) -> str:
    """Write a plan as JSON, one object."""
    return json.dumps(_told(report, unit), ensure_ascii=False, indent=2)


def dump_plans(reports: dict[str, PlanReport], unit: Unit | None = None) -> str:
    """Write the plan of every shelf as JSON, one object; of one shelf just that plan."""
    if len(reports) == 1:
        return dump_plan(next(iter(reports.values())), unit)
    told = {
        "shape": SHAPE_OF_SEVERAL,
        "proved": all(report.plan.proved for report in reports.values()),
        "shelves": [
            {"shelf": shelf, "plan": _told(report, unit)} for shelf, report in reports.items()
        ],
    }
    return json.dumps(told, ensure_ascii=False, indent=2)


def _told(report: PlanReport, unit: Unit | None) -> dict[str, Any]:
    batch = report.plan.batch
    return {
        "shape": SHAPE,
        "day": report.day,
        "engine": report.plan.engine,
        "proved": report.plan.proved,
        "levels": _levels(report),
        "jobs": [_job(report, job, unit) for job in range(len(batch.jobs))],
        "sizes": [
            {"family": row.family, "size": row.size, "on hand": row.on_hand, "drawn": row.drawn,
             "short": row.short}
            for row in of_sizes(report)
        ],
        "one more": [_worth(report, worth) for worth in report.around.worths],
        "orders": {
            "to complete all": _order(report, report.around.for_all),
            "to complete one more": _order(report, report.around.one_more),
            "within the budget": _order(report, report.around.within),
        },
        "budget": None if report.budget is None else exact_money(report.budget),
        "reserved": report.reserved and {
            job: {"reserved": sum(number for _, number in one.reserved), "kept": one.kept,
                  "released": sum(number for _, number in one.released)}
            for job, one in report.reserved.items()
        },
        "planned again": report.planned_again,
    }  # fmt: skip


def _levels(report: PlanReport) -> list[dict[str, Any]]:
    told = []
    for level, reached in zip(report.plan.batch.levels, report.plan.reached, strict=True):
        scaled = report.plan.batch.step if level.in_steps else 1
        values = {
            "value": length(reached.value * scaled, "in"),
            "at least": length(reached.bound * scaled, "in"),
            "proof": PROOFS[reached.proof],
        }
        told.append(length(LevelAnswer(level), "in") | values)
    return told


def _job(report: PlanReport, job: int, unit: Unit | None) -> dict[str, Any]:
    case, planned = report.cases[job], report.plan.batch.jobs[job]
    lengths = unit or case.length
    gaps = report.gaps.get(job)
    return {
        "job": planned.name,
        "unit": case.unit.name,
        "priority": case.job.priority,
        "due": case.job.due,
        "counts": planned.priority,
        "pinned": planned.pinned,
        "held back": planned.held,
        "complete": gaps is not None,
        "gaps": [length(BuiltGapAnswer(gap), lengths) for gap in gaps or ()],
        "waiting": [{"gap": g, "for": [*names]} for g, names in report.waiting[job].items()],
        "lacks": _lacks(report, report.around.lacking[job], lengths)
        if job in report.around.lacking
        else None,
    }


def _lacks(report: PlanReport, lacking: Lacking, unit: Unit) -> dict[str, Any] | None:
    task = report.plan.batch.jobs[lacking.job].task
    if not lacking.known:
        return None
    return {
        "buy": [
            {"family": family, "size": size, "count": count}
            for (family, size), count in short_of(report, lacking.job).items()
        ],
        "nearest": [
            {
                "gap": gap.name,
                "status": miss.status,
                "nearest": length(Length(miss.gap * task.step), unit),
                "missed by": length(Length(miss.by * task.step), unit),
            }
            for gap, miss in zip(task.gaps, lacking.misses, strict=False)
        ],
        "could be built of it": [*lacking.buildable],
    }


def _worth(report: PlanReport, worth: Worth) -> dict[str, Any]:
    level = worth.level
    scaled = report.plan.batch.step if level and level.in_steps else 1
    return {
        "family": worth.size[0],
        "size": worth.size[1],
        "aim": level.aim if level else None,
        "measure": level.measure if level else None,
        "gain": length(worth.gain * scaled, "in"),
        "proved": worth.proved,
    }


def _order(report: PlanReport, order: Order | None) -> dict[str, Any] | None:
    if order is None:
        return None
    batch = report.plan.batch
    return {
        "buy": [
            {
                "family": batch.items[item].family,
                "size": batch.items[item].size,
                "packs": packs,
                "parts": packs * batch.items[item].pack,
            }
            for item, packs in order.packs
        ],
        "cost": None if order.cost is None else exact_money(order.cost),
        "completes": [
            job.name
            for job, build in zip(batch.jobs, order.builds, strict=True)
            if build is not None
        ],
        "no size could serve": [batch.jobs[job].name for job in order.cannot],
        "proved": order.proved,
    }
