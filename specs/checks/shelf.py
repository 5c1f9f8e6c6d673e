"""Whether a shelf holds parts of its unit, each as thick as its size may be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.findings import Finding, near, weigh
from specs.parts.lookup import PartError, could_be, find_size
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from specs.findings import Path
    from specs.models.case import Case
    from specs.models.shelf import ShelfLot
    from specs.models.unit import Family
    from specs.values.lengths import Length, LengthUnit


def shelf_findings(case: Case, elsewhere: Collection[str] = ()) -> Iterator[Finding]:
    """Yield everything wrong with a shelf, except for families that only units `elsewhere` have."""
    chosen = {name: family for name, family in case.unit.families.items() if family.sizes}
    for name, sizes in case.shelf.items():
        if name not in chosen and name in elsewhere:
            continue
        if name not in chosen:
            yield Finding((name,), near(name, [*chosen], "families drawn from the shelf"))
            continue
        seen: dict[str, str] = {}
        for text, lots in sizes.items():
            try:
                part = find_size(name, chosen[name], text, case.origins["shelf"].length)
            except PartError as error:
                yield Finding((name, text), str(error))
                continue
            thickness = show(part.thickness, case.length)
            yield weigh((name, text), part.thickness, chosen[name].kind, thickness)
            if part.size in seen:
                sentence = f'"{seen[part.size]}" and "{text}" are the same size; list it once'
                yield Finding((name, text), sentence)
            seen[part.size] = text
            for lot in lots:
                yield from _lot((name, text), case, chosen[name], part.size, lot)


def _lot(path: Path, case: Case, family: Family, size: str, lot: ShelfLot) -> Iterator[Finding]:
    if lot.spoken_for > lot.count:
        yield Finding(path, f"{lot.spoken_for} reserved of {lot.count}; no more than there are")
    if lot.thickness is None:
        for key, written in (("gauge", lot.gauge), ("within", lot.within)):
            if written is not None:
                yield Finding((*path, key), "goes with a `thickness` that was measured; write both")
        return
    if lot.within is not None:
        yield weigh((*path, "within"), lot.within, "tolerance")
    yield weigh(path, lot.thickness, family.kind)
    slip = mistaken(family, size, lot.thickness, case.length)
    if slip:
        yield Finding(path, slip)


def mistaken(family: Family, size: str, thickness: Length, unit: LengthUnit) -> str:
    """Say which size a measured part is more likely; empty where it may be the one it is called.

    Parameters
    ----------
    family
        The part's family.
    size, thickness
        The size it is called, and what it measured.
    unit
        The unit to print its thickness in.
    """
    other = another_size(family, size, thickness)
    if not other:
        return ""
    return f"{show(thickness, unit)} is the thickness of {other}, not of {size}; which is it?"


def another_size(family: Family, size: str, thickness: Length) -> str | None:
    """Return the size that a measured part is more likely; None where it may be as called."""
    if could_be(family, size, thickness):
        return None
    others = [name for name in family.sizes if could_be(family, name, thickness)]
    return others[0] if others else None
