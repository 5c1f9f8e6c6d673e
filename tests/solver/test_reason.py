"""Why nothing fits, and ways out, held against another solver on random jobs."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, combinations_with_replacement
from typing import TYPE_CHECKING

import pytest

import inventory
from solver import Limits, NoFit, fit, judge, pose
from solver.best import best_builds
from solver.conditions import Condition, conditions_of
from solver.engine import Clock
from solver.equal import looks_of
from solver.reason import reason_of
from solver.ways import bought, ways_out
from tests.oracles import milp
from tests.oracles.compare import ready_gaps
from tests.oracles.random_jobs import random_job
from tests.oracles.subsets import can_hold

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.task import Task

SEEDS = range(520)


def with_catalogue(seed: int) -> Task:
    case = random_job(seed).case()
    gaps = ready_gaps(case)
    return pose(case, (*inventory.on_hand(case, gaps), *inventory.catalogue(case)), gaps)


def without_a_fit(seeds: range) -> Iterator[tuple[int, Task, NoFit]]:
    for seed in seeds:
        task = with_catalogue(seed)
        answer = fit(task)
        if isinstance(answer, NoFit):
            yield seed, task, answer


def test_a_reason_cannot_hold_and_with_any_one_less_it_can() -> None:
    kinds: Counter[str] = Counter()
    for seed, task, answer in without_a_fit(SEEDS):
        reason = reason_of(task, answer.alone, Clock(Limits()))
        assert reason.irreducible, seed
        assert not can_hold(task, reason.conditions), seed
        for condition in reason.conditions:
            assert can_hold(task, [c for c in reason.conditions if c != condition]), seed
        kinds.update(condition.kind for condition in reason.conditions)
        kinds["jobs"] += 1
        kinds["together"] += all(m.status == "near" and not m.by for m in answer.alone)
    assert kinds["jobs"] > 200
    for kind in ("lowest", "highest", "stock", "rule", "kept"):
        assert kinds[kind] > 4, kinds
    assert kinds["layout"] + kinds["together"] > 4, kinds


def test_every_way_out_works_and_offers_nothing_that_guards_someone() -> None:
    kinds: Counter[str] = Counter()
    for seed, task, answer in without_a_fit(SEEDS[:300]):
        ways = ways_out(answer, (0,) * len(task.gaps), Clock(Limits()))
        for way in ways:
            kinds[way.kind] += 1
            assert judge.faults(way.fit.task, way.fit.build) == [], seed
            if way.buys:
                assert milp.best_values(bought(task, way.buys)) == way.fit.values, seed
            for condition in way.given_up:
                assert _may_go(task, condition), seed
            kept = [c for c in conditions_of(task) if c not in way.given_up]
            assert way.buys or can_hold(task, kept), seed
        for one, two in combinations(ways, 2):
            assert not _contains(dict(one.buys), dict(two.buys)), seed
    assert kinds["buy"] > 40, kinds
    assert kinds["release"] > 4, kinds


def _may_go(task: Task, condition: Condition) -> bool:
    if condition.kind == "rule":
        return task.rules[condition.rule].preference
    if condition.kind == "layout":
        aside = {b.layout.name: b.why for b in task.gaps[condition.gap].barred}
        return not aside[condition.name]
    return condition.kind == "kept"


def _contains(more: dict[int, int], less: dict[int, int]) -> bool:
    return bool(less) and all(more.get(choice, 0) >= count for choice, count in less.items())


def test_no_smaller_purchase_brings_a_fit() -> None:
    """The generator states no prices, so the cheapest purchase is the one of fewest parts."""
    tried = 0
    for seed, task, answer in without_a_fit(SEEDS):
        buys = [w.buys for w in ways_out(answer, (0,) * len(task.gaps), Clock(Limits())) if w.buys]
        parts = sum(count for _, count in buys[0]) if buys else 0
        if not 0 < parts < 3:  # more would be too many to try out
            continue
        sold = [index for index, choice in enumerate(task.choices) if choice.sold]
        for fewer in combinations_with_replacement(sold, parts - 1):
            smaller = tuple(Counter(fewer).items())
            assert isinstance(fit(bought(task, smaller)), NoFit), seed
            tried += 1
    assert tried > 80


@pytest.mark.parametrize("count", [4])
def test_the_best_builds_are_the_first_classes_of_all_builds(count: int) -> None:
    """Every pattern of a job with one gap is a build; so all of them can be put in order."""
    compared = 0
    for seed in range(260):
        task = with_catalogue(seed)
        first = fit(task)
        if len(task.gaps) != 1 or isinstance(first, NoFit):
            continue
        assert hasattr(first, "proved")
        found = best_builds(first, count, Limits())  # type: ignore[arg-type]
        expected = _classes(task)[:count]
        assert [(f.values, looks_of(task, f.build, 0)) for f in found] == expected, seed
        compared += len(found) > 1
    assert compared > 20


def _classes(task: Task) -> list[tuple[tuple[int, ...], object]]:
    from solver.patterns import list_patterns

    ranked: list[tuple[tuple[int, ...], object, object]] = []
    for pattern in list_patterns(task, task.gaps[0]):
        build = (pattern.build,)
        if not judge.faults(task, build):
            order = (pattern.build.layout, pattern.build.parts)
            ranked.append((judge.values(task, build), order, looks_of(task, build, 0)))
    seen: set[object] = set()
    classes = []
    for values, _, looks in sorted(ranked, key=lambda item: (item[0], item[1])):
        if looks not in seen:
            seen.add(looks)
            classes.append((values, looks))
    return classes
