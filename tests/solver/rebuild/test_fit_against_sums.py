"""The solver against dynamic programming over sums, on single gaps with many places."""

from __future__ import annotations

from collections import Counter

import pytest

from solver.builds import patterns
from solver.problem.solution import Fit, NoFit
from solver.rebuild.fit import fit
from tests.amounts import few, share
from tests.oracles import sums
from tests.oracles.compare import posed
from tests.oracles.random_jobs import ONE_GAP, random_job


@pytest.mark.parametrize(("first", "most"), [(0, 5_000), (400, 0)])
def test_every_level_is_what_the_sums_say(
    first: int, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    answers: Counter[type] = Counter()
    for seed in few(range(first, first + (400 if most else 150))):
        task = posed(random_job(seed, ONE_GAP).case())
        answer = fit(task)
        values = answer.values if isinstance(answer, Fit) else None
        assert values == sums.best_values(task), seed
        answers[type(answer)] += 1
    assert min(answers[Fit], answers[NoFit]) >= share(51)
