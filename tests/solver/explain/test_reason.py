"""Why nothing fits, held against another solver: all of it is needed, and it is enough."""

from __future__ import annotations

from collections import Counter
from itertools import combinations

from solver import Limits
from solver.engines.limits import Clock
from solver.explain.conditions import conditions_of
from solver.explain.conflict import MOST, reason_of, smallest_reason
from tests.amounts import few, share
from tests.oracles.kept_conditions import can_hold, only, unfits

SEEDS = few(range(1_650), 160)
ASKING = few(range(20_000, 20_600))
FLOORS = {"lowest": 200, "highest": 200, "stock": 250, "rule": 120, "kept": 25, "layout": 60}


def test_a_reason_cannot_hold_and_with_any_one_less_it_can() -> None:
    met: Counter[str] = Counter()
    for job in unfits(SEEDS, ASKING):
        reason = reason_of(job.instance, job.answer.alone, Clock(Limits()))
        assert reason.irreducible, job.seed
        assert not can_hold(only(job.instance, reason.conditions)), job.seed
        for condition in reason.conditions:
            rest = [other for other in reason.conditions if other != condition]
            assert can_hold(only(job.instance, rest)), (job.seed, condition)
        met.update({condition.kind for condition in reason.conditions})
        met["job"] += 1
        met["together"] += job.together
        met["several conditions"] += len(reason.conditions) > 2
        met["several gaps"] += len({c.gap for c in reason.conditions} - {-1}) > 1
    assert met["job"] >= share(1_000)
    assert met["together"] >= share(41), met
    assert met["several conditions"] >= share(201), met
    assert met["several gaps"] >= share(21), met
    assert all(met[kind] >= share(floor + 1) for kind, floor in FLOORS.items()), met


def test_no_reason_is_shorter_than_a_smallest_one() -> None:
    met: Counter[str] = Counter()
    for job in unfits(few(range(240), 30), few(range(20_000, 20_040))):
        conditions = conditions_of(job.instance)
        first = reason_of(job.instance, job.answer.alone, Clock(Limits()))
        reason = smallest_reason(job.instance, first, Clock(Limits()))
        assert reason.smallest == (len(conditions) <= MOST), job.seed
        shorter = len(reason.conditions) < len(first.conditions)
        if not reason.smallest or (met[f"of {len(reason.conditions)}"] > 4 and not shorter):
            continue
        assert not can_hold(only(job.instance, reason.conditions)), job.seed
        for fewer in combinations(conditions, len(reason.conditions) - 1):
            assert can_hold(only(job.instance, fewer)), (job.seed, fewer)
        met[f"of {len(reason.conditions)}"] += 1
        met["shorter"] += shorter
    assert min(met["of 1"], met["of 2"], met["of 3"]) >= share(4), met
    assert met["shorter"] > 1, met
