"""How far a reading may move, held against every build at the steps of small jobs."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from solver import Fit, Limits
from solver.builds import patterns
from solver.engines.limits import Clock
from solver.explain.sensitivity import sensitivity_of
from solver.problem.parameter import factors_of
from specs.gaps.varied_reading import varied_readings
from specs.values.lengths import Length
from tests.amounts import few, share
from tests.oracles.against_brute import brute_of, named, ready_gaps, solve
from tests.oracles.brute_force import Brute
from tests.oracles.random_jobs import plentiful, random_job

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from solver.explain.sensitivity import Sensitivity
    from specs.gaps.varied_reading import VariedReading
    from specs.models.case import Case

LISTED = 5_000, few(range(60_140, 60_460))
COUNTED = 0, few(range(60_308, 60_293, -1), 1)  # a job takes seconds, and 60,300 twenty
MOST = 1_500  # assignments: every step is one brute force


def when_read(case: Case, moving: VariedReading, by: Fraction) -> Case:
    """The case when a reading is so much more, at each of its places."""
    job = case.job
    readings = job.gaps[moving.gap].readings if moving.gap else job.readings
    taken = readings[moving.reading]
    at = tuple(Length(length.nm + by) for length in taken.at)
    proud = None if taken.proud is None else Length(taken.proud.nm - by)
    moved = {**readings, moving.reading: taken.model_copy(update={"at": at, "proud": proud})}
    if not moving.gap:
        return replace(case, job=job.model_copy(update={"readings": moved}))
    work = job.gaps[moving.gap].model_copy(update={"readings": moved})
    gaps = {**job.gaps, moving.gap: work}
    return replace(case, job=job.model_copy(update={"gaps": gaps}))


def stays_best(case: Case, found: Fit, moving: VariedReading, by: Fraction) -> bool:
    """Whether no build at all is better than the answer when a reading is so much more."""
    moved = when_read(case, moving, by)
    brute = Brute(moved, ready_gaps(case))
    best = brute.best_assignment()
    if best is None:
        return False
    mine = named(found.instance, found.build)
    for together in brute.assignments():
        if brute.names(together) == mine:
            return brute.worth(together) == best[0]
    return False


def tried(steps: Sensitivity) -> Iterator[tuple[int, bool]]:
    """The steps to try, and whether the answer should stay best there."""
    for sign, end in ((-1, steps.lower), (1, steps.higher)):
        far = 40 if end is None else end
        some = {1, far // 2, far}
        yield from ((sign * step, True) for step in sorted(some) if 0 < step <= far)
        if end is not None:
            yield sign * (end + 1), False


@pytest.mark.parametrize(("most", "seeds"), [LISTED, COUNTED])
def test_a_reading_may_move_as_far_as_all_builds_together_say(
    most: int, seeds: range, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    met: Counter[str] = Counter()
    for seed in seeds:
        case = random_job(seed).case() if seed % 3 else plentiful(random_job(seed))
        brute, found = brute_of(case), solve(case)
        if brute is None or not isinstance(found, Fit) or brute.size > MOST:
            continue
        for moving in varied_readings(case, ready_gaps(case)):
            steps = sensitivity_of(
                found, factors_of(found.instance, moving.factor), Clock(Limits())
            )
            assert steps.proved
            for step, stays in tried(steps):
                where = seed, moving.reading, step
                assert stays_best(case, found, moving, step * steps.step) == stays, where
                met["steps"] += 1
            met["readings"] += 1
            factors = [f for layouts in factors_of(found.instance, moving.factor) for f in layouts]
            met["shared"] += len(moving.gaps()) > 1
            met["halves"] += any(factor.denominator > 1 for factor in factors)
            met["no end"] += steps.lower is None or steps.higher is None
            met["wide"] += (steps.lower or 0) + (steps.higher or 0) > 10
    if most:
        assert met["readings"] >= share(201), met
        assert met["wide"] >= share(151), met
        assert min(met["halves"], met["no end"]) >= share(16), met
        assert met["shared"] >= share(4), met
    assert met["readings"] >= share(6), met
