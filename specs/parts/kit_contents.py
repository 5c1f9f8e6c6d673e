"""The contents of a kit, counted by the names of its unit, and the shelf that they make."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from specs.errors import InputError
from specs.findings import near
from specs.models.kit import ONE_THICKNESS
from specs.models.shelf import ShelfLot
from specs.parts.lookup import find_size

if TYPE_CHECKING:
    from collections.abc import Iterable

    from specs.models.case import Case
    from specs.models.kit import Contents, Kit, Replaced
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit

Sizes = Counter[tuple[str, str]]
"""How many of each family and size; of a part without sizes, the size is empty."""


def sizes_of(unit: Unit, contents: Contents, length: LengthUnit | None) -> Sizes:
    """Count the parts of some contents by family and size, named as in the unit file.

    Parameters
    ----------
    unit
        The unit whose families they are.
    contents
        How many of each size of each family, as written.
    length
        The unit of bare sizes.

    Returns
    -------
    Sizes
        How many of each; sizes with none are left out.

    Raises
    ------
    PartError
        Where a size cannot be told.
    """
    found: Sizes = Counter()
    for name, counts in contents.items():
        family = unit.families[name]
        for text, count in counts.items():
            size = find_size(name, family, text, length).size if family.sizes else ONE_THICKNESS
            found[name, size] += count
    return +found


def held(case: Case, options: Iterable[str] = ()) -> Sizes:
    """Count the parts of a case's kit by family and size, with those of some of its options."""
    kit, length = kit_of(case), case.origins["kit"].length
    found = sizes_of(case.unit, kit.contents, length)
    for name in options:
        found += sizes_of(case.unit, kit.options[name].contents, length)
    return found


def also_held(case: Case, options: Iterable[str] = ()) -> Counter[str]:
    """Count the parts of a case's kit that are of no family, with those of some of its options."""
    kit = kit_of(case)
    found = Counter(kit.also_in_it)
    for name in options:
        found.update(kit.options[name].also_in_it)
    return +found


def all_held(case: Case, options: Iterable[str] = ()) -> Sizes:
    """Count all parts in a case's kit; parts of no family count as if of one thickness."""
    also = also_held(case, options)
    return held(case, options) + Counter({(name, ONE_THICKNESS): n for name, n in also.items()})


def gaps_of(case: Case) -> tuple[str, ...]:
    """Return the packs and end plays that a case's kit is for, in the unit's order."""
    asked = kit_of(case).for_
    return tuple(name for name in case.unit.gaps if not asked or name in asked)


def replaced_in(case: Case) -> dict[str, tuple[Replaced, str]]:
    """Return what every overhaul replaces, each with the file that says so: `unit` or `kit`.

    The kit's entry counts where both have one.
    """
    unit = {name: (part, "unit") for name, part in case.unit.always_replaced.items()}
    kit = {name: (part, "kit") for name, part in kit_of(case).always_replaced.items()}
    return {**unit, **kit}


def kit_of(case: Case) -> Kit:
    """Return the kit of a case; raise ValueError where it has none."""
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
    """Return the case with its kit, and the options taken, as the whole shelf."""
    shelf: dict[str, dict[str, tuple[ShelfLot, ...]]] = {}
    for (family, size), count in held(case, options).items():
        if size != ONE_THICKNESS:
            lot = ShelfLot.model_validate({"count": str(count)})
            shelf.setdefault(family, {})[size] = (lot,)
    return replace(case, shelf=shelf, ledger="")
