"""How many steels of a build are thin, and how few there could be."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from solver.rebuild.fit import fit

if TYPE_CHECKING:
    from solver.engines.limits import Limits
    from solver.problem.instance import Build, Instance
    from solver.problem.solution import Answer, Fit


def thin_in(instance: Instance, build: Build, index: int) -> int:
    """How many steels of a gap are thinner than the thickest grade of their family."""
    return sum(bool(instance.choices[part].grade) for parts in build[index].parts for part in parts)


def fewest_thin(found: Fit, limits: Limits) -> Answer:
    """The answer when thin steels are all that counts."""
    instance = found.instance
    earlier = [level.measure for level in instance.levels]
    first = earlier.index("thin") if "thin" in earlier else len(earlier)
    safe = "near limits" in earlier[:first]  # it spares no thin steel, and is paid for by them
    if found.proved and not any(found.values[:first]) and "thin" in instance.aims and not safe:
        return found
    return fit(replace(instance, aims=("thin",)), limits)
