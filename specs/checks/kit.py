"""Whether a kit holds parts of its unit, in the words of the unit's file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.findings import Finding, near
from specs.models.kit import ONE_THICKNESS
from specs.parts.lookup import PartError, find_size

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from specs.findings import Path
    from specs.models.families import Family
    from specs.models.kit import Contents, Kit, Replaced
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit


def kit_findings(unit: Unit, kit: Kit, length: LengthUnit | None) -> Iterator[Finding]:
    """Yield everything wrong with a kit; bare sizes in it are in `length`."""
    if not kit.contents and not kit.also_in_it:
        yield Finding((), "there is nothing in this kit; list its parts under `contents`")
    for name in kit.for_:
        if name not in unit.gaps:
            yield Finding(("for",), near(name, [*unit.gaps], "packs and end plays"))
    yield from _listed((), unit, kit.contents, kit.also_in_it, length)
    for name, option in kit.options.items():
        where = ("options", name)
        if not option.contents and not option.also_in_it:
            yield Finding(where, "there is nothing in this option; list its `contents`")
        yield from _listed(where, unit, option.contents, option.also_in_it, length)
    yield from replaced_findings(kit.always_replaced)


def replaced_findings(replaced: Mapping[str, Replaced]) -> Iterator[Finding]:
    """Yield everything wrong with a list of parts that are always replaced."""
    for name, part in replaced.items():
        if not part.count:
            yield Finding(("always replaced", name, "count"), "write how many, 1 or more")


def _listed(
    path: Path, unit: Unit, contents: Contents, also: Iterable[str], length: LengthUnit | None
) -> Iterator[Finding]:
    for name, counts in contents.items():
        where = (*path, "contents", name)
        if name in unit.families:
            yield from _counted(where, name, unit.families[name], [*counts], length)
        else:
            what = "a part of no family goes under `also in it`; families of the unit"
            yield Finding(where, near(name, [*unit.families], what))
    for name in also:
        if name in unit.families:
            sentence = "this is a family of the unit; count it under `contents`"
            yield Finding((*path, "also in it", name), sentence)


def _counted(
    path: Path, name: str, family: Family, sizes: list[str], length: LengthUnit | None
) -> Iterator[Finding]:
    if not family.sizes and sizes != [ONE_THICKNESS]:
        yield Finding(path, f"this part has one thickness; write how many: {name}: 4")
        return
    if family.sizes and ONE_THICKNESS in sizes:
        first = next(iter(family.sizes))
        yield Finding(path, f'this part has sizes; write how many of each: {{"{first}": 1}}')
        return
    seen: dict[str, str] = {}
    for text in sizes if family.sizes else ():
        try:
            part = find_size(name, family, text, length)
        except PartError as error:
            yield Finding((*path, text), str(error))
            continue
        if part.thickness != family.sizes[part.size].nominal:
            sentence = f'a kit counts parts as sold; write them under their size, "{part.size}"'
            yield Finding((*path, text), sentence)
        if part.size in seen:
            sentence = f'"{seen[part.size]}" and "{text}" are the same size; list it once'
            yield Finding((*path, text), sentence)
        seen[part.size] = text
