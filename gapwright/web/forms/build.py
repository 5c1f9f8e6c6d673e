"""Asks for a build: the places whose part is chosen, in the order of the stack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gapwright.web.forms.choice import Choice, choice_of, text_of
from gapwright.web.forms.fields import LININGS, MEASURED, NONE, name_of
from specs.models.job import LEFT_OUT
from specs.parts.lookup import selective

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.web.forms.fields import Path
    from specs.models.gaps import Arrangement
    from specs.models.unit import EndPlay, Pack, Unit


@dataclass(frozen=True, slots=True)
class PartField:
    """A place of a build whose part the user is to name."""

    place: str
    sizes: tuple[Choice, ...]
    """One choice of a size; several where several parts may lie there."""
    measured: str
    """The field for the part's measurement; empty where several parts may lie there."""
    read: str = ""


@dataclass(frozen=True, slots=True)
class BuildFields:
    """A build that the user is to list, in one layout."""

    ends: tuple[str, str]
    layout: Choice | None
    """The choice of a layout, where there are several."""
    parts: tuple[PartField, ...]
    linings_field: str = ""
    """The field for what the linings of a trial build measured; empty where none are asked for."""
    linings: str = ""

    @property
    def fields(self) -> set[str]:
        """The names of all its fields."""
        names = {choice.field for part in self.parts for choice in part.sizes}
        names |= {part.measured for part in self.parts}
        names |= {self.linings_field} if self.linings_field else set()
        return names | ({self.layout.field} if self.layout else set())


def build_fields(path: Path, unit: Unit, gap: Pack | EndPlay, held: Any) -> BuildFields | None:  # noqa: ANN401 - as written
    """Make the fields for a build at a path of the job's file.

    Where the gap has several layouts, the places are those of the layout that the job names, or
    of the first.

    Parameters
    ----------
    path
        The path of the build in the job's file.
    unit
        The unit.
    gap
        The gap of the unit.
    held
        The build as the job's file has it.

    Returns
    -------
    AskedBuild, or None
        None where no part of the gap is chosen.
    """
    named = text_of(held.get("layout")) if isinstance(held, dict) else ""
    parts = held.get("parts") if isinstance(held, dict) else held
    layout = named if named in gap.arrangements else next(iter(gap.arrangements))
    listed = parts if isinstance(parts, list) else []
    asked = tuple(_parts(path, unit, gap.arrangements[layout], listed))
    several = len(gap.arrangements) > 1
    names = tuple((name, name) for name in gap.arrangements)
    choice = Choice(name_of((*path, "layout")), "layout", names, layout) if several else None
    if not asked:
        return None
    linings = text_of(held.get(LININGS)) if isinstance(held, dict) else ""
    asks = path[-1] == "trial" and (linings or _lined(unit, gap.arrangements[layout]))
    field = name_of((*path, LININGS)) if asks else ""
    return BuildFields(gap.ends, choice, asked, field, linings)


def _lined(unit: Unit, layout: Arrangement) -> bool:
    """Say whether linings that are not chosen lie in a layout."""
    families = (unit.family_of(place.part) for place in layout.stack)
    return any(one.kind == "friction" and one.fixed is not None for one in families)


def _parts(path: Path, unit: Unit, layout: Arrangement, listed: list[Any]) -> Iterator[PartField]:
    for nth, (index, label) in enumerate(selective(unit, layout)):
        place = layout.stack[index]
        sizes = unit.family_of(place.part).sizes
        held = listed[nth] if nth < len(listed) else ""
        at = (*path, "parts", str(nth))
        if place.how_many == (1, 1):
            size, read = _taken_apart(text_of(held), sizes)
            first = [("", "not told"), *[(LEFT_OUT, LEFT_OUT)] * (path[-1] == "trial")]
            choice = choice_of(at, label, first, sizes, size)
            yield PartField(label, (choice,), name_of((*path, MEASURED, str(nth))), read)
        else:
            yield PartField(label, tuple(_several(at, label, sizes, held, place.how_many[1])), "")


def _several(
    at: Path, label: str, sizes: Iterable[str], held: Any, most: int  # noqa: ANN401 - as written
) -> Iterator[Choice]:  # fmt: skip
    """Yield a choice for each part that may lie at a place; the first may say that none does."""
    given = [text_of(one) for one in (held if isinstance(held, list) else [held])]
    given = given or [NONE]  # an empty list says that none lies there
    for nth, size in enumerate((given + [""] * most)[:most]):
        first = [("", "not told"), (NONE, "none here")] if not nth else [("", "no further")]
        yield choice_of(at, label, first, sizes, size)


def _taken_apart(text: str, sizes: Iterable[str]) -> tuple[str, str]:
    """Split a part as listed, or as typed so far, into its size and its measurement."""
    if text.startswith(" "):
        return "", text.strip()
    named = [size for size in sizes if text == size or text.startswith(f"{size} ")]
    size = max(named, key=len, default=text)
    return size, text.removeprefix(size).strip()
