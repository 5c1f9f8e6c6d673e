"""What each aim costs, held against every build there is of small jobs."""

from __future__ import annotations

from collections import Counter

import pytest

from solver import Fit, Limits
from solver.builds import patterns
from solver.engines.limits import Clock
from solver.explain.aim_costs import costs_of
from tests.amounts import few, share
from tests.oracles.against_brute import brute_of, solve
from tests.oracles.brute_alternatives import cost_differences
from tests.oracles.random_jobs import plentiful, random_job

SEEDS = few(range(50_100, 50_700))
LISTED, COUNTED = 5_000, 0


@pytest.mark.parametrize("most", [LISTED, COUNTED])
def test_an_aim_costs_what_all_builds_together_say(
    most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    met: Counter[str] = Counter()
    for seed in SEEDS[most > 0 :: 2]:
        case = random_job(seed).case() if seed % 3 else plentiful(random_job(seed))
        brute, found = brute_of(case), solve(case)
        if brute is None or not isinstance(found, Fit):
            continue
        costs = costs_of(found, Clock(Limits()))
        assert cost_differences(brute, found, costs) == [], seed
        for cost in costs:
            met["gains"] += bool(cost.gains)
            met["yields"] += cost.more is not None and cost.more.fit is not None
            met["misses"] += cost.more is not None and cost.more.missing is not None
            met["none"] += cost.more is not None and cost.more.none
            met["order"] += cost.aim == "change" and cost.more is not None and not cost.more.none
        met["jobs"] += 1
    assert met["jobs"] >= share(81), met
    assert min(met["yields"], met["misses"], met["none"]) >= share(41), met
    assert min(met["gains"], met["order"]) >= share(21), met
