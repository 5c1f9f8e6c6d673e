"""The use cases: what a command or a page asks for, done with the shelf and the solver.

Here the two sides meet: `inventory` says what is on hand, `solver` chooses from it. No sentence
is made here and nothing is printed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import inventory
from solver.answer import Answer, Fit, NoFit, Undecided
from solver.pose import pose
from specs.case import Case, read_case
from specs.errors import InputError, Problem
from specs.readings import missing

if TYPE_CHECKING:
    from pathlib import Path

    from solver.engine import Limits


@dataclass(frozen=True, slots=True)
class Report:
    """One rebuild's answer, with what it was asked of."""

    case: Case
    answer: Answer
    solved: tuple[str, ...]
    """The gaps whose readings are there, in the unit file's order."""
    waiting: dict[str, tuple[str, ...]]
    """The other gaps, with the readings they wait for."""


def fit_job(
    job: Path, unit: Path | None = None, shelf: Path | None = None, limits: Limits | None = None
) -> Report:
    """Read one job and solve it. Raises InputError with all that is wrong with its files."""
    return fit_case(read_case(job, unit, shelf), limits)


def fit_case(case: Case, limits: Limits | None = None) -> Report:
    """Solve the gaps of a case whose readings are there."""
    from solver.fit import fit

    lacking = {name: missing(case, name) for name in case.unit.gaps}
    solved = tuple(name for name, names in lacking.items() if not names)
    waiting = {name: names for name, names in lacking.items() if names}
    if not solved:
        wants = "; ".join(f"{name} waits for {', '.join(names)}" for name, names in waiting.items())
        source = case.origins["job"].source
        raise InputError(Problem(f"no gap has all its readings yet: {wants}", source.file))
    task = pose(case, inventory.on_hand(case, solved), solved)
    return Report(case, fit(task, limits), solved, waiting)


__all__ = ["Fit", "NoFit", "Report", "Undecided", "fit_case", "fit_job"]
