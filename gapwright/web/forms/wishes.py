"""What a job may settle beforehand: a layout, parts that stay, fixed parts as they measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gapwright.web.forms.choice import Choice, choice_of, held_at, text_of
from gapwright.web.forms.fields import name_of
from specs.parts.lookup import selective
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.models.unit import Gap, Unit
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class AskedFixed:
    """A fixed part that may have measured something else than the unit's file says."""

    family: str
    nominal: str
    field: str
    value: str


def only_layout(name: str, gap: Gap, job: dict[str, Any]) -> Choice | None:
    """Which layout alone is to be looked at; None where there is but one."""
    if not gap.layouts or len(gap.layouts) == 1:
        return None
    path = ("gaps", name, "layout")
    held = text_of(held_at(job, path))
    return choice_of(("job", *path), "layout", [("", "whichever is best")], gap.layouts, held)


def kept_parts(unit: Unit, name: str, gap: Gap, job: dict[str, Any]) -> Iterator[Choice]:
    """For each place whose part is chosen, whether it is settled already."""
    seen = set()
    for layout in gap.arrangements.values():
        for index, label in selective(unit, layout):
            if label in seen or layout.stack[index].how_many != (1, 1):
                continue
            seen.add(label)
            path = ("gaps", name, "keep", label)
            first = [("", "free to choose"), ("now", "the one that is in")]
            sizes = unit.family_of(layout.stack[index].part).sizes
            yield choice_of(("job", *path), label, first, sizes, text_of(held_at(job, path)))


def fixed_parts(
    unit: Unit, gaps: Iterable[Gap], job: dict[str, Any], length: LengthUnit
) -> Iterator[AskedFixed]:
    """The fixed parts of some gaps, each family once."""
    layouts = [layout for gap in gaps for layout in gap.arrangements.values()]
    names = dict.fromkeys(
        unit.family_name(place.part) for layout in layouts for place in layout.stack
    )
    for name in names:
        nominal = unit.families[name].fixed
        if nominal is not None:
            value = text_of(held_at(job, ("parts", name)))
            yield AskedFixed(name, show(nominal, length), name_of(("job", "parts", name)), value)
