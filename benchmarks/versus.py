"""Ours against the peers on the same jobs, all with the same answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchmarks.peers import SCIP_IS_HERE, by_highs, by_scip
from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from benchmarks.weighted import by_weights
from solver import Fit, fit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from solver.task import Task

OURS, HIGHS, SCIP, WEIGHTED = "fit", "HiGHS, levels", "SCIP, levels", "HiGHS, weighted"
FASTER = "the faster"


def versus(case: str, tasks: Sequence[Task], rounds: int) -> list[Row | Skipped]:
    """Time the levels of every job, ours to be no slower than the faster of the peers."""
    times: dict[str, list[float]] = {}
    agreed = 0
    for task in tasks:
        agreed += agreement(task)
        for name, seconds in in_turns(ways(task), rounds).items():
            times.setdefault(name, []).append(seconds)
    peers = [name for name in (HIGHS, SCIP) if name in times]
    times[FASTER] = [min(pair) for pair in zip(*(times[name] for name in peers), strict=True)]
    note = f"its levels as ours in {agreed} of {len(tasks)}"
    rows: list[Row | Skipped] = [
        Row(
            case,
            OURS,
            peer,
            tuple(times[OURS]),
            tuple(times[peer]),
            aim=1.0 if peer == FASTER else None,
            note=note if peer == WEIGHTED else "",
        )
        for peer in (FASTER, *peers, WEIGHTED)
    ]
    if not SCIP_IS_HERE:
        rows.append(Skipped(f"{case} against SCIP", "pyscipopt is not installed"))
    return rows


def ways(task: Task) -> dict[str, Callable[[], object]]:
    """Everyone who is here, on one job."""
    found: dict[str, Callable[[], object]] = {
        OURS: lambda: fit(task),
        HIGHS: lambda: by_highs(task),
        WEIGHTED: lambda: by_weights(task),
    }
    if SCIP_IS_HERE:
        found[SCIP] = lambda: by_scip(task)
    return found


def agreement(task: Task) -> bool:
    """Ask that all peers find our levels; say whether the weighted solve does too.

    Raises RuntimeError where a peer finds other levels, for one of them is wrong then.
    """
    answer = fit(task)
    if isinstance(answer, Fit) and not answer.proved:
        raise RuntimeError("ours stopped before proof")
    ours = answer.values if isinstance(answer, Fit) else None
    peers = {HIGHS: by_highs(task)} | ({SCIP: by_scip(task)} if SCIP_IS_HERE else {})
    for name, theirs in peers.items():
        if theirs != ours:
            raise RuntimeError(f"{name} finds the levels {theirs}, ours {ours}")
    weighted = by_weights(task)
    return weighted == (() if ours is None else ours[: len(weighted)])
