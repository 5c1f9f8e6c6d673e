"""An aim is declared whole or refused: no half of one is ever proved as zero."""

from __future__ import annotations

import runpy
from typing import TYPE_CHECKING, get_args

import pytest

from solver import Fit
from solver.batch import judge as batch_judge
from solver.problem import aims, judge
from solver.problem.aims import MEASURES, OF_AIM, AimMeasure, JobMeasure, Level
from specs.models import aims as names
from specs.models.aims import AIMS
from tests.oracles.against_brute import solve
from tests.oracles.random_batches import random_batch
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from specs.models.aims import Aim


def test_every_aim_a_file_may_name_has_measures_of_its_own() -> None:
    assert tuple(OF_AIM) == AIMS
    measured = [measure.name for measures in OF_AIM.values() for measure in measures]
    assert sorted(measured) == sorted(get_args(JobMeasure))
    assert all(MEASURES[name].noun or MEASURES[name].quantity == "share" for name in measured)


def test_an_aim_that_is_named_and_not_declared_stops_the_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    named: list[Aim | str] = [*AIMS, "quiet"]
    runpy.run_path(str(aims.__file__))
    monkeypatch.setattr(names, "AIMS", named)
    with pytest.raises(AssertionError, match="quiet"):
        runpy.run_path(str(aims.__file__))


def test_the_judge_refuses_a_measure_it_has_no_arithmetic_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    answers = (solve(random_job(seed).case()) for seed in range(50))
    found = next(answer for answer in answers if isinstance(answer, Fit))
    assert judge.values(found.instance, found.build) == found.values
    quiet = AimMeasure("quiet", aims.SHIMS, "noise")  # type: ignore[arg-type]
    monkeypatch.setitem(MEASURES, quiet.name, quiet)
    levels = (*found.instance.levels, Level("quiet", quiet.name))
    monkeypatch.setitem(vars(found.instance), "levels", levels)
    with pytest.raises(AssertionError, match="quiet"):
        judge.values(found.instance, found.build)


def test_the_judge_of_a_batch_refuses_a_measure_that_no_job_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    batch = random_batch(0).batch
    nothing = (None,) * len(batch.jobs)
    assert len(batch_judge.values(batch, nothing)) == len(batch.levels)
    quiet = AimMeasure("quiet", aims.OfPlan())  # type: ignore[arg-type]
    monkeypatch.setitem(MEASURES, quiet.name, quiet)
    monkeypatch.setitem(vars(batch), "levels", (*batch.levels, Level("quiet", quiet.name)))
    with pytest.raises(AssertionError, match="quiet"):
        batch_judge.values(batch, nothing)
