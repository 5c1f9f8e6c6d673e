"""Makes fields for what a job may settle beforehand: layouts, parts that stay, fixed parts."""

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
class FixedPartField:
    """A fixed part whose measurement may differ from the unit's file."""

    family: str
    nominal: str
    field: str
    value: str


def only_layout(name: str, gap: Gap, job: dict[str, Any]) -> Choice | None:
    """Return the choice of a gap's only layout; None where it has one layout."""
    if not gap.layouts or len(gap.layouts) == 1:
        return None
    path = ("gaps", name, "layout")
    held = text_of(held_at(job, path))
    return choice_of(("job", *path), "layout", [("", "whichever is best")], gap.layouts, held)


def kept_parts(unit: Unit, name: str, gap: Gap, job: dict[str, Any]) -> Iterator[Choice]:
    """Yield for each place of a gap a choice of the part to keep there."""
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
) -> Iterator[FixedPartField]:
    """Yield the fixed parts of some gaps, each family once."""
    layouts = [layout for gap in gaps for layout in gap.arrangements.values()]
    names = dict.fromkeys(
        unit.family_name(place.part) for layout in layouts for place in layout.stack
    )
    for name in names:
        nominal = unit.families[name].fixed
        if nominal is not None:
            value = text_of(held_at(job, ("parts", name)))
            yield FixedPartField(
                name, show(nominal, length), name_of(("job", "parts", name)), value
            )
