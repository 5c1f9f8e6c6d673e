"""The solver against trying everything, on thousands of small jobs, both ways of searching."""

from __future__ import annotations

from collections import Counter
from importlib import import_module
from typing import TYPE_CHECKING

import pytest

from solver.builds import patterns
from solver.problem.solution import Fit, NoFit
from tests.amounts import few, share
from tests.oracles.against_brute import (
    differences,
    disagreements,
    roads_of,
    solve,
    tried_job,
)

if TYPE_CHECKING:
    from solver.engines.cp_sat import Program
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance

SEEDS = few(range(2_000))
FLOORS = {
    "fit": 700,
    "no fit": 700,
    "misses alone": 300,
    "each alone, not together": 30,
    "cannot be filled": 150,
    "fit, contested stock": 80,
    "fit, shared part": 100,
    "fit, several layouts": 150,
    "fit, shims": 150,
    "fit, kept part": 100,
    "fit, trial build": 150,
    "fit, averaged": 150,
    "fit, proud": 30,
    "fit, left out": 30,
    "fit, nearest": 150,
    "fit, rule": 150,
    "fit, all stays as it is": 10,
    "fit, always replaced": 60,
    "fit, wears by": 150,
    "fit, wear limit of a size": 150,
    "fit, worn part that is not chosen": 20,
    "fit, other linings tried": 30,
    "fit, trial parts of this unit": 80,
    "fit, trial parts from the shelf": 80,
    "fit, a part of the trial build": 60,
    "fit, parts going in": 60,
    "fit, near a limit": 200,
    "fit, kept clear of a limit": 20,
}


def test_the_answer_is_the_best_of_all_assignments_or_none_is_allowed() -> None:
    wrong: list[str] = []
    taken: Counter[str] = Counter()
    for seed in SEEDS:
        tried = tried_job(seed)
        if tried is not None:
            answer = solve(tried.case)
            wrong += differences(tried, answer)
            taken.update(roads_of(tried, answer))
    assert wrong == []
    assert {road: taken[road] for road, floor in FLOORS.items() if taken[road] < share(floor)} == {}


@pytest.mark.parametrize(
    ("most", "seeds"), [(0, few(range(900))), (12, few(range(600, 1_200), 60))]
)
def test_gaps_that_are_counted_give_the_answers_of_gaps_that_are_listed(
    most: int, seeds: range, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    counted = count_calls(monkeypatch)
    wrong: list[str] = []
    for seed in seeds:
        tried = tried_job(seed)
        if tried is not None:
            wrong += differences(tried, solve(tried.case))
    assert wrong == []
    assert len(counted) > (len(seeds) * 3 // 4 if not most else share(50))


def count_calls(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """See to it that gaps really are counted."""
    solver_fit = import_module("solver.rebuild.fit")  # the package names its function fit, too
    counted: list[str] = []
    original = solver_fit.counts_block

    def spy(instance: Instance, gap: GridGap, program: Program) -> object:
        counted.append(gap.name)
        return original(instance, gap, program)

    monkeypatch.setattr(solver_fit, "counts_block", spy)
    return counted


def test_the_comparison_sees_a_wrong_value_and_a_wrong_build() -> None:
    seen = 0
    for seed in few(range(60)):
        tried = tried_job(seed)
        if tried is None or tried.best is None:
            continue
        other = next(a for n in range(seed + 1, 99) if (a := tried_job(n)) and a.best)
        answer = solve(tried.case)
        assert isinstance(answer, Fit)
        assert disagreements(answer, other.best)
        assert disagreements(answer, None)
        assert disagreements(NoFit(answer.instance, (), None), tried.best)
        seen += 1
    assert seen >= share(16)
