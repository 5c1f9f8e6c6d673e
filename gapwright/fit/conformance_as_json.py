"""Doubt in JSON: chances between their bounds, standard and expanded uncertainty."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gapwright.output.exact_json import length
from specs.uncertainty.distribution import MILLION
from specs.uncertainty.propagation import COVERAGE

if TYPE_CHECKING:
    from gapwright.fit.conformance import Sure
    from gapwright.fit.decision_rule import Demand
    from specs.uncertainty.distribution import Chance
    from specs.values.lengths import Unit


def gap_shape(sure: Sure, nth: int, unit: Unit) -> dict[str, Any]:
    """How sure one gap is, as plain data."""
    gap = sure.gaps[nth]
    return {
        "chance": chance_shape(gap.chance),
        "u": length(gap.u, unit),
        "expanded": {"k": COVERAGE, "by": length(gap.expanded, unit)},
        "measure again": [
            {"kind": again.kind, "name": again.name, "then": chance_shape(again.then)}
            for again in gap.again
        ],
    }


def job_shape(sure: Sure, unit: Unit) -> dict[str, Any]:
    """How sure a whole job is, as plain data."""
    return {
        "all gaps": chance_shape(sure.every),
        "tilted": [
            {
                "gap": tilt.gap,
                "reading": tilt.reading,
                "places": [*tilt.places],
                "apart": length(tilt.apart, unit),
            }
            for tilt in sure.tilted
        ],
    }


def asked_shape(demand: Demand) -> dict[str, Any]:
    """How sure each gap was asked to be, as plain data."""
    return {"percent": float(demand.percent)}


def chance_shape(chance: Chance) -> dict[str, float]:
    """A chance by its bounds, to four decimals, rounded outward."""
    step = MILLION // 10_000
    return {
        "at least": chance.least // step / 10_000,
        "at most": -(-chance.most // step) / 10_000,
    }
