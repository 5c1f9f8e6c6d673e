"""Jobs written anew, whose answers are known from the answers to the jobs as drawn."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from solver import Fit, NoFit, fit
from solver.builds import patterns
from solver.problem import judge
from solver.rebuild.alternatives import visible_levels
from tests.amounts import few, share
from tests.oracles.against_brute import levels_of, named, posed, solve
from tests.oracles.random_jobs import random_job
from tests.oracles.random_parts import mm
from tests.oracles.rewrites import (
    add_useless_lots,
    rewritten,
    shuffle,
    split_lots,
    thicken,
    turn,
    with_lengths,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver import Answer
    from tests.oracles.brute_force import Key, Named
    from tests.oracles.random_jobs import RandomJob
    from tests.oracles.random_parts import Spec

Seen = tuple[dict["Key", Fraction], "Named", tuple[Fraction, ...]]
SEEDS = few(range(9_000, 9_150))


@pytest.fixture(params=[5_000, 0], ids=["listed", "counted"], autouse=True)
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    most: int = request.param
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    return most


def seen(answer: Answer) -> Seen | list[tuple[str, Fraction, Fraction]]:
    """All that a person sees of an answer, lengths in nanometres."""
    step = answer.instance.step
    if isinstance(answer, NoFit):
        return [(miss.status, miss.by * step, miss.gap * step) for miss in answer.alone]
    assert isinstance(answer, Fit)
    assert answer.proved
    levels = {
        key: value for key, value in levels_of(answer.instance, answer.values).items() if value
    }
    return levels, named(answer.instance, answer.build), tuple(gap * step for gap in answer.gaps)


def jobs(way: int) -> list[RandomJob]:
    return [random_job(seed) for seed in (SEEDS if way else SEEDS[::3])]


@pytest.mark.parametrize(
    "change", [thicken, split_lots, add_useless_lots, shuffle], ids=lambda change: change.__name__
)
def test_what_does_not_matter_changes_nothing(change: Callable[[Spec], None], way: int) -> None:
    changed = 0
    for job in jobs(way):
        again = rewritten(job, change)
        changed += str(again.document) != str(job.document)
        assert seen(solve(again.case())) == seen(solve(job.case())), job.seed
    assert changed > len(jobs(way)) // 2


def test_a_stack_listed_from_its_other_end_is_built_the_same(way: int) -> None:
    for job in jobs(way):
        plain = rewritten(job, lambda _: None)
        turned = rewritten(plain, turn)
        if "keep" in str(job.document) and "keep" not in str(turned.document):
            continue
        one, two = solve(plain.case()), solve(turned.case())
        if not isinstance(one, Fit):
            assert seen(one) == seen(two), job.seed
            continue
        assert isinstance(two, Fit)
        assert one.build == two.build, job.seed
        assert (one.values, one.gaps) == (two.values, two.gaps), job.seed


@pytest.mark.parametrize("times", [2, 3])
def test_lengths_twice_as_long_leave_the_same_parts_and_gaps_twice_as_wide(
    times: int, way: int
) -> None:
    for job in jobs(way)[::2]:
        longer = with_lengths(job, lambda length: mm(length * times)[:-3], "mm")
        one, two = solve(job.case()), solve(longer.case())
        assert type(one) is type(two), job.seed
        assert one.instance.step * times == two.instance.step
        if isinstance(one, Fit) and isinstance(two, Fit):
            assert (one.build, one.values, one.gaps) == (two.build, two.values, two.gaps), job.seed
        if isinstance(one, NoFit) and isinstance(two, NoFit):
            assert one.alone == two.alone, job.seed


def test_inches_and_the_millimetres_they_are_give_the_same_answer(way: int) -> None:
    for job in jobs(way)[::2]:
        inches = with_lengths(job, lambda n: f"{Decimal(n).scaleb(-4):f}", "in")
        metric = with_lengths(job, lambda n: f"{Decimal(n * 254).scaleb(-5):f}", "mm")
        assert seen(solve(inches.case())) == seen(solve(metric.case())), job.seed


def test_a_rule_that_the_best_build_keeps_anyway_may_as_well_be_left_out(way: int) -> None:
    kept = binding = 0
    for seed in few(range(9_200, 9_320 if way else 9_250)):
        instance = posed(random_job(seed).case())
        for nth, rule in enumerate(instance.rules):
            fewer = (*instance.rules[:nth], *instance.rules[nth + 1 :])
            free = fit(replace(instance, rules=fewer))
            ruled = fit(instance)
            if isinstance(free, Fit) and not judge.faults(instance, free.build):
                assert isinstance(ruled, Fit)
                assert (ruled.build, ruled.values) == (free.build, free.values), (seed, rule)
                kept += 1
            elif isinstance(free, Fit):
                assert not isinstance(ruled, Fit) or ruled.values >= free.values, (seed, rule)
                binding += 1
            else:
                assert not isinstance(ruled, Fit), (seed, rule)
    assert min(kept, binding) >= share(10 if way else 2)


def test_more_stock_never_makes_a_level_before_spare_worse(way: int) -> None:
    better = 0
    for seed in few(range(9_400, 9_460 if way else 9_425)):
        instance = posed(random_job(seed).case())
        before = fit(instance)
        for nth, choice in enumerate(instance.choices):
            more = replace(choice, count=choice.count + 1)
            after = fit(
                replace(
                    instance, choices=(*instance.choices[:nth], more, *instance.choices[nth + 1 :])
                )
            )
            visible = visible_levels(instance)
            if isinstance(before, Fit):
                assert isinstance(after, Fit), (seed, choice)
                assert after.values[:visible] <= before.values[:visible], (seed, choice)
                better += after.values[:visible] < before.values[:visible]
            else:
                better += isinstance(after, Fit)
    assert better >= share(3)


def test_the_rewrites_would_show_a_difference(way: int) -> None:
    """A rewrite that does matter is seen, so that the tests above compare something."""
    differ = 0
    for job in jobs(way)[:40]:
        thinner = with_lengths(job, lambda n: mm(n + (n == 1_800) * 20)[:-3], "mm")
        differ += seen(solve(thinner.case())) != seen(solve(job.case()))
    assert differ >= share(6)
