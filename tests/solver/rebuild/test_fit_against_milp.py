"""The solver against one variable for each part at each place, on jobs too large to try out.

Some are of several gaps, some of a single gap with many places.
"""

from __future__ import annotations

from collections import Counter

import pytest

from solver.builds import patterns
from solver.problem.solution import Fit, NoFit
from solver.rebuild.fit import fit
from tests.amounts import few, share
from tests.oracles import linear_program
from tests.oracles.against_brute import posed
from tests.oracles.linear_program import MilpError
from tests.oracles.random_jobs import LARGER, ONE_GAP, random_job

MIXED = 20  # some gaps of a job are listed, others counted


@pytest.mark.parametrize(
    ("seeds", "most", "size"),
    [
        (few(range(150)), 5_000, LARGER),
        (few(range(150, 300)), 5_000, LARGER),
        (few(range(300, 375)), 0, LARGER),
        (few(range(400, 475)), MIXED, LARGER),
        (few(range(400)), 5_000, ONE_GAP),
        (few(range(400, 550)), 0, ONE_GAP),
    ],
)
def test_every_level_is_what_the_linear_program_says(
    seeds: range, most: int, size: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    answers: Counter[type] = Counter()
    for seed in seeds:
        instance = posed(random_job(seed, size).case())
        answer = fit(instance)
        values = answer.values if isinstance(answer, Fit) else None
        assert values == linear_program.best_values(instance), seed
        assert not isinstance(answer, Fit) or answer.proved
        answers[type(answer)] += 1
    assert min(answers[Fit], answers[NoFit]) >= share(21)


def test_the_linear_program_refuses_what_does_not_hold_in_whole_numbers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    instance = posed(
        next(c for s in range(50) if isinstance(fit(posed(c := random_job(s).case())), Fit))
    )
    monkeypatch.setattr(linear_program, "measured", lambda *_: (-1,))
    with pytest.raises(MilpError, match="whole numbers"):
        linear_program.best_values(instance)
