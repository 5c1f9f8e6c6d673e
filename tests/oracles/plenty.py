"""Random jobs made roomy: more parts and wider windows, so that many builds fit."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from specs.models.case import Case
    from tests.oracles.random_jobs import RandomJob

WIDER = 0.15  # mm


def plentiful(job: RandomJob) -> Case:
    """The job with more parts on the shelf and wider windows, so that much fits."""
    document = deepcopy(job.document)
    unit = document["unit"]
    for gap in (*unit["packs"].values(), *unit["end plays"].values()):
        for stack in (gap, *gap.get("layouts", {}).values()):
            if "window" in stack:
                stack["window"]["gap"] = _wider(stack["window"]["gap"])
    for family, spec in unit["families"].items():
        for size in spec.get("sizes", ()):
            sizes = document["shelf"].setdefault(family, {})
            sizes[size] = [*sizes.get(size, ()), {"count": 1}]
    return replace(job, document=document).case()


def _wider(text: str) -> str:
    """A window from one gap to another made wider at both ends."""
    low, _, high = (end.removesuffix(" mm") for end in text.partition(" to "))
    return f"{float(low) - WIDER:.3f} mm to {float(high) + WIDER:.3f} mm" if high else text
