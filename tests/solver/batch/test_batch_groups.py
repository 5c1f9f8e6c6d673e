"""Components that are alike are counted together: nothing is lost by it, and dealing is right."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import partial
from random import Random
from typing import TYPE_CHECKING

import pytest

from benchmarks.floors import floor
from benchmarks.jobs import Shape, posed
from solver.batch import Batch, BatchJob, batch_of, columns, groups, judge, plan
from solver.batch.columns import listing_of
from solver.batch.groups import Group
from solver.batch.model import BatchModel
from solver.engines.highs import Highs
from specs.errors import JudgeError
from tests.amounts import few, share
from tests.oracles import linear_batch
from tests.oracles.random_batches import random_batch

if TYPE_CHECKING:
    from solver.batch.columns import ComponentBuild
    from solver.batch.components import Component


FORTY_LOTS = Shape(steels=(6, 6), sizes=(690, 755, 820, 880), lots=10, spare=3, built=0)


def alike(jobs: int, kinds: int, seed: int) -> Batch:
    """A floor on which only so many kinds of drums are seen, each gap for itself."""
    batch, rng = floor(jobs, seed), Random(seed)  # noqa: S311 - no secret hangs on it
    patterns = [job.instance for job in batch.jobs[:kinds]]
    instances = (
        replace(
            patterns[0],
            gaps=tuple(rng.choice(patterns).gaps[n] for n in range(len(job.instance.gaps))),
        )
        for job in batch.jobs
    )
    mixed = (
        replace(job, instance=instance) for job, instance in zip(batch.jobs, instances, strict=True)
    )
    return replace(batch, jobs=tuple(mixed))


def values(batch: Batch) -> tuple[int, ...]:
    found = plan(batch)
    assert found.proved
    return tuple(reached.value for reached in found.reached)


def shared(batch: Batch) -> int:
    """How many components stand in a group with others."""
    model = BatchModel(batch, listing_of(batch), Highs())
    return sum(len(group.members) for group in model.groups if not group.alone)


def test_no_level_is_changed_by_counting_together(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = [random_batch(seed, most=8) for seed in few(range(7_000, 7_150))]
    drawn = [one for one in drawn if shared(one.batch)]
    roads = Counter(road for one in drawn for road in one.roads)
    assert len(drawn) >= share(26)
    assert min(roads["several gaps"], roads["now in the unit"], roads["aim middle"]) >= share(16)
    batches = [*(one.batch for one in drawn), alike(6, 2, 1), alike(12, 3, 2), alike(25, 4, 3)]
    together = [values(batch) for batch in batches]
    monkeypatch.setattr(groups, "_in_one_order", lambda _: False)
    assert not any(map(shared, batches))
    assert [values(batch) for batch in batches] == together


def test_a_program_per_place_finds_the_same_of_drums_that_are_alike() -> None:
    for seed in few(range(8), 2):
        batch = alike(3, 2, 100 + seed)
        assert shared(batch) > 8
        assert values(batch) == linear_batch.best_values(batch), seed


def test_jobs_whose_worsts_stand_in_no_one_order_are_left_apart() -> None:
    found = Counter(
        groups._in_one_order(grades)  # noqa: SLF001 - what is asked
        for grades in ([(0, 5), (1, 6)], [(0, 6), (1, 5)], [(0, 5), (0, 5)], [], [(0, 1), (0, 2)])
    )
    assert found == {True: 4, False: 1}
    batch = alike(6, 2, 1)
    assert shared(batch)
    assert not shared(replace(batch, jobs=tuple(map(_first_nearest, batch.jobs))))


def _first_nearest(job: BatchJob) -> BatchJob:
    """A job whose first gap is to lie nearest its aim, so that its whole distance counts."""
    first, *others = job.instance.gaps
    nearest = replace(first, layouts=tuple(replace(one, nearest=True) for one in first.layouts))
    return replace(job, instance=replace(job.instance, gaps=(nearest, *others)))


def test_parts_of_a_jobs_own_go_to_one_of_its_packs() -> None:
    batch = alike(4, 1, 1)
    thin = next(n for n, one in enumerate(batch.jobs[0].instance.choices) if one.size == "0.0690")
    mine = replace(
        batch,
        jobs=tuple(map(partial(_owning, thin), batch.jobs)),
        pools=tuple((*p[:thin], frozenset(), *p[thin + 1 :]) for p in batch.pools),
    )
    assert shared(batch)
    assert not shared(mine)  # any two of their packs could take the three
    found = plan(mine)
    assert found.proved
    assert judge.faults(mine, found.builds) == []


def _owning(choice: int, job: BatchJob) -> BatchJob:
    """A job that has three steels of a size in its unit, and nobody else has any."""
    choices = [*job.instance.choices]
    choices[choice] = replace(choices[choice], own=True, count=3)
    return replace(job, instance=replace(job.instance, choices=tuple(choices)))


def test_a_family_of_forty_measured_lots_is_counted_and_proved() -> None:
    instance = posed(FORTY_LOTS, 5)
    gap = instance.gaps[0]
    wider = replace(gap, layouts=tuple(replace(one, room=one.room + 400) for one in gap.layouts))
    jobs = (BatchJob("A", instance), BatchJob("B", replace(instance, gaps=(wider,))))
    batch = batch_of(jobs)
    assert sum(choice.family == "steel" for choice in instance.choices) > 30
    assert [[columns for _, columns in parts] for parts in listing_of(batch).parts] == [[None]] * 2
    assert None not in plan(batch).builds
    values(batch)


@pytest.mark.parametrize("seed", few(range(7), 3))
def test_jobs_with_one_component_counted_have_the_values_they_have_when_all_are_listed(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = alike(3 + seed % 2, 2, seed)
    listed = listing_of(batch).parts
    numbers = sorted({len(found or ()) for parts in listed for _, found in parts})
    best = values(batch)
    for most in numbers[-3:-1]:
        monkeypatch.setattr(columns, "MOST_COLUMNS", most)
        ways = [[found is None for _, found in parts] for parts in listing_of(batch).parts]
        assert any(any(way) and not all(way) for way in ways)
        assert values(batch) == best


def group(members: list[int], grades: list[tuple[int, ...]]) -> Group:
    component: Component = None  # type: ignore[assignment]
    ways: list[ComponentBuild] = [None] * len(grades)  # type: ignore[list-item]
    made = Group(component, ways, [], grades, frozenset(), members)
    made.variables = [*range(10, 10 + len(grades))]
    return made


def test_the_worst_columns_go_to_those_that_may_hold_them() -> None:
    made = group([0, 1, 2, 3], [(0,), (4,), (9,)])
    complete = {job: job for job in made.members}
    chosen = (1, 1, 1, 0, *[0] * 6, 1, 1, 1)  # three of four jobs; one of each column
    assert made.dealt(chosen, complete, {0: (4,), 2: (9,)}) == [0, 2, 1, None]
    with pytest.raises(JudgeError, match="leaves out a gap"):
        made.dealt((1, 1, 0, 0, *chosen[4:]), complete, {})
