"""What is on hand for a job, as the brute force sees it: parts nobody could tell apart.

Worked out from the shelf and the job as written; thicknesses are exact nanometres.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.parts.lookup import ListedBuild, find_size, list_build
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from specs.models.case import Case
    from specs.models.families import Family
    from specs.models.job import Parts

Part = tuple[str, str, "Fraction"]
"""A family, a size and a thickness."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Parts of one size, thickness and standing, with all there are of them."""

    family: str
    size: str
    thickness: Fraction
    condition: str
    own: bool
    count: int
    grade: int
    """1 for the thinnest grade of a steel; 0 for the thickest grade and for other parts."""
    deficit: Fraction
    """How much thinner its nominal is than its family's thickest; 0 for what is no steel."""

    @property
    def told(self) -> tuple[str, str, Fraction, str, bool]:
        """All that tells it from others."""
        return self.family, self.size, self.thickness, self.condition, self.own


def kinds_of(case: Case, gaps: tuple[str, ...]) -> tuple[Kind, ...]:
    """What is on hand and not worn out, in the order of the tie-break."""
    total: dict[tuple[str, str, Fraction, str, bool], int] = {}
    lots: dict[tuple[str, str, Fraction, str, bool], list[str]] = {}
    for part, condition, lot, count in _on_shelf(case):
        total[(*part, condition, False)] = total.get((*part, condition, False), 0) + count
        lots.setdefault((*part, condition, False), []).append(lot)
    for part, count in own_parts(case, gaps).items():
        total[(*part, "used", True)] = count
        lots[(*part, "used", True)] = [""]

    def rank(told: tuple[str, str, Fraction, str, bool]) -> tuple[object, ...]:
        family, size, thickness, condition, own = told
        nominal = case.unit.families[family].sizes[size].nominal
        return family, nominal, thickness, condition, not own, size, min(lots[told])

    usable = [told for told, n in total.items() if n and not _worn(case, told[0], told[2])]
    return tuple(_kind(case, told, total[told]) for told in sorted(usable, key=rank))


def _kind(case: Case, told: tuple[str, str, Fraction, str, bool], count: int) -> Kind:
    family = case.unit.families[told[0]]
    if family.kind != "steel":
        return Kind(*told, count, 0, told[2] * 0)
    thickest = max(size.nominal.nm for size in family.sizes.values())
    deficit = thickest - family.sizes[told[1]].nominal.nm
    return Kind(*told, count, grades_of(family)[told[1]], deficit)


def _on_shelf(case: Case) -> Iterator[tuple[Part, str, str, int]]:
    for family, sizes in case.shelf.items():
        for text, lots in sizes.items():
            size = find_size(family, case.unit.families[family], text, case.shelf_length)
            for lot in lots:
                part = (family, size.size, (lot.thickness or size.thickness).nm)
                yield part, lot.condition, lot.lot or "", lot.count - lot.spoken_for


def _worn(case: Case, family: str, thickness: Fraction) -> bool:
    limit = case.unit.families[family].wear_limit
    return limit is not None and thickness < limit.nm


def grades_of(family: Family) -> dict[str, int]:
    """Number a steel family's grades from the thinnest; the thickest grade is 0."""
    sizes = sorted(family.sizes, key=lambda name: (family.sizes[name].nominal, name))
    grades: list[list[str]] = []
    for name in sizes:
        size = family.sizes[name]
        last = family.sizes[grades[-1][-1]] if grades else None
        if last is None:
            grades.append([name])
        elif size.grade is not None:
            grades[-1:] = (
                [[*grades[-1], name]] if size.grade == last.grade else [grades[-1], [name]]
            )
        else:
            apart = size.nominal - last.nominal
            one = not apart or apart < (family.tolerance or Length(0))
            grades[-1:] = [[*grades[-1], name]] if one else [grades[-1], [name]]
    numbered = {name: 1 + nth for nth, names in enumerate(grades) for name in names}
    return {name: 0 if number == len(grades) else number for name, number in numbered.items()}


# The parts of this very unit.


def trial_of(case: Case, gap: str) -> Parts | None:
    """The trial build a job lists."""
    work = case.job.gaps.get(gap)
    return work.trial if work else None


def now_of(case: Case, gap: str) -> Parts | None:
    """The build now in the unit, where the job lists it."""
    work = case.job.gaps.get(gap)
    if work is None or work.now is None:
        return None
    return work.trial if work.now.parts == "trial" else work.now


def listed(case: Case, gap: str, parts: Parts | None) -> ListedBuild | None:
    """Which parts a listed build is made of; nothing where it is not listed part by part."""
    if parts is not None and parts.parts == "old":
        parts = now_of(case, gap)
    if parts is None or isinstance(parts.parts, str):
        return None
    return list_build(case.unit, case.unit.gaps[gap], parts, case.length)


def own_parts(case: Case, gaps: tuple[str, ...]) -> Counter[Part]:
    """The parts of trial builds and those now in: what one gap names twice is there once."""
    total: Counter[Part] = Counter()
    shared: dict[str, Counter[Part]] = {}
    for gap in gaps:
        own: Counter[Part] = Counter()
        for parts in (trial_of(case, gap), now_of(case, gap)):
            build = listed(case, gap, parts)
            mine: Counter[Part] = Counter()
            for place, part in _places(case, gap, build) if build else ():
                if place in case.unit.shared_parts:
                    shared[place] = shared.get(place, Counter()) | Counter([part])
                else:
                    mine[part] += 1
            own |= mine
        total += own
    for count in shared.values():
        total += count
    return total


def _places(case: Case, gap: str, build: ListedBuild) -> Iterator[tuple[str, Part]]:
    layout = case.unit.gaps[gap].arrangements[build.layout]
    for label, place in zip(layout.labels, layout.stack, strict=True):
        for part in build.parts.get(label, ()):
            yield place.part, (part.family, part.size, part.thickness.nm)
