"""Several rebuilds from a tight shelf, every level, against peers on the program per position.

The peers run the same levels in sequence. Where one is not done in its time the time it was given
stands in its place, so that the ratio shown is too high, and the note says so.
"""

from __future__ import annotations

from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from benchmarks.batch_positions import BatchPositions
from benchmarks.floors import floor
from benchmarks.peers import HIGHS_OPTIMAL, SCIP_IS_HERE, matrix_of
from benchmarks.table import Row, Skipped
from solver.batch import plan
from solver.engines.limits import Limits

if TYPE_CHECKING:
    from collections.abc import Callable

    from pyscipopt import Expr

    from benchmarks.positions import Terms
    from solver.batch import Batch

SIZES, LARGE = (20, 100, 400, 1000), 5000
PEERS_UP_TO = 1000
PATIENCE = 300.0  # seconds a peer is given
OURS = 120.0
SEED = 1


class LateError(Exception):
    """A peer was not done in its time."""


def run(*, quick: bool) -> list[Row | Skipped]:
    """Plan the floors."""
    if quick:
        return [*_versus(4, 20.0)]
    rows: list[Row | Skipped] = []
    for jobs in SIZES:
        rows += _versus(jobs, PATIENCE)
    return [*rows, _alone(LARGE)]


def _versus(jobs: int, patience: float) -> list[Row | Skipped]:
    batch = floor(jobs, SEED)
    mine, values, note = _ours(batch)
    times: dict[str, float] = {}
    notes: dict[str, str] = {}
    ways: dict[str, Callable[[Batch, float], tuple[int, ...]]] = {"HiGHS, levels": by_highs}
    if SCIP_IS_HERE:
        ways["SCIP, levels"] = by_scip
    for name, way in ways.items():
        begun = perf_counter()
        try:
            found = way(batch, patience)
            if found != values:
                raise RuntimeError(f"{name} finds {found}, ours {values}")
        except LateError as late:
            notes[name] = f"not done: {late}"
        times[name] = perf_counter() - begun
    faster = min(times, key=lambda name: (name in notes, times[name]))
    rows: list[Row | Skipped] = [
        Row(f"batch of {jobs}", "batch", f"the faster: {faster}", (mine,), (times[faster],), 0.5,
            "; ".join(filter(None, (note, notes.get(faster, ""))))),
    ]  # fmt: skip
    rows += [
        Row(f"batch of {jobs}", "batch", name, (mine,), (seconds,), None, notes.get(name, ""))
        for name, seconds in times.items()
    ]
    return rows


def _alone(jobs: int) -> Row:
    seconds, _, note = _ours(floor(jobs, SEED))
    return Row(f"batch of {jobs}", "batch", "120 s", (seconds,), (OURS,), 1.0, note)


def _ours(batch: Batch) -> tuple[float, tuple[int, ...], str]:
    begun = perf_counter()
    found = plan(batch, Limits(OURS))
    seconds = perf_counter() - begun
    proofs = [reached.proof for reached in found.reached]
    note = f"{proofs.count('exact')} of {len(proofs)} levels proved in whole numbers"
    if "open" in proofs:
        nth = proofs.index("open")
        at = found.reached[nth]
        note += f"; stopped at {found.batch.levels[nth].measure}: {at.value}, at least {at.bound}"
    return seconds, tuple(reached.value for reached in found.reached), note


def by_highs(batch: Batch, patience: float) -> tuple[int, ...]:
    """Solve level after level with `scipy.optimize.milp`; raises LateError out of time."""
    begun = perf_counter()
    program = BatchPositions(batch)
    terms = [*(row for row, _, _ in program.rows), *(level for _, level in program.levels)]
    matrix = matrix_of(terms, len(program.most))
    low = np.array([*(low for _, low, _ in program.rows), *[-np.inf] * len(program.levels)])
    high = np.array([*(high for *_, high in program.rows), *[np.inf] * len(program.levels)])
    values = []
    for nth, (constant, level) in enumerate(program.levels):
        left = patience - (perf_counter() - begun)
        if left <= 0:
            raise LateError(f"{nth} of {len(program.levels)} levels in {patience:.0f} s")
        costs = np.zeros(len(program.most))
        costs[list(level)] = list(level.values())
        found = milp(
            costs,
            integrality=np.array(program.whole, dtype=np.int64),
            bounds=Bounds(0, np.array(program.most)),
            constraints=LinearConstraint(matrix, low, high),
            options={"mip_rel_gap": 0.0, "time_limit": left},
        )
        if found.status != HIGHS_OPTIMAL or found.fun is None:
            raise LateError(f"{nth} of {len(program.levels)} levels in {patience:.0f} s")
        high[len(program.rows) + nth] = round(found.fun)
        values.append(constant + round(found.fun))
    return tuple(values)


def by_scip(batch: Batch, patience: float) -> tuple[int, ...]:
    """Solve level after level with PySCIPOpt; raises LateError out of time."""
    from pyscipopt import Model, quicksum

    begun = perf_counter()
    program = BatchPositions(batch)
    model = Model()
    model.hideOutput()
    model.setParam("numerics/feastol", 1e-9)
    columns = [
        model.addVar(vtype="I" if whole else "C", lb=0, ub=None if most == np.inf else most)
        for whole, most in zip(program.whole, program.most, strict=True)
    ]

    def linear(terms: Terms) -> Expr:
        total: Expr = quicksum(amount * columns[column] for column, amount in terms.items())
        return total

    for terms, low, high in program.rows:
        if low > -np.inf:
            model.addCons(linear(terms) >= low)
        if high < np.inf:
            model.addCons(linear(terms) <= high)
    values = []
    for nth, (constant, level) in enumerate(program.levels):
        left = patience - (perf_counter() - begun)
        if left <= 0:
            raise LateError(f"{nth} of {len(program.levels)} levels in {patience:.0f} s")
        if not level:
            values.append(constant)
            continue
        model.setParam("limits/time", left)
        model.setObjective(linear(level), "minimize")
        model.optimize()
        if model.getStatus() != "optimal":
            raise LateError(f"{nth} of {len(program.levels)} levels in {patience:.0f} s")
        value = round(model.getObjVal())
        values.append(constant + value)
        model.freeTransform()
        model.addCons(linear(level) <= value)
    return tuple(values)
