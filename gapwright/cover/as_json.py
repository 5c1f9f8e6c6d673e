"""A cover as JSON, in the shape that DEVELOPERS.md documents."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.cover.answer import Run, gaps_at, past, spans
from gapwright.output.answers import plain as length
from specs.gaps.varied_reading import ROOM

if TYPE_CHECKING:
    from gapwright.cover.answer import GapAt
    from gapwright.cover.service import Covered, Hole
    from specs.values.lengths import Unit

SHAPE = "gapwright cover 1"
ANSWERS = {"fit": "fit", "no fit": "no fit", "unknown": "undecided"}


def dump_covers(covers: tuple[Covered, ...], unit: Unit | None = None) -> str:
    """Write covers as JSON, ready to print."""
    told = {
        "shape": SHAPE,
        "unit": covers[0].case.unit.name,
        "covers": [_whole(one, unit or one.case.length) for one in covers],
    }
    return json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False)


def _whole(covered: Covered, unit: Unit) -> dict[str, Any]:
    return {
        **cover_shape(covered, unit),
        "history": _history(covered, unit),
        "values": [_value(covered, nth, unit) for nth in range(covered.course.count)],
    }


def cover_shape(covered: Covered, unit: Unit) -> dict[str, Any]:
    """A cover without its single values: what is served, and the holes."""
    moving = covered.moving
    moved = moving.gaps()
    return {
        "gaps": [*moved],
        "reading": None if moving.reading == ROOM else moving.reading,
        "standing": [name for name in covered.gaps if name not in moved],
        "left aside": [name for name in covered.case.unit.gaps if name not in covered.gaps],
        "from": length(covered.at(0), unit),
        "to": length(covered.last, unit),
        "step": length(covered.step, unit),
        "stands at": length(moving.stands, unit),
        "served": [_run(covered, run, unit) for run in spans(covered)],
        "holes": [_hole(covered, hole, unit) for hole in covered.holes],
        "steps": [
            {
                "family": steps.family,
                "widest": length(steps.widest, unit),
                "between": [*steps.sizes],
                "window": length(steps.window, unit),
                "holds": steps.holds,
            }
            for steps in covered.steps
        ],
    }


def _run(covered: Covered, run: Run, unit: Unit) -> dict[str, Any]:
    return {
        "from": length(covered.at(run.first), unit),
        "to": length(covered.at(run.last), unit),
    }


def _hole(covered: Covered, hole: Hole, unit: Unit) -> dict[str, Any]:
    closed = None
    if hole.closer:
        part = covered.course.task.choices[hole.closer.choice]
        closed = {"family": part.family, "size": part.size, "count": hole.closer.count}
    return {
        **_run(covered, Run(hole.first, hole.last), unit),
        "closed by": closed,
        "looked": hole.looked,
    }


def _history(covered: Covered, unit: Unit) -> dict[str, Any] | None:
    if not covered.history:
        return None
    told = past(covered)
    return {
        "drums": told.drums,
        "looked at": told.seen,
        "served": told.served,
        "at": [
            {"value": length(value, unit), "drums": count, "served": served}
            for value, count, served in told.at
        ],
    }


def _value(covered: Covered, nth: int, unit: Unit) -> dict[str, Any]:
    served = covered.served[nth]
    fits = served.status == "fit"
    return {
        "value": length(covered.at(nth), unit),
        "answer": ANSWERS[served.status],
        "builds": served.builds,
        "gaps": [_gap(gap, unit) for gap in gaps_at(covered, nth)] if fits else [],
    }


def _gap(gap: GapAt, unit: Unit) -> dict[str, Any]:
    return {
        "name": gap.name,
        "layout": gap.layout or None,
        "gap": length(gap.gap, unit),
        "off aim": length(gap.off, unit),
        "thin": gap.thin,
        "parts": [
            {"family": family, "size": size, "count": count} for family, size, count in gap.parts
        ],
    }
