"""What a shelf covers: one pack with 40 lots at 2,000 values, against one fit and one per value."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from benchmarks.jobs import Shape, posed
from benchmarks.stopwatch import ask_same, in_turns
from benchmarks.table import Row, Skipped
from benchmarks.versus import levels
from solver import fit
from solver.cover.covering import cover
from solver.problem.parameter import Sweep

if TYPE_CHECKING:
    from solver import Instance

SHAPE = Shape(steels=(5, 5), lots=12, spare=2)
"""Three sizes of steel in twelve lots each, of which some are gone, and six rings."""
VALUES, EACH = 2_000, 40
MOST_SECONDS = 0.5


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time covers of some packs; every fiftieth of 2,000 values is solved and must be the same."""
    jobs, rounds = (1, 1) if quick else (12, 5)
    sweeps = [_sweep(posed(SHAPE, seed), 200 if quick else VALUES) for seed in range(jobs)]
    times: list[dict[str, float]] = []
    for sweep in sweeps:
        some = range(0, sweep.count, sweep.count // EACH)
        ways = {"cover": partial(_covered, sweep, some), "fits": partial(_fitted, sweep, some)}
        ask_same(ways)
        middle = sweep.at(sweep.count // 2)
        seconds = in_turns({**ways, "fit": partial(fit, middle)}, rounds)
        times.append({**seconds, "all": seconds["fits"] * sweep.count / len(some)})
    ours = tuple(seconds["cover"] for seconds in times)
    worst = f"longest {max(ours):.2f} s, {MOST_SECONDS} s at most"
    case = f"cover of {sweeps[0].count:,}"
    return [
        Row(case, "by sums", "one fit", ours, tuple(s["fit"] for s in times), 3.0, worst),
        Row(case, "by sums", "a fit each", ours, tuple(s["all"] for s in times), 1.0),
    ]


def _sweep(instance: Instance, count: int) -> Sweep:
    """The room of a pack from a little too small to a little too large for all its parts."""
    (gap,) = instance.gaps
    (layout,) = gap.layouts
    least = sum(min(place.takes.values()) for place in layout.places) + (layout.low or 0)
    most = sum(max(place.takes.values()) for place in layout.places) + (layout.high or 0)
    rate = max(1, (most - least) // count)
    room = (least + most - rate * count) // 2
    first = replace(gap, layouts=(replace(layout, room=room),))
    return Sweep(replace(instance, gaps=(first,)), ((rate,),), count)


def _covered(sweep: Sweep, some: range) -> list[tuple[int, ...] | None]:
    served = cover(sweep)
    return [served[nth].values if served[nth].status == "fit" else None for nth in some]


def _fitted(sweep: Sweep, some: range) -> list[tuple[int, ...] | None]:
    return [levels(fit(sweep.at(nth))) for nth in some]
