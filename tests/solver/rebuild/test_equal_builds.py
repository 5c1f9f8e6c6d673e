"""The builds said to be as good are those that trying everything finds, in the same order."""

from __future__ import annotations

import pytest

from solver import Fit
from solver.builds import patterns
from tests.amounts import few, share
from tests.oracles.against_brute import brute_of, solve
from tests.oracles.brute_alternatives import equal_differences, with_few_aims


@pytest.mark.parametrize(("first", "most", "floor"), [(0, 5_000, 20), (300, 0, 3)])
def test_equal_builds_are_those_that_brute_force_finds(
    first: int, most: int, floor: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    found = 0
    for seed in few(range(first, first + (300 if most else 100)), 50):
        case = with_few_aims(seed)
        brute = brute_of(case)
        answer = solve(case) if brute else None
        if brute is None or not isinstance(answer, Fit):
            continue
        for index in range(len(answer.build)):
            wrong, number = equal_differences(brute, answer, index, listed=most > 0)
            assert wrong == [], (seed, index)
            found += bool(number)
    assert found >= share(floor + 1)
