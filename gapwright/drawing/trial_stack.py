"""The drawing of a stack as it is put together for a reading, before any part is chosen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from gapwright.drawing.stack import draw_stack
from gapwright.fit.assembly import AssemblyStep, GapAssembly
from specs.models.unit import Pack
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.drawing.stack import ScaledDrawing
    from specs.models.gaps import Arrangement
    from specs.models.stacks import Place
    from specs.models.unit import EndPlay, Unit
    from specs.values.lengths import LengthUnit

ROOM = 70.0  # millimetres of height
LEAST_DRAWN = Length(1_200_000)  # a gap is opened so far that an arrow has room in it


def sketch_of(unit: Unit, name: str, gap: Pack | EndPlay, length: LengthUnit) -> ScaledDrawing:
    """Draw the best layout of a gap with each chosen part at its thickest, open at the gap.

    Parameters
    ----------
    unit
        The unit.
    name
        The gap's name.
    gap
        The pack or end play.
    length
        The unit of length for figures.
    """
    layout = min(gap.arrangements.values(), key=lambda one: one.rank or 0)
    window = layout.window
    first, last = gap.ends
    backwards = gap.first_in == last
    lines = list(_lines(unit, layout))
    ordered = lines[::-1] if backwards else lines
    drawn = GapAssembly(
        name=name, is_pack=isinstance(gap, Pack), layout="",
        gap=max(window.target, LEAST_DRAWN), low=layout.lowest, high=window.gap.high,
        aim=window.target, on=window.on, first_end=last if backwards else first,
        last_end=first if backwards else last,
        heat_end=(gap.heat_end or last) if isinstance(gap, Pack) else "", thin=0, steels=0,
        out_first=(),
        steps=tuple(replace(line, number=number) for number, line in enumerate(ordered, 1)),
    )  # fmt: skip
    between = gap.measure.between if gap.measure else ()
    read = "gap" in layout.space.readings
    opening = "the gap is read here" if read else "the finished gap"
    return draw_stack(drawn, between, length, ROOM, opening=opening)


def _lines(unit: Unit, layout: Arrangement) -> Iterator[AssemblyStep]:
    for place, label in zip(layout.stack, layout.labels, strict=True):
        least, _ = place.how_many
        for _ in range(max(least, 1)):
            yield _line(unit, place, label)


def _line(unit: Unit, place: Place, label: str) -> AssemblyStep:
    family = unit.family_of(place.part)
    sizes = [size.nominal for size in family.sizes.values()]
    return AssemblyStep(
        label=label, family=unit.family_name(place.part), also_called=family.also_called or "",
        kind=family.kind, thickness=family.fixed or max(sizes, default=ZERO),
        facing=place.facing or "", out_first=(),
    )  # fmt: skip
