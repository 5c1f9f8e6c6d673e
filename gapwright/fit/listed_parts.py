"""Writes a build as a job file lists its parts: in the order of the stack, without fixed ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.models.job import Parts
from specs.parts.lookup import NamedPart, is_measured, selective
from specs.values.lengths import exact

if TYPE_CHECKING:
    from gapwright.fit.assembly import GapAssembly
    from specs.models.case import Case


def listed_parts(case: Case, gap: GapAssembly) -> Parts:
    """Write a build of a gap as somebody would list its parts, with its layout."""
    layout = case.unit.gaps[gap.name].layout_meant(gap.layout)
    return Parts.model_construct(parts=parts_by_place(case, gap), layout=layout)


def parts_by_place(case: Case, gap: GapAssembly) -> tuple[tuple[str, ...], ...]:
    """Write the parts of a build, place by place in the order of the stack, without fixed ones."""
    unit_gap = case.unit.gaps[gap.name]
    layout = unit_gap.arrangements[unit_gap.layout_meant(gap.layout)]
    at: dict[str, list[str]] = {}
    for line in gap.steps:
        if line.lot is not None:
            part = NamedPart(line.family, line.size, line.thickness)
            at.setdefault(line.label, []).append(part_text(case, part))
    return tuple(tuple(at.get(label, ())) for _, label in selective(case.unit, layout))


def part_text(case: Case, part: NamedPart) -> str:
    """Write a part by its size, and by its thickness where that is not the nominal."""
    if is_measured(case.unit, part):
        return f"{part.size} {exact(part.thickness, case.length)}"
    return part.size
