"""From lots to choices: lots nobody could tell apart are one, and steels fall into grades."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from specs.models.families import Family
    from specs.models.lot import Lot
    from specs.models.unit import Unit


def merged(unit: Unit, lots: Iterable[Lot]) -> list[tuple[Lot, ...]]:
    """Put together lots of equal size, thickness, doubt and standing, as the tie-break sorts them.

    Lots under their family's wear limit are left out.
    """
    alike: dict[tuple[object, ...], list[Lot]] = {}
    for lot in lots:
        limit = unit.families[lot.family].wear_limit
        if limit is None or lot.thickness >= limit:
            known = (not lot.measured, lot.gauge, lot.within)
            key = (lot.family, lot.size, lot.thickness, lot.condition, lot.own, known)
            alike.setdefault(key, []).append(lot)

    def rank(group: list[Lot]) -> tuple[object, ...]:
        lot = group[0]
        nominal = unit.families[lot.family].sizes[lot.size].nominal
        first = min(lot.lot for lot in group)
        known = (not lot.measured, lot.gauge, lot.within)
        return (
            lot.family, nominal, lot.thickness, lot.condition, not lot.own, lot.size, known, first
        )  # fmt: skip

    return [
        tuple(sorted(group, key=lambda lot: (lot.bin, lot.lot, lot.count)))
        for group in sorted(alike.values(), key=rank)
    ]


def grades(family: Family) -> dict[str, int]:
    """Number the grades of a steel family from the thinnest, the thickest being 0.

    Without grades in the unit file each nominal is a grade, nominals closer to the next than
    the family's tolerance being one.
    """
    ordered = sorted(family.sizes, key=lambda name: (family.sizes[name].nominal, name))
    numbers: dict[str, int] = {}
    for before, name in zip(["", *ordered], ordered, strict=False):
        if not before:
            numbers[name] = 1
            continue
        one, two = family.sizes[before], family.sizes[name]
        apart = two.nominal - one.nominal
        same = one.grade == two.grade if one.grade else not apart or apart < family.tolerance
        numbers[name] = numbers[before] + (not same)
    top = max(numbers.values(), default=1)
    return {name: number % top for name, number in numbers.items()}
