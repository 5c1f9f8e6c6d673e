"""The fewest thin steels, grade by grade, against trying everything."""

from __future__ import annotations

from collections import Counter

from solver.engines.limits import Limits
from solver.problem.solution import Fit
from solver.rebuild.thin_steels import fewest_thin, thin_by_grade
from tests.amounts import few, share
from tests.oracles.against_brute import brute_of, ready_gaps, solve
from tests.oracles.brute_force import Brute
from tests.oracles.random_jobs import random_job

SEEDS = few(range(1_200), 100)
FLOORS = {"some": 150, "a second grade": 25, "none of the thinnest": 10}


def test_no_fewer_of_a_grade_are_possible_with_so_few_of_those_before() -> None:
    taken: Counter[str] = Counter()
    for seed in SEEDS:
        case = random_job(seed).case()
        found = solve(case) if brute_of(case) else None
        if not isinstance(found, Fit):
            continue
        least = fewest_thin(found, Limits())
        assert isinstance(least, Fit)
        counts = thin_by_grade(least.instance, least.build)
        brute = Brute(case, ready_gaps(case))
        brute.aims = ("thin",)
        brute.levels = brute._levels()  # noqa: SLF001 - the aims of another job
        best = brute.best()
        assert best is not None
        values = {key[1:]: value for key, value in best.values.items() if key[0] == "thin"}
        told = {(grade.shifts, grade.grade): grade.count for grade in counts}
        assert {key: values[key] for key in told} == told, seed
        assert not any(value for key, value in values.items() if key not in told), seed
        taken["some"] += any(told.values())
        taken["a second grade"] += any(count for key, count in told.items() if key[1] > 1)
        taken["none of the thinnest"] += (
            any(told.values()) and not counts[0].count and counts[0].grade == 1
        )
    assert {road: taken[road] for road, floor in FLOORS.items() if taken[road] < share(floor)} == {}
