"""The faces that meet in a stack: lined on smooth as they should, and which of them heat what."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from specs.findings import Finding, Path
from specs.models.families import FACED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.gaps import Arrangement, EndPlay, Pack
    from specs.models.stacks import Place
    from specs.models.unit import Unit

Face = Literal["lined", "smooth", "none"]
JUDGED_BY = ("lined", "lining faces", "smooth faces may meet", "ends")


def faces_findings(
    path: Path, unit: Unit, gap: Pack | EndPlay, layout: Arrangement
) -> Iterator[Finding]:
    """Two lined faces never meet; two smooth ones only where the layout allows it."""
    parts = {*unit.families, *unit.shared_parts}
    if any(place.part not in parts for place in layout.stack):
        return
    for index, (one, two) in enumerate(pairwise(layout.stack)):
        facing = _face(unit, gap, one, 1), _face(unit, gap, two, 0)
        if facing == ("lined", "lined"):
            sentence = f"two lined faces meet: {one.part} on {two.part}"
        elif facing == ("smooth", "smooth") and not layout.smooth_faces_may_meet:
            sentence = (
                f"two smooth faces meet: {one.part} on {two.part}; if that is right, write "
                "`smooth faces may meet: yes` in its layout"
            )
        else:
            continue
        yield Finding((*path, "stack", index + 1), sentence, leans=JUDGED_BY)


def heated_faces(
    unit: Unit, gap: Pack | EndPlay, layout: Arrangement
) -> tuple[tuple[bool, bool], ...]:
    """Whether a lining runs on the part at each place, on its face to the first and second end.

    A lining keeps next to no heat, so what two faces rub goes into the smooth one.
    """
    heated = [[False, False] for _ in layout.stack]
    for index, (one, two) in enumerate(pairwise(layout.stack)):
        facing = _face(unit, gap, one, 1), _face(unit, gap, two, 0)
        heated[index][1] = facing == ("smooth", "lined")
        heated[index + 1][0] = facing == ("lined", "smooth")
    return tuple((first, second) for first, second in heated)


def _face(unit: Unit, gap: Pack | EndPlay, place: Place, side: int) -> Face:
    """The face a part turns to the first end (side 0) or the second (side 1)."""
    family = unit.families.get(unit.family_name(place.part))
    if family is None or family.kind not in FACED:
        return "none"
    lined = family.lined or ("both sides" if family.kind == "friction" else "no")
    if lined == "one side":
        return "lined" if place.lining_faces == gap.ends[side] else "smooth"
    return "lined" if lined == "both sides" else "smooth"
