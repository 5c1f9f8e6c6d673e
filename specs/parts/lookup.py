"""Finding the part that a person means, and the parts of a build that a person lists.

A part is written as its size, its mark or its thickness, or as a size with the thickness it
measured (`thick 0.0877`). A build is listed in the order of the stack, fixed parts left out.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from specs.errors import MOST_LISTED, quoted
from specs.findings import near
from specs.models.job import LEFT_OUT, Parts
from specs.values.lengths import Length, LengthError, parse_length, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.gaps import Arrangement
    from specs.models.unit import Family, Gap, Unit
    from specs.values.lengths import LengthUnit


MOST_WORDS = 6  # of a length as measured: 1.10 mm (0.043 in) has four
LIST_THEM = (
    "list the parts from the first end to the second, or write none, thinnest, thickest or old "
    "for a trial build, trial for the build that is in"
)


class PartError(ValueError):
    """A part or a build that cannot be told; the text says what to write instead."""


@dataclass(frozen=True, slots=True)
class NamedPart:
    """One part, as found in the unit file."""

    family: str
    """The name of its family."""
    size: str
    """The name of its size."""
    thickness: Length
    """The thickness written with it, or else the nominal one of its size."""


@dataclass(frozen=True, slots=True)
class ListedBuild:
    """A build that a person listed."""

    layout: str
    """The name of its layout."""
    parts: dict[str, tuple[NamedPart, ...]]
    """The parts at each place whose part is chosen, by the label of the place."""

    @property
    def sizes(self) -> tuple[tuple[str, ...], ...]:
        """The sizes at each of its places, in the order of the stack."""
        return tuple(tuple(part.size for part in here) for here in self.parts.values())


def find_size(name: str, family: Family, text: str, unit: LengthUnit | None) -> NamedPart:
    """Find the size of a family that a name, a mark or a thickness means.

    Parameters
    ----------
    name, family
        The family, with its name in the unit file.
    text
        The part as written.
    unit
        The unit of a bare thickness; None to refuse one.

    Returns
    -------
    NamedPart
        The part, with its thickness where one is written.

    Raises
    ------
    PartError
        Where no size is meant, or where several could be.
    """
    named = _named(family, text)
    if named:
        return NamedPart(name, named, family.sizes[named].nominal)
    try:
        for blank in [at for at, sign in enumerate(text) if sign == " "][: -MOST_WORDS - 1 : -1]:
            named = _named(family, text[:blank])
            with suppress(LengthError):  # `.0600 in` may be a size called .0600
                if named:
                    return NamedPart(name, named, parse_length(text[blank:], unit))
        thickness = parse_length(text, unit)
    except LengthError:
        raise PartError(_unknown(name, family, text, unit)) from None
    fits = [size for size in family.sizes if could_be(family, size, thickness)]
    exact = [size for size in fits if family.sizes[size].nominal == thickness]
    found = exact or fits
    if len(found) == 1:
        return NamedPart(name, found[0], thickness)
    raise PartError(_unknown(name, family, text, unit))


def could_be(family: Family, size: str, thickness: Length) -> bool:
    """Say whether a thickness lies in a size's printed range, widened by the family's tolerance."""
    printed = family.sizes[size].thickness
    if printed.low is None or printed.high is None:
        return False
    within = family.stated_tolerance
    return printed.low - within <= thickness <= printed.high + within


def _named(family: Family, text: str) -> str | None:
    if text in family.sizes:
        return text
    marked = [name for name, size in family.sizes.items() if size.mark == text]
    return marked[0] if len(marked) == 1 else None


def _unknown(name: str, family: Family, text: str, unit: LengthUnit | None) -> str:
    sizes = ", ".join(
        size if _bare(size, unit) else f"{size} {show(spec.nominal, unit or 'in')}"
        for size, spec in islice(family.sizes.items(), MOST_LISTED)
    )
    first, spec = next(iter(family.sizes.items()))
    return (
        f"{quoted(text)}; the sizes of {name} are {sizes}; write one of them, or a size with "
        f'what it measured: "{first} {show(spec.nominal, unit or "in")}"'
    )


def _bare(size: str, unit: LengthUnit | None) -> bool:
    try:
        parse_length(size, unit)
    except LengthError:
        return False
    return True


def selective(unit: Unit, layout: Arrangement) -> Iterator[tuple[int, str]]:
    """Yield the index and the label of each place of a layout whose part is chosen."""
    for index, (place, label) in enumerate(zip(layout.stack, layout.labels, strict=True)):
        if unit.family_of(place.part).fixed is None:
            yield index, label


def list_build(unit: Unit, gap: Gap, parts: Parts, length: LengthUnit | None) -> ListedBuild:
    """Find the parts of a listed build.

    Parameters
    ----------
    unit, gap
        The gap the build is of, with its unit.
    parts
        The build as written, or a word for a trial build: none, thinnest or thickest.
    length
        The unit of bare thicknesses; None to refuse them.

    Returns
    -------
    ListedBuild
        The parts at each place whose part is chosen.

    Raises
    ------
    PartError
        Where the layout is not stated or unknown, where the parts do not match its stack, or where
        one of them cannot be told.
    """
    layout_name = parts.layout or _only_layout(gap)
    if layout_name not in gap.arrangements:
        raise PartError(near(layout_name, [*gap.arrangements], "its layouts"))
    layout = gap.arrangements[layout_name]
    places = list(selective(unit, layout))
    if isinstance(parts.parts, str):
        return ListedBuild(layout_name, _gauge_build(unit, layout, parts.parts))
    if len(parts.parts) != len(places):
        wanted = ", ".join(label for _, label in places)
        raise PartError(
            f"found {len(parts.parts)} parts; the stack takes {len(places)} in this order: {wanted}"
        )
    resolved: dict[str, tuple[NamedPart, ...]] = {}
    for (index, label), texts in zip(places, parts.parts, strict=True):
        place = layout.stack[index]
        if texts == (LEFT_OUT,):
            resolved[label] = ()
            continue
        least, most = place.how_many
        if not least <= len(texts) <= most:
            raise PartError(f"found {len(texts)} parts for {label}; it takes {least} to {most}")
        family = unit.family_name(place.part)
        resolved[label] = tuple(
            find_size(family, unit.families[family], text, length) for text in texts
        )
    return ListedBuild(layout_name, resolved)


def _only_layout(gap: Gap) -> str:
    if len(gap.arrangements) > 1:
        names = ", ".join(gap.arrangements)
        raise PartError(
            f"say which layout it is: {{layout: ..., parts: [...]}} with one of {names}"
        )
    return next(iter(gap.arrangements))


def _gauge_build(unit: Unit, layout: Arrangement, word: str) -> dict[str, tuple[NamedPart, ...]]:
    if word == "none":
        return {label: () for _, label in selective(unit, layout)}
    if word not in ("thinnest", "thickest"):
        raise PartError(f"{quoted(word)}; {LIST_THEM}")
    pick = min if word == "thinnest" else max
    build = {}
    for index, label in selective(unit, layout):
        place = layout.stack[index]
        name = unit.family_name(place.part)
        sizes = unit.families[name].sizes
        size = pick(sizes, key=lambda key, sizes=sizes: (sizes[key].nominal, key))  # type: ignore[misc]
        count = place.how_many[0]
        build[label] = (NamedPart(name, size, sizes[size].nominal),) * count
    return build


def is_measured(unit: Unit, part: NamedPart) -> bool:
    """Say whether a part is listed with a thickness of its own, and not by its size alone."""
    return part.thickness != unit.families[part.family].sizes[part.size].nominal
