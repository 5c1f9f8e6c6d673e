"""Plans of several rebuilds against trying everything, another formulation, another engine."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

import pytest

from solver.batch import batch_of, columns, judge, plan
from solver.batch.allocation import allocations
from solver.batch.instance import seen, sized
from solver.engines.cp_sat import Program
from solver.engines.limits import Limits
from solver.problem import judge as one_judge
from specs.errors import JudgeError
from tests.amounts import few, share
from tests.oracles import linear_batch
from tests.oracles.brute_batch import TooLargeError, best_plan
from tests.oracles.random_batches import random_batch

if TYPE_CHECKING:
    from solver.batch import Batch, Plan

FEW = 8  # columns, so that most components are counted


def values(found: Plan) -> tuple[int, ...]:
    assert found.proved
    reached = tuple(level.value for level in found.reached)
    assert reached == judge.values(found.batch, found.builds)  # with nothing remembered
    return reached


def done(found: Plan) -> int:
    return sum(build is not None for build in found.builds)


def some_done(found: Plan) -> str:
    number = done(found)
    return "all" if number == len(found.builds) else "some" if number else "none"


@pytest.mark.parametrize(("first", "most"), [(0, 5_000), (1_000, FEW)])
def test_every_level_is_what_trying_everything_finds(
    first: int, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(columns, "MOST_COLUMNS", most)
    roads: Counter[str] = Counter()
    for seed in few(range(first, first + 30)):
        drawn = random_batch(seed)
        try:
            best = best_plan(drawn.batch)
        except TooLargeError:
            continue
        found = plan(drawn.batch)
        assert values(found) == best, seed
        roads.update([*drawn.roads, "tried", some_done(found)])
    assert roads["tried"] >= share(23)
    kinds = ("some", "pinned", "held", "pools that overlap", "shared part", "another step")
    assert min(roads[kind] for kind in (*kinds, "now in the unit")) >= share(3)


def test_two_engines_agree_on_every_level_of_two_hundred_batches() -> None:
    roads: Counter[str] = Counter()
    for seed in few(range(2_000, 2_200)):
        drawn = random_batch(seed)
        found = plan(drawn.batch)
        assert values(found) == values(plan(drawn.batch, door=Program)), seed
        roads.update([some_done(found), *(reached.proof for reached in found.reached)])
    assert roads["some"] >= share(51)
    assert roads["exact"] > 50 * roads["engine"]


def test_every_level_is_what_a_program_per_place_finds() -> None:
    roads: Counter[str] = Counter()
    for seed in few(range(3_000, 3_025)):
        drawn = random_batch(seed)
        found = plan(drawn.batch)
        assert values(found) == linear_batch.best_values(drawn.batch), seed
        roads[some_done(found)] += 1
    assert roads["some"] >= share(9)


def test_the_order_of_the_jobs_changes_no_level() -> None:
    for seed in few(range(4_000, 4_020)):
        batch = random_batch(seed).batch
        order = list(range(len(batch.jobs)))
        Random(seed).shuffle(order)  # noqa: S311 - no secret hangs on it
        names = [job.name for job in batch.jobs]
        mixed = replace(
            batch,
            jobs=tuple(
                replace(batch.jobs[n], name=name) for n, name in zip(order, names, strict=True)
            ),
            pools=tuple(batch.pools[n] for n in order),
        )
        assert values(plan(mixed)) == values(plan(batch)), seed


def test_more_stock_never_makes_a_plan_worse_before_scarcity() -> None:
    bettered = 0
    for seed in few(range(5_000, 5_025)):
        batch = random_batch(seed).batch
        rng = Random(seed)  # noqa: S311 - no secret hangs on it
        more = {item: rng.randint(0, 4) for item in range(len(batch.items))}
        measures = [level.measure for level in batch.levels]
        end = min(measures.index(m) for m in ("scarce", "shims", "cost") if m in measures)
        before, after = (values(plan(b))[:end] for b in (batch, batch.with_more(more)))
        assert after <= before, seed
        bettered += after < before
    assert bettered >= share(5)


def test_the_same_batch_gives_the_same_plan() -> None:
    batch = contested()
    assert plan(batch).builds == plan(batch).builds


def contested() -> Batch:
    """A batch of which some jobs are completed and some are not."""
    return next(
        batch
        for seed in range(200)
        if some_done(plan(batch := random_batch(seed).batch)) == "some"
        and len(batch.jobs) > 2
        and not any(job.held or job.pinned for job in batch.jobs)
    )


def only(batch: Batch, job: int) -> Batch:
    """The batch with every other job held back."""
    return replace(
        batch, jobs=tuple(replace(one, held=n != job) for n, one in enumerate(batch.jobs))
    )


def test_a_pinned_job_comes_before_any_other() -> None:
    turned = 0
    for seed in few(range(60)):
        batch = random_batch(seed).batch
        found = plan(batch)
        left = [n for n, build in enumerate(found.builds) if build is None]
        left = [n for n in left if not batch.jobs[n].held and plan(only(batch, n)).builds[n]]
        if left:
            jobs = [replace(job, pinned=n == left[0]) for n, job in enumerate(batch.jobs)]
            assert plan(replace(batch, jobs=tuple(jobs))).builds[left[0]] is not None
            turned += 1
    assert turned >= share(6)


def test_a_job_held_back_draws_nothing() -> None:
    batch = contested()
    taken = next(n for n, build in enumerate(plan(batch).builds) if build is not None)
    held = replace(
        batch, jobs=tuple(replace(job, held=n == taken) for n, job in enumerate(batch.jobs))
    )
    assert plan(held).builds[taken] is None
    assert not [draw for draw in allocations(plan(held)) if draw.job == taken]


def kept(found: Plan) -> Batch:
    """The batch again, with its plan as the earlier one."""
    jobs = (
        replace(
            job,
            kept={
                gap.name: seen(job.instance, n, build[n])
                for n, gap in enumerate(job.instance.gaps)
                if build
            },
        )
        for job, build in zip(found.batch.jobs, found.builds, strict=True)
    )
    return replace(found.batch, jobs=tuple(jobs))


def test_an_earlier_plan_is_kept_where_nothing_is_won_by_another() -> None:
    compared = 0
    for seed in few(range(6_000, 6_030)):
        batch = random_batch(seed).batch
        found = plan(batch)
        if not done(found):
            continue
        again = plan(kept(found))
        measures = [level.measure for level in again.batch.levels]
        assert again.reached[measures.index("kept")].value == 0
        compared += 1
    assert compared >= share(9)


def test_an_earlier_plan_yields_to_a_job_more() -> None:
    turned = 0
    for seed in few(range(30)):
        batch = random_batch(seed).batch
        found = plan(batch)
        richer = batch.with_more({n: 3 for n, item in enumerate(batch.items) if item.bought})
        better = plan(replace(kept(found), items=richer.items, jobs=tuple(
            replace(job, kept=was.kept)
            for job, was in zip(richer.jobs, kept(found).jobs, strict=True)
        )))  # fmt: skip
        assert done(better) == done(plan(richer))
        turned += done(better) > done(found)
    assert turned >= share(4)


def test_draws_add_up_to_what_every_job_takes() -> None:
    found = plan(contested())
    taken = Counter[tuple[int, int]]()
    for draw in allocations(found):
        taken[draw.job, draw.choice] += draw.count
    for job, build in enumerate(found.builds):
        instance = found.batch.jobs[job].instance
        counts = one_judge.drawn(instance, build) if build else Counter[int]()
        shelf = {c: n for c, n in counts.items() if not instance.choices[c].own}
        assert shelf == {c: n for (j, c), n in taken.items() if j == job}
    totals = Counter[int]()
    for draw in allocations(found):
        totals[draw.item] += draw.count
    assert all(n <= found.batch.items[item].count for item, n in totals.items())


def test_the_judge_refuses_a_plan_that_draws_too_much() -> None:
    found = plan(contested())
    assert judge.faults(found.batch, found.builds) == []
    poorer = sized(
        replace(found.batch, items=tuple(replace(i, count=0) for i in found.batch.items))
    )
    assert judge.faults(poorer, found.builds) == ["the jobs draw more than there is on hand"]
    assert judge.faults(found.batch, found.builds[1:]) == ["not every job is spoken of"]


def test_an_engine_that_lies_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judge, "faults", lambda *_: ["too few"])
    with pytest.raises(JudgeError, match="not allowed: too few"):
        plan(contested())


def test_a_plan_without_time_is_a_plan_and_says_what_is_open() -> None:
    found = plan(contested(), Limits(seconds=0))
    assert judge.faults(found.batch, found.builds) == []
    assert all(reached.bound <= reached.value for reached in found.reached)
    assert found.reached[-1].proof == "open" or found.proved


def test_an_empty_batch_is_planned() -> None:
    assert plan(batch_of([])).builds == ()
