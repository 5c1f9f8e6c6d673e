"""What the aim `safe` costs: the same rebuilds, and the same batch of 1,000, with it and without.

What is measured here is the promise that gaps are kept clear of their limits for no more than a
tenth of the processor time. The builds may differ, so the answers are not compared.
"""

from __future__ import annotations

from dataclasses import replace
from time import process_time
from typing import TYPE_CHECKING

from benchmarks.floors import floor
from benchmarks.hard import CONTESTED
from benchmarks.jobs import Shape, posed
from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from benchmarks.whole_unit import SHAPE as WHOLE_UNIT
from solver import fit
from solver.batch import plan
from solver.engines.limits import Limits

if TYPE_CHECKING:
    from solver import Instance
    from solver.batch import Batch

AIM = 1.1
JOBS, SEEDS = 1_000, (1, 2, 3)
SHAPES = {"one pack": Shape(), "whole unit": WHOLE_UNIT, "contested": CONTESTED}


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time fits of every kind, and batches, with `safe` and without."""
    jobs, rounds = (1, 1) if quick else (24, 3)
    rows: list[Row | Skipped] = []
    for kind, shape in SHAPES.items():
        times = [_fits(posed(shape, seed), rounds) for seed in range(jobs)]
        rows.append(_row(f"{kind}, fit", times))
    number, seeds = (4, SEEDS[:1]) if quick else (JOBS, SEEDS)
    return [
        *rows,
        _row(f"batch of {number}", [_plans(floor(number, seed), rounds) for seed in seeds]),
    ]


def _row(case: str, times: list[tuple[float, float]]) -> Row:
    mine, others = zip(*times, strict=True)
    return Row(case, "with safe", "without", mine, others, AIM)


def _fits(instance: Instance, rounds: int) -> tuple[float, float]:
    bare = _without(instance)
    ways = {"with": lambda: fit(instance), "without": lambda: fit(bare)}
    found = in_turns(ways, rounds, process_time)
    return found["with"], found["without"]


def _plans(batch: Batch, rounds: int) -> tuple[float, float]:
    jobs = tuple(replace(job, instance=_without(job.instance)) for job in batch.jobs)
    bare = replace(batch, jobs=jobs)
    ways = {
        "with": lambda: plan(batch, Limits(600.0)),
        "without": lambda: plan(bare, Limits(600.0)),
    }
    found = in_turns(ways, rounds, process_time)
    return found["with"], found["without"]


def _without(instance: Instance) -> Instance:
    return replace(instance, aims=tuple(aim for aim in instance.aims if aim != "safe"))
