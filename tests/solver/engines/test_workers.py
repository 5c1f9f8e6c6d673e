"""The same answer on 1, 2 and 8 workers, and the number really reaches the engine."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from ortools.sat.python import cp_model

from solver import Fit, Limits, NoFit, fit
from solver.builds import patterns
from tests.oracles.against_brute import posed
from tests.oracles.random_jobs import LARGER, random_job

if TYPE_CHECKING:
    from solver.problem.instance import Instance


@pytest.fixture
def workers_seen(monkeypatch: pytest.MonkeyPatch) -> set[int]:
    seen: set[int] = set()
    original = cp_model.CpSolver.solve

    def spy(self: cp_model.CpSolver, *arguments: Any) -> Any:  # noqa: ANN401 - the engine's own
        seen.add(self.parameters.num_workers)
        return original(self, *arguments)

    monkeypatch.setattr(cp_model.CpSolver, "solve", spy)
    return seen


def instances(first: int) -> list[Instance]:
    return [posed(random_job(seed, LARGER).case()) for seed in range(first, first + 12)]


@pytest.mark.parametrize(("most", "first"), [(5_000, 0), (0, 12)])
def test_the_answer_is_the_same_on_1_2_and_8_workers(
    most: int, first: int, workers_seen: set[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    kinds = set()
    for instance in instances(first):
        one = fit(instance, Limits(workers=1))
        kinds.add(type(one))
        assert workers_seen <= {1}
        for workers in (2, 8):
            workers_seen.clear()
            many = fit(instance, Limits(workers=workers))
            assert workers_seen == {workers}
            if isinstance(one, NoFit):
                assert isinstance(many, NoFit)
                assert many.alone == one.alone
            else:
                assert many == one
        workers_seen.clear()
    assert kinds == {Fit, NoFit}


def test_one_worker_is_used_where_nothing_is_said(workers_seen: set[int]) -> None:
    fit(instances(0)[0])
    assert workers_seen == {1}
