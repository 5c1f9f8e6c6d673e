"""A check after assembly as JSON, in a shape that is promised and versioned."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.check.text import swaps
from gapwright.fit.as_json import shape
from gapwright.fit.conformance_as_json import chance_shape
from gapwright.output.exact_json import length
from solver.problem.solution import Fit

if TYPE_CHECKING:
    from gapwright.check.service import Check
    from gapwright.fit.answer import Report
    from specs.gaps.built import Built
    from specs.values.lengths import Unit

SHAPE = "gapwright check 1"


def dump_check(check: Check, unit: Unit | None = None) -> str:
    """Write a check out as JSON text."""
    told = check_shape(check, unit or check.case.length)
    return json.dumps(told, indent=1, ensure_ascii=False)


def check_shape(check: Check, unit: Unit) -> dict[str, Any]:
    """A check as plain data."""
    return {
        "shape": SHAPE,
        "job": check.case.job.name,
        "unit": check.case.unit.name,
        "in window": check.inside,
        "as promised": check.agrees,
        "gaps": [_gap(gap, unit) for gap in check.gaps],
        "would be explained by": [
            {
                "words": cause.words,
                "gaps": [
                    {"gap": name, "more by": length(by, unit)} for name, by in cause.shifts.items()
                ],
            }
            for cause in check.causes
        ],
        "change": check.change and _change(check.change, unit),
    }


def _gap(gap: Built, unit: Unit) -> dict[str, Any]:
    return {
        "name": gap.gap,
        "measured": length(gap.found, unit),
        "promised": length(gap.promised, unit),
        "gauges tell": length(gap.doubt, unit),
        "u": length(gap.u, unit),
        "differs by no more": chance_shape(gap.chance),
        "window": {"lowest": length(gap.low, unit), "highest": length(gap.high, unit)},
        "in window": gap.inside,
        "as promised": gap.agrees,
    }


def _change(report: Report, unit: Unit) -> dict[str, Any]:
    """What changes, gap by gap; or why nothing that could be changed lands every gap."""
    if not isinstance(report.answer, Fit):
        return shape(report, unit)
    gaps = []
    for gap in report.gaps:
        out, in_ = swaps(report, gap)
        if out or in_:
            gaps.append({
                "gap": gap.name,
                "then": length(gap.gap, unit),
                "out": [{"part": name, "count": count} for name, count in out.items()],
                "in": [
                    {"family": line.family, "size": line.size, "place": line.label,
                     "bin": line.lot.bin or None if line.lot else None,
                     "out first": [*line.out_first]}
                    for line in in_
                ],
            })  # fmt: skip
    return {"answer": "fit", "proved": report.answer.proved, "gaps": gaps}
