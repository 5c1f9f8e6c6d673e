"""How many steels of a build are thin, and how few there could be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.rebuild.fit import fit

if TYPE_CHECKING:
    from solver.engines.limits import Limits
    from solver.problem.instance import Build, Instance
    from solver.problem.solution import Answer, Fit


def thin_in(instance: Instance, build: Build, index: int) -> int:
    """How many steels of a gap are thinner than the thickest grade of their family."""
    return sum(bool(instance.choices[part].grade) for parts in build[index].parts for part in parts)


@dataclass(frozen=True, slots=True)
class ThinGrade:
    """The steels of one grade, in the packs that shift or in those that only hold."""

    shifts: bool
    grade: int
    """1 the thinnest; the thickest grade has none."""
    count: int


def thin_by_grade(instance: Instance, build: Build) -> tuple[ThinGrade, ...]:
    """Count the thin steels of a build as the aim `thin` does, the level that counts first first.

    Only grades that may lie in such a pack are listed.
    """
    counts: dict[tuple[bool, int], int] = {}
    for gap, filled in zip(instance.gaps, build, strict=True):
        for choice in gap.choices:
            counts.setdefault((gap.shifts, instance.choices[choice].grade), 0)
        for choice in (choice for parts in filled.parts for choice in parts):
            counts[gap.shifts, instance.choices[choice].grade] += 1
    ordered = sorted(counts, key=lambda key: (not key[0], key[1]))
    return tuple(ThinGrade(*key, counts[key]) for key in ordered if key[1])


def fewest_thin(found: Fit, limits: Limits) -> Answer:
    """The answer when thin steels are all that counts."""
    instance = found.instance
    earlier = [level.measure for level in instance.levels]
    first = earlier.index("thin") if "thin" in earlier else len(earlier)
    safe = "near limits" in earlier[:first]  # it spares no thin steel, and is paid for by them
    if found.proved and not any(found.values[:first]) and "thin" in instance.aims and not safe:
        return found
    return fit(replace(instance, aims=("thin",)), limits)
