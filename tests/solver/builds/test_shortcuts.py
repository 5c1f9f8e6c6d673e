"""Fixing at the ideal point and dominance are at work on the jobs that the linear program solves.

That they leave the answer as it is, tests/solver/rebuild/test_fit_against_milp.py shows.
"""

from __future__ import annotations

from collections import Counter
from importlib import import_module
from typing import TYPE_CHECKING

from solver import fit
from solver.rebuild.model import Model
from tests.amounts import few, share
from tests.oracles.against_brute import posed
from tests.oracles.random_jobs import LARGER, random_job

if TYPE_CHECKING:
    import pytest

    from solver.builds.dominance import Listed
    from solver.engines.limits import Clock
    from solver.problem.instance import Instance
    from solver.rebuild.model import BestBuild

solver_fit = import_module("solver.rebuild.fit")  # the package names its function fit, too
SEEDS = few(range(150), 36)


def test_guesses_hold_and_fail_and_patterns_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    taken: Counter[str] = Counter()
    best, undominated = Model.best, solver_fit.undominated_patterns

    def descending(model: Model, clock: Clock) -> BestBuild:
        found = best(model, clock)
        taken[found.status] += 1
        return found

    def leaving_out(instance: Instance, listed: Listed) -> Listed:
        kept: Listed = undominated(instance, listed)
        taken["left out"] += sum(map(len, filter(None, listed))) > sum(map(len, filter(None, kept)))
        return kept

    monkeypatch.setattr(Model, "best", descending)
    monkeypatch.setattr(solver_fit, "undominated_patterns", leaving_out)
    for seed in SEEDS:
        before = taken["infeasible"]
        fit(posed(random_job(seed, LARGER).case()))
        taken["a guess failed"] += taken["infeasible"] > before
    assert taken["optimal"] >= share(41)
    assert taken["a guess failed"] >= share(11)
    assert taken["left out"] >= share(41)
