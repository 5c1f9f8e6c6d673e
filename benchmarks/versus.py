"""Ours against the peers on the same jobs, all with the same levels."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from benchmarks.peers import SCIP_IS_HERE, by_highs, by_scip
from benchmarks.stopwatch import ask_same, in_turns
from benchmarks.table import Row, Skipped
from benchmarks.weighted import by_weights
from solver import Fit, Undecided, fit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from solver import Answer, Instance

    Ways = dict[str, Callable[[], object]]

OURS, HIGHS, SCIP, WEIGHTED = "fit", "HiGHS, levels", "SCIP, levels", "HiGHS, weighted"
FASTER = "faster of the two"


def versus(
    case: str,
    instances: Sequence[Instance],
    rounds: int,
    ours: Callable[[Instance], Answer] = fit,
    aim: float | None = 1.0,
) -> list[Row | Skipped]:
    """Time the levels of every job; the aim is for the faster of the peers."""
    times: dict[str, list[float]] = {}
    ways: Ways
    weighed = agreed = 0
    for instance in instances:
        ways = {OURS: partial(_our_levels, ours, instance)} | _peers(instance)
        values = ask_same(ways)
        if isinstance(values, tuple):
            ways[WEIGHTED] = partial(by_weights, instance)
            first = by_weights(instance)
            weighed = len(first)
            agreed += first == values[:weighed]
        for name, seconds in in_turns(ways, rounds).items():
            times.setdefault(name, []).append(seconds)
    both = [times[name] for name in (HIGHS, SCIP) if name in times]
    times[FASTER] = [min(seconds) for seconds in zip(*both, strict=True)]
    mine = tuple(times[OURS])
    notes = {WEIGHTED: f"{weighed} levels, as ours in {agreed} of {len(instances)}"}
    rows: list[Row | Skipped] = [
        Row(
            case, OURS, peer, mine, tuple(times[peer]),
            aim if peer == FASTER else None, notes.get(peer, ""),
        )
        for peer in (FASTER, HIGHS, SCIP, WEIGHTED)
        if peer in times
    ]  # fmt: skip
    if not SCIP_IS_HERE:
        rows.append(Skipped(f"{case} against SCIP", "pyscipopt is not installed"))
    return rows


def _peers(instance: Instance) -> Ways:
    """Every peer that is here, on one job."""
    found: Ways = {HIGHS: partial(by_highs, instance)}
    if SCIP_IS_HERE:
        found[SCIP] = partial(by_scip, instance)
    return found


def _our_levels(ours: Callable[[Instance], Answer], instance: Instance) -> tuple[int, ...] | None:
    return levels(ours(instance))


def levels(answer: Answer) -> tuple[int, ...] | None:
    """The value of every level, or nothing where it is proved that there is no build.

    Raises RuntimeError where the search ended before proof: a time would mean nothing.
    """
    if isinstance(answer, Undecided) or (isinstance(answer, Fit) and not answer.proved):
        raise RuntimeError("ours stopped before proof")
    return answer.values if isinstance(answer, Fit) else None
