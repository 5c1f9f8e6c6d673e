"""The faces that meet in a stack, for the check of a unit file and for the heat of a pack.

A face is lined or smooth. A lining must run on a smooth face; a smooth face is heated where a
lining runs on it.
"""

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
"""The keys of a unit file that decide which face meets which."""


def faces_findings(
    path: Path, unit: Unit, gap: Pack | EndPlay, layout: Arrangement
) -> Iterator[Finding]:
    """Check that the faces of a layout meet as they should.

    Parameters
    ----------
    path
        Where the layout stands in the unit.
    unit, gap, layout
        The layout, with the gap and the unit it belongs to.

    Yields
    ------
    Finding
        One for each pair of lined faces, and for each pair of smooth ones that the layout does not
        allow; none where a part of the stack is unknown, which another check finds.
    """
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
    """Tell which faces of each part of a layout are heated by a lining.

    Returns
    -------
    tuple of (bool, bool)
        For each place of the stack, whether a lining runs on the part's face towards the first end
        and on its face towards the second.

    Notes
    -----
    A lining stores next to no heat, so the heat of two rubbing faces goes into the smooth one.
    """
    heated = [[False, False] for _ in layout.stack]
    for index, (one, two) in enumerate(pairwise(layout.stack)):
        facing = _face(unit, gap, one, 1), _face(unit, gap, two, 0)
        heated[index][1] = facing == ("smooth", "lined")
        heated[index + 1][0] = facing == ("lined", "smooth")
    return tuple((first, second) for first, second in heated)


def _face(unit: Unit, gap: Pack | EndPlay, place: Place, side: int) -> Face:
    """Return the face that a part turns to the first end (side 0) or to the second (side 1)."""
    family = unit.families.get(unit.family_name(place.part))
    if family is None or family.kind not in FACED:
        return "none"
    lined = family.lined or ("both sides" if family.kind == "friction" else "no")
    if lined == "one side":
        return "lined" if place.lining_faces == gap.ends[side] else "smooth"
    return "lined" if lined == "both sides" else "smooth"
