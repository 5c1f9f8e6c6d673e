"""An answer as JSON, in a shape that is promised and versioned.

Lengths are objects: `nm` is exact (a whole number, or a fraction as text), `shown` is what a
person reads. There are no times and no figures of the engine in it, so the same input gives the
same text on every machine and with any number of workers. DEVELOPERS.md lists the keys.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.fit.conformance_as_json import asked_shape, gap_shape, job_shape
from gapwright.fit.explanation_as_json import why_shape
from gapwright.fit.heat import heat_of
from gapwright.fit.heat_as_json import heat_shape
from gapwright.fit.no_fit_text import condition_words
from gapwright.output.exact_json import aim, exact, length
from gapwright.output.money import exact_money
from solver.problem.solution import Fit, NoFit
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.fit.answer import Beside, Report, Reserved
    from gapwright.fit.assembly import GapLines, Line
    from inventory.movements import Part
    from solver.explain.ways_out import Way
    from specs.values.lengths import Unit

SHAPE = "gapwright fit 2"


def dump(report: Report, unit: Unit | None = None) -> str:
    """Write a report out as JSON text."""
    return json.dumps(shape(report, unit or report.case.length), indent=1, ensure_ascii=False)


def shape(report: Report, unit: Unit) -> dict[str, Any]:
    """A report as plain data."""
    answer = report.answer
    told: dict[str, Any] = {
        "shape": SHAPE,
        "job": report.case.job.name,
        "unit": report.case.unit.name,
        "answer": "fit" if isinstance(answer, Fit) else "undecided",
        "proved": isinstance(answer, NoFit) or (isinstance(answer, Fit) and answer.proved),
        "reserved": _reserved(report.reserved, unit),
        "solved again": report.solved_again,
        "issued before": report.issued,
        "layout because": report.layout_reasons,
        "layouts not allowed": {name: why for name, why in report.barred.items() if why},
        "set aside": [part_shape(one.part, unit) for one in report.set_aside],
        "waiting": [{"gap": name, "for": [*names]} for name, names in report.waiting.items()],
    }
    if isinstance(answer, NoFit):
        told |= {"answer": "no fit", "nearest": _nearest(answer, unit)}
        told |= _explained(report, answer, unit)
        if report.unsure and report.unsure.sure:
            told["unsure"] = _gaps(report.unsure, unit)
    if report.demand:
        told["asked"] = asked_shape(report.demand)
    if isinstance(answer, Fit):
        told |= _fit(report, answer, unit)
        if report.why:
            told["why this one"] = why_shape(report.why, answer, unit)
    return told


def _reserved(posted: Reserved | None, unit: Unit) -> dict[str, Any] | None:
    if posted is None:
        return None
    told: dict[str, Any] = {
        name: [{**part_shape(part, unit), "number": number} for part, number in parts]
        for name, parts in (("reserved", posted.reserved), ("released", posted.released))
    }
    return {**told, "kept": posted.kept}


def _fit(report: Report, answer: Fit, unit: Unit) -> dict[str, Any]:
    return {
        "leave": report.leave,
        "gaps": _gaps(report, unit),
        "sure": job_shape(report.sure, unit) if report.sure else None,
        "thin": {
            "used": sum(gap.thin for gap in report.gaps),
            "steels": sum(gap.steels for gap in report.gaps),
            "least possible": report.fewest_thin,
        },
        "aims": _aims(answer),
        "equal": [
            {
                "gap": gap.name,
                "builds": None if others is None else [gap_as_json(o, unit) for o in others],
            }
            for gap, others in zip(report.gaps, report.equal, strict=True)
            if others != ()
        ],
        "best": [
            {
                "yields on": ranked.yields or None,
                "proved": ranked.proved,
                "gaps": [gap_as_json(gap, unit) for gap in ranked.gaps],
            }
            for ranked in report.best
        ],
        "close to limit": [_beside(beside, unit) for beside in report.close],
        "read again": [
            {
                "gap": reseat.gap,
                "reading": reseat.at.reading,
                "place": reseat.at.place,
                "would be": length(reseat.would_be, unit),
            }
            for reseat in report.reseat
        ],
    }


def _gaps(report: Report, unit: Unit) -> list[dict[str, Any]]:
    told = []
    for nth, gap in enumerate(report.gaps):
        sure = {"sure": gap_shape(report.sure, nth, unit)} if report.sure else {}
        told.append(gap_as_json(gap, unit) | sure | {"heat": heat_shape(heat_of(report.case, gap))})
    return told


def gap_as_json(gap: GapLines, unit: Unit) -> dict[str, Any]:
    """Write one gap of a build."""
    return {
        "name": gap.name,
        "layout": gap.layout or None,
        "on": gap.on,
        "gap": length(gap.gap, unit),
        "window": {
            "lowest": length(gap.low, unit),
            "highest": length(gap.high, unit),
            "aim": length(gap.aim, unit),
        },
        "left": {"tight": length(gap.tight, unit), "loose": length(gap.loose, unit)},
        "first in": gap.first_end,
        "heat end": gap.heat_end or None,
        "out first": [*gap.out_first],
        "parts": [_line(line, unit) for line in gap.lines],
    }


def _line(line: Line, unit: Unit) -> dict[str, Any]:
    lot = line.lot
    return {
        "number": line.number,
        "place": line.label,
        "family": line.family,
        "also called": line.also_called or None,
        "kind": line.kind,
        "size": line.size or None,
        "grade": line.grade or None,
        "thickness": length(line.thickness, unit),
        "from": None if lot is None else "this unit" if lot.own else "shelf",
        "bin": lot.bin or None if lot else None,
        "lot": lot.lot or None if lot else None,
        "code": lot.id or None if lot else None,
        "condition": lot.condition if lot else None,
        "stays": line.stays,
        "facing": line.facing or None,
        "out first": [*line.out_first],
    }


def _aims(answer: Fit) -> list[dict[str, Any]]:
    told = []
    for index, level in enumerate(answer.task.levels):
        bound = answer.bounds[index] if index < len(answer.bounds) else None
        scaled = answer.task.step if level.in_steps else 1
        values = {
            "value": exact(answer.values[index] * scaled),
            "at least": None if bound is None else exact(bound * scaled),
        }
        told.append(aim(level) | values)
    return told


def _beside(beside: Beside, unit: Unit) -> dict[str, Any]:
    instead = beside.instead
    return {
        "gap": beside.gap,
        "gauge tells": length(beside.tells, unit),
        "with one thin steel more": instead and [gap_as_json(gap, unit) for gap in instead],
    }


def _nearest(answer: NoFit, unit: Unit) -> list[dict[str, Any]]:
    step = answer.task.step
    return [
        {
            "gap": gap.name,
            "status": miss.status,
            "layout": gap.layouts[miss.layout].name if miss.status == "near" else None,
            "nearest": length(Length(miss.gap * step), unit) if miss.status == "near" else None,
            "missed by": length(Length(miss.by * step), unit) if miss.status == "near" else None,
        }
        for gap, miss in zip(answer.task.gaps, answer.alone, strict=True)
    ]


def _explained(report: Report, answer: NoFit, unit: Unit) -> dict[str, Any]:
    task, reason = answer.task, report.reason
    conditions = reason.conditions if reason else ()
    return {
        "why": {
            "irreducible": bool(reason and reason.irreducible),
            "smallest": bool(reason and reason.smallest),
            "conditions": [
                {"kind": condition.kind, "words": condition_words(report, task, condition, unit)}
                for condition in conditions
            ],
        },
        "doubtful": [
            {
                "gap": name,
                "would be explained by": [
                    {
                        "words": slip.words,
                        "reading": slip.reading,
                        "meant": length(slip.meant, unit),
                    }
                    for slip in slips
                ],
            }
            for name, slips in report.doubtful.items()
        ],
        "ways out": [_way(report, answer, way, unit) for way in report.ways],
    }


def _way(report: Report, answer: NoFit, way: Way, unit: Unit) -> dict[str, Any]:
    task = answer.task
    return {
        "kind": way.kind,
        "buy": [
            {"family": task.choices[c].family, "size": task.choices[c].size, "count": count}
            for c, count in way.buys
        ],
        "cost": None if way.cost is None else exact_money(way.cost),
        "give up": [condition_words(report, task, c, unit) for c in way.given_up],
        "read again": [task.gaps[index].name for index in way.gaps],
        "gaps": [
            {"gap": gap.name, "gap then": length(Length(left * task.step), unit)}
            for gap, left in zip(task.gaps, way.fit.gaps, strict=True)
        ],
    }


def part_shape(part: Part, unit: Unit) -> dict[str, Any]:
    """A lot of a shelf: its code and what makes it."""
    return {
        "code": part.lot_id,
        "family": part.family,
        "size": part.size,
        "thickness": length(part.thickness, unit),
        "condition": part.condition,
        "bin": part.bin or None,
        "lot": part.label or None,
    }
