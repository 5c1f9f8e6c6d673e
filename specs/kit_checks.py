"""Whether a kit holds parts of its unit, and what it comes to as a shelf."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from specs.errors import InputError
from specs.findings import Finding, near
from specs.kit import ONE_THICKNESS
from specs.parts import PartError, find_size
from specs.shelf import ShelfLot

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from specs.case import Case
    from specs.families import Family
    from specs.findings import Path
    from specs.kit import Contents, Kit, Replaced
    from specs.lengths import Unit as LengthUnit
    from specs.unit import Unit

Sizes = Counter[tuple[str, str]]
"""How many of each family and size; of a part without sizes, the size is empty."""


def kit_findings(unit: Unit, kit: Kit, length: LengthUnit | None) -> Iterator[Finding]:
    """Yield all that is wrong with a kit; bare sizes are in `length`."""
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
    """Yield what is wrong with a list of parts that are always replaced."""
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


def sizes_of(unit: Unit, contents: Contents, length: LengthUnit | None) -> Sizes:
    """How many of each size some contents hold, named as the unit file does."""
    found: Sizes = Counter()
    for name, counts in contents.items():
        family = unit.families[name]
        for text, count in counts.items():
            size = find_size(name, family, text, length).size if family.sizes else ONE_THICKNESS
            found[name, size] += count
    return +found


def held(case: Case, options: Iterable[str] = ()) -> Sizes:
    """How many of each size a case's kit holds, some of its options taken with it."""
    kit, length = kit_of(case), case.origins["kit"].length
    found = sizes_of(case.unit, kit.contents, length)
    for name in options:
        found += sizes_of(case.unit, kit.options[name].contents, length)
    return found


def also_held(case: Case, options: Iterable[str] = ()) -> Counter[str]:
    """How many there are of each part that is of no family."""
    kit = kit_of(case)
    found = Counter(kit.also_in_it)
    for name in options:
        found.update(kit.options[name].also_in_it)
    return +found


def gaps_of(case: Case) -> tuple[str, ...]:
    """The packs and end plays a case's kit is for, in the unit's order."""
    asked = kit_of(case).for_
    return tuple(name for name in case.unit.gaps if not asked or name in asked)


def replaced_in(case: Case) -> dict[str, tuple[Replaced, str]]:
    """What every overhaul replaces, as unit and kit say, each with who says so."""
    unit = {name: (part, "unit") for name, part in case.unit.always_replaced.items()}
    kit = {name: (part, "kit") for name, part in kit_of(case).always_replaced.items()}
    return {**unit, **kit}


def kit_of(case: Case) -> Kit:
    """The kit of a case that has one. Raises ValueError where it has none."""
    if case.kit is None:
        raise ValueError("a case without a kit")
    return case.kit


def check_options(case: Case, options: Iterable[str]) -> None:
    """Raise InputError for an option that a case's kit does not have."""
    known = [*kit_of(case).options]
    unknown = [name for name in options if name not in known]
    if unknown:
        origin = case.origins["kit"]
        raise InputError(
            *(origin.problem(("options",), near(name, known, "options")) for name in unknown)
        )


def as_shelf(case: Case, options: Iterable[str] = ()) -> Case:
    """The case with its kit, and the options taken, as all there is on its shelf."""
    shelf: dict[str, dict[str, tuple[ShelfLot, ...]]] = {}
    for (family, size), count in held(case, options).items():
        if size != ONE_THICKNESS:
            lot = ShelfLot.model_validate({"count": str(count)})
            shelf.setdefault(family, {})[size] = (lot,)
    return replace(case, shelf=shelf, ledger="")
