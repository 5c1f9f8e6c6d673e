"""Builds that must be sure enough: the best of those a rule lets through, against trying all."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from solver.builds import patterns
from solver.problem import judge
from solver.problem.solution import Fit, NoFit
from solver.rebuild.fit import fit
from specs.errors import InputError
from tests.amounts import few, share
from tests.oracles.against_brute import MOST_ASSIGNMENTS, disagreements, posed, ready_gaps
from tests.oracles.brute_force import Brute
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import GapBuild, Instance
    from tests.oracles.brute_force import Assignment

SEEDS = few(range(600))


def let_through(gap: str, left: Fraction, sizes: list[str]) -> bool:
    """A rule as arbitrary as any chance: by the gap left and the sizes that leave it."""
    return (int(left) // 1_000 + 7 * len(gap) + sum(map(len, sizes))) % 3 != 0


def ruled(instance: Instance) -> Instance:
    def sure(gap: str, layout: GridLayout, build: GapBuild, left: int) -> bool:  # noqa: ARG001 - the rule is by the gap
        sizes = [instance.choices[part].size for parts in build.parts for part in parts]
        return let_through(gap, left * instance.step, sizes)

    return replace(instance, sure=sure)


class SureBrute(Brute):
    """Tries everything that the rule lets through."""

    def worth(self, together: Assignment, *, windows: bool = True) -> tuple[int, ...] | None:
        for gap, filling in zip(self.gaps, together, strict=True):
            sizes = [self.kinds[kind].size for here in filling.order[1] for kind in here]
            if not let_through(gap, Fraction(filling.gap, self.stacks.times), sizes):
                return None
        return super().worth(together, windows=windows)


def test_the_answer_is_the_best_of_those_that_are_sure_enough() -> None:
    wrong: dict[int, list[str]] = {}
    roads: Counter[str] = Counter()
    for seed in SEEDS:
        case = random_job(seed).case()
        gaps = ready_gaps(case)
        brute = SureBrute(case, gaps)
        if not gaps or brute.size > MOST_ASSIGNMENTS:
            continue
        answer, free = fit(ruled(posed(case))), fit(posed(case))
        best = brute.best()
        found = disagreements(answer, best)
        if found:
            wrong[seed] = found
        if isinstance(answer, Fit):
            same = isinstance(free, Fit) and answer.build == free.build
            roads["fit as before" if same else "another fit"] += 1
            assert not judge.faults(answer.instance, answer.build)
        elif isinstance(answer, NoFit):
            roads["none sure enough" if isinstance(free, Fit) else "none at all"] += 1
    assert wrong == {}
    assert min(
        roads[road] for road in ("fit as before", "another fit", "none sure enough")
    ) >= share(30)


def test_the_judge_names_a_build_that_is_not_sure_enough() -> None:
    seen = 0
    for seed in few(range(120)):
        case = random_job(seed).case()
        free = fit(posed(case)) if ready_gaps(case) else None
        if not isinstance(free, Fit):
            continue
        unsure = replace(free.instance, sure=lambda *_: False)
        assert f"{free.instance.gaps[0].name}: not as sure as is asked" in judge.faults(
            unsure, free.build
        )
        assert isinstance(fit(unsure), NoFit)
        seen += 1
    assert seen >= share(20)


def test_a_gap_with_too_many_builds_to_weigh_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    case = next(
        case for seed in range(99) if ready_gaps(case := random_job(seed).case())
        and isinstance(fit(posed(case)), Fit)
    )  # fmt: skip
    monkeypatch.setattr(patterns, "MOST_WEIGHED", 0)
    with pytest.raises(InputError, match="too many builds to work out how sure each is"):
        fit(ruled(posed(case)))
