"""The use cases: what a command or a page asks for, done with the shelf and the solver.

Here the two sides meet: `inventory` says what is on hand, `solver` chooses from it. No sentence
is made here and nothing is printed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import inventory
from gapwright.around import explained, looked_around, ranked
from gapwright.report import Report
from gapwright.reserve import check_reservable, issued, reserve
from inventory.refusals import ChangedShelfError, ShortShelfError
from solver.answer import Fit, NoFit
from solver.engine import Clock, Limits
from solver.pose import pose
from specs.errors import InputError, Problem
from specs.files import read_case
from specs.layouts import allowed_layouts, barred_layouts
from specs.readings import fewer_places, missing, space_of

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.shelf_desk import Said
    from inventory.movements import Balance
    from specs.case import Case

MOST_SOLVES = 5


def fit_job(
    job: Path,
    unit: Path | None = None,
    shelf: Path | str | None = None,
    limits: Limits | None = None,
    best: int = 1,
    said: Said | None = None,
) -> Report:
    """Read one job and solve it. Raises InputError with all that is wrong with its files.

    Where somebody `said` to reserve, what the answer takes from the shelf's ledger is reserved.
    """
    case = read_case(job, unit, shelf)
    return fit_reserved(case, said, limits, best) if said else fit_case(case, limits, best)


def fit_reserved(case: Case, said: Said, limits: Limits | None = None, best: int = 1) -> Report:
    """Solve a case and reserve what its answer takes, all of it or nothing.

    The shelf is free for others meanwhile; where they took something of the answer, the case is
    solved again. Raises ChangedShelfError where that goes on, InputError without a ledger.
    """
    check_reservable(case)
    name = ""
    for again in range(MOST_SOLVES):
        report = replace(fit_case(case, limits, best), solved_again=again)
        if not isinstance(report.answer, Fit):
            return report
        try:
            return replace(report, reserved=reserve(report, said))
        except ShortShelfError as short:
            name = short.problems[0].file
    sentence = f"changed under the answer {MOST_SOLVES} times; nothing was reserved, try again"
    raise ChangedShelfError(name, sentence)


def fit_case(case: Case, limits: Limits | None = None, best: int = 1) -> Report:
    """Solve the gaps of a case whose readings are there, and look around the answer.

    With `best` more than 1 the answer also lists so many best builds.
    """
    from solver.fit import fit

    clock = Clock(limits or Limits())
    lacking = {name: missing(case, name) for name in case.unit.gaps}
    solved = tuple(name for name, names in lacking.items() if not names)
    waiting = {name: names for name, names in lacking.items() if names}
    _check_solvable(case, solved, waiting)
    balances, gone = _balances(case)
    lots = (*inventory.on_hand(case, solved, balances), *inventory.catalogue(case))
    task = pose(case, lots, solved)
    answer = fit(task, clock.rest())
    layouts = {
        gap.name: gap.layouts[answer.build[index].layout if isinstance(answer, Fit) else 0].name
        for index, gap in enumerate(task.gaps)
    }
    report = Report(
        case=case,
        answer=answer,
        solved=solved,
        waiting=waiting,
        barred={name: barred_layouts(case, name) for name in solved},
        spaces={name: space_of(case, name, layouts[name]) for name in solved},
        fewer_places=tuple(
            (name, *places) for name in solved for places in fewer_places(case, name)
        ),
        issued=gone,
        set_aside=inventory.unknown_sizes(case, balances or ()),
    )
    if isinstance(answer, NoFit):
        return explained(report, answer, clock)
    if not isinstance(answer, Fit):
        return report
    report = looked_around(report, answer, clock)
    return replace(report, best=ranked(case, answer, best, clock)) if best > 1 else report


def _balances(case: Case) -> tuple[tuple[Balance, ...] | None, int]:
    """How the lots of the case's ledger stand, and how many parts the job was issued.

    None where the shelf is written in a file.
    """
    if not case.ledger:
        return None, 0
    with inventory.open_shelf(case.ledger) as shelf:
        return shelf.balances(), issued(shelf, case.job.name)


def _check_solvable(
    case: Case, solved: tuple[str, ...], waiting: dict[str, tuple[str, ...]]
) -> None:
    origin = case.origins["job"]
    if not solved:
        wants = "; ".join(f"{name} waits for {', '.join(names)}" for name, names in waiting.items())
        raise InputError(Problem(f"no gap has all its readings yet: {wants}", origin.source.file))
    problems = []
    for name in solved:
        if not allowed_layouts(case, name):
            sentence = f"no layout of {name} is allowed: {'; '.join(barred_layouts(case, name))}"
            problems.append(origin.problem(("facts",), sentence))
    if problems:
        raise InputError(*problems)
