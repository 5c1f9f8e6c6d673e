"""Kits: a million readings against twenty thousand, and whole units with all their gaps."""

from __future__ import annotations

from time import perf_counter
from typing import TYPE_CHECKING

from benchmarks.seller import seller
from benchmarks.table import Row, Skipped
from solver.engines.limits import Clock, Limits
from solver.stock.demand_patterns import drums_of
from solver.stock.kit import Kits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from solver.problem.instance import Instance
    from solver.stock.demand_patterns import Spaces
    from solver.stock.kit import Offer

FEW, MANY = 20_000, 1_000_000
DRUMS = 5_000
SECONDS, CLOSE = 300.0, 0.01
SHARES = (90, 95, 99)


def run(*, quick: bool) -> list[Row | Skipped]:
    """One pack from few and many readings; then four packs and two end plays at three shares."""
    few, many = (2_000, 20_000) if quick else (FEW, MANY)
    _seconds(*seller(1, 0, 100, 1))  # the engine is loaded
    times = [_seconds(*seller(1, 0, drums, 1)) for drums in (few, many)]
    row = Row(f"kit, {many:,} drums", "CP-SAT", f"{few:,}", (times[1],), (times[0],), 3.0)
    return [row, *(_whole_unit(share, quick=quick) for share in SHARES[: 1 if quick else 3])]


def _seconds(instance: Instance, rows: Mapping[Spaces, int], offers: Mapping[int, Offer]) -> float:
    begun = perf_counter()
    drums = drums_of(instance, rows)
    Kits(drums, offers).cheapest(drums.total() * 95 // 100, Clock(Limits(SECONDS)))
    return perf_counter() - begun


def _whole_unit(share: int, *, quick: bool) -> Row | Skipped:
    instance, rows, offers = seller(4, 2, 300 if quick else DRUMS, 1)
    drums = drums_of(instance, rows)
    able = sum(count for drum, count in drums.items() if all(drum))
    wanted = min(able, -(-drums.total() * share // 100))
    limit = 3.0 if quick else SECONDS
    begun = perf_counter()
    kit = Kits(drums, offers).cheapest(wanted, Clock(Limits(limit, 2)))
    seconds = perf_counter() - begun
    case = f"kit of six gaps at {share} %"
    if kit is None:
        return Skipped(case, f"no kit of {len(drums):,} kinds of drum in {limit:.0f} s")
    gap = 1 - kit.at_least / kit.cost
    note = f"{len(drums):,} kinds of drum, gap {gap:.2%}, at most {CLOSE:.0%}"
    return Row(case, "CP-SAT", "its limit", (seconds,), (limit,), 1.0, note)
