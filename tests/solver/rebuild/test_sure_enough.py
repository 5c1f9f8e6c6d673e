"""Builds that must be sure enough: the best of those a rule lets through, against trying all."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

import pytest

from solver.builds import patterns
from solver.problem import judge
from solver.problem.solution import Fit, NoFit
from solver.rebuild.fit import fit
from solver.rebuild.fit_until import fit_until
from specs.errors import InputError
from tests.amounts import few, share
from tests.oracles.brute import Brute
from tests.oracles.compare import MOST_ASSIGNMENTS, disagreements, posed, ready_gaps
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from collections.abc import Iterable

    from solver.problem.instance import Build, GapBuild, Layout, Task
    from specs.models.aims import Aim
    from specs.models.case import Case
    from tests.oracles.brute_shapes import Assignment, Filling

SEEDS = few(range(600))


def let_through(gap: str, left: Fraction, sizes: list[str]) -> bool:
    """A rule as arbitrary as any chance: by the gap left and the sizes that leave it."""
    return (int(left) // 1_000 + 7 * len(gap) + sum(map(len, sizes))) % 3 != 0


def ruled(task: Task) -> Task:
    def sure(gap: str, layout: Layout, build: GapBuild, left: int) -> bool:  # noqa: ARG001 - the rule is by the gap
        sizes = [task.choices[part].size for parts in build.parts for part in parts]
        return let_through(gap, left * task.step, sizes)

    return replace(task, sure=sure)


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
            assert not judge.faults(answer.task, answer.build)
        elif isinstance(answer, NoFit):
            roads["none sure enough" if isinstance(free, Fit) else "none at all"] += 1
    assert wrong == {}
    assert min(
        roads[road] for road in ("fit as before", "another fit", "none sure enough")
    ) >= share(30)


def doubt_of(gap: str, left: Fraction, sizes: list[str]) -> int:
    """A doubt as arbitrary as any chance, in few steps, so that many builds are as unsure."""
    return (int(left) // 1_000 * 7 + 31 * len(gap) + 5 * sum(map(len, sizes))) % 11 * 1_000


def weighed(task: Task, aims: tuple[Aim, ...]) -> Task:
    def unsure(gap: str, layout: Layout, build: GapBuild, left: int) -> int:  # noqa: ARG001 - the doubt is by the gap
        sizes = [task.choices[part].size for parts in build.parts for part in parts]
        return doubt_of(gap, left * task.step, sizes)

    return replace(task, aims=aims, unsure=unsure)


class WeighingBrute(Brute):
    """Tries everything, and knows how unsure it is."""

    def unsure(self, gap: str, filling: Filling) -> int:
        sizes = [self.kinds[kind].size for here in filling.order[1] for kind in here]
        return doubt_of(gap, Fraction(filling.gap, self.stacks.times), sizes)


def test_the_aim_sure_takes_its_place_among_the_ordered_aims() -> None:
    wrong: dict[int, list[str]] = {}
    roads: Counter[str] = Counter()
    random = Random(8)  # noqa: S311 - seeded, for a test
    for seed in few(range(160)):
        case = random_job(seed).case()
        gaps = ready_gaps(case)
        aims = list(case.aims)
        place = random.randint(0, len(aims))
        asked = (*aims[:place], "sure", *aims[place:])
        case = replace(case, job=case.job.model_copy(update={"aims": asked}))
        brute = WeighingBrute(case, gaps)
        if not gaps or brute.size > MOST_ASSIGNMENTS:
            continue
        answer, free = fit(weighed(posed(case), asked)), fit(posed(case))
        found = disagreements(answer, brute.best())
        if found:
            wrong[seed] = found
        if isinstance(answer, Fit) and isinstance(free, Fit):
            roads["as before" if answer.build == free.build else "another fit"] += 1
            roads["several gaps"] += len(gaps) > 1
    assert wrong == {}
    assert min(roads[road] for road in ("as before", "another fit", "several gaps")) >= share(10), (
        roads
    )


def solves(case: Case) -> bool:
    return bool(ready_gaps(case)) and isinstance(fit(posed(case)), Fit)


def test_without_anybody_to_weigh_builds_the_aim_is_refused() -> None:
    task = next(posed(c) for c in (random_job(seed).case() for seed in SEEDS) if solves(c))
    with pytest.raises(ValueError, match="without anybody to weigh"):
        fit(replace(task, aims=("sure",)))


class AcceptedBrute(Brute):
    """Tries everything, and takes what is accepted as a whole."""

    def worth(self, together: Assignment, *, windows: bool = True) -> tuple[int, ...] | None:
        kinds = [k for f in together for here in f.order[1] for k in here]
        if not accepted_by(self.kinds[kind].size for kind in kinds):
            return None
        return super().worth(together, windows=windows)


def accepted_by(sizes: Iterable[str]) -> bool:
    """Whether a whole build is accepted: as little a sum over gaps as a chance is."""
    return sum(map(len, sizes)) % 3 != 0


def test_the_first_build_accepted_as_a_whole_is_the_best_of_those() -> None:
    wrong: dict[int, list[str]] = {}
    roads: Counter[str] = Counter()
    for seed in few(range(250)):
        case = random_job(seed).case()
        gaps = ready_gaps(case)
        brute = AcceptedBrute(case, gaps)
        if not gaps or brute.size > 2_000:
            continue
        task = posed(case)
        asked: list[bool] = []

        def accepted(build: Build, task: Task = task, asked: list[bool] = asked) -> bool:
            parts = [part for gap in build for here in gap.parts for part in here]
            asked.append(accepted_by(task.choices[part].size for part in parts))
            return asked[-1]

        answer = fit_until(task, accepted)
        found = disagreements(answer, brute.best())
        if found:
            wrong[seed] = found
        if isinstance(answer, Fit):
            roads["the first" if len(asked) == 1 else "a later one"] += 1
        elif asked:
            roads["none accepted"] += 1
    assert wrong == {}
    assert min(roads[road] for road in ("the first", "a later one", "none accepted")) >= share(10)


def test_the_judge_names_a_build_that_is_not_sure_enough() -> None:
    seen = 0
    for seed in few(range(120)):
        case = random_job(seed).case()
        free = fit(posed(case)) if ready_gaps(case) else None
        if not isinstance(free, Fit):
            continue
        unsure = replace(free.task, sure=lambda *_: False)
        assert f"{free.task.gaps[0].name}: not as sure as is asked" in judge.faults(
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
