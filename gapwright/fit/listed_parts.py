"""Writes a build as a job file lists its parts: in the order of the stack, without fixed ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.models.job import Parts
from specs.parts.lookup import selective

if TYPE_CHECKING:
    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from specs.models.case import Case


def listed_parts(case: Case, gap: GapAssembly) -> Parts:
    """Write a build of a gap as somebody would list its parts, with its layout."""
    unit_gap = case.unit.gaps[gap.name]
    layout_name = unit_gap.layout_meant(gap.layout)
    layout = unit_gap.arrangements[layout_name]
    at: dict[str, list[str]] = {}
    for line in gap.steps:
        if line.lot is not None:
            at.setdefault(line.label, []).append(_text(case, line))
    parts = tuple(tuple(at.get(label, ())) for _, label in selective(case.unit, layout))
    return Parts.model_construct(parts=parts, layout=layout_name)


def _text(case: Case, line: AssemblyStep) -> str:
    """Write a part by its size, and by its thickness where that is not the nominal."""
    if line.thickness == case.unit.families[line.family].sizes[line.size].nominal:
        return line.size
    whole, part = divmod(int(line.thickness.nm), 10**6)
    return f"{line.size} {whole}.{part:06d} mm"
