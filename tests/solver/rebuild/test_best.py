"""The best builds in order, held against every build there is of small jobs."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from solver import Fit, Limits
from solver.builds import patterns
from solver.rebuild.alternatives import best_builds
from tests.amounts import few, share
from tests.oracles.against_brute import brute_of, levels_of, named, solve
from tests.oracles.brute_alternatives import Looks, looks
from tests.oracles.brute_force import LENGTHS
from tests.oracles.random_jobs import plentiful, random_job

if TYPE_CHECKING:
    from tests.oracles.brute_force import Brute, Key, Named

LISTED = 5_000, few(range(40_001, 40_421, 2), 20)
COUNTED = 0, few(range(40_078, 40_498, 2), 20)
COUNT = 6
Ranked = tuple[dict["Key", Fraction], "Named"]


def classes(brute: Brute) -> list[Ranked]:
    """The best build of each class of builds that look alike, the best class first."""
    ranked = []
    for together in brute.assignments():
        values = brute.worth(together)
        if values is not None:
            ranked.append((values, tuple(filling.order for filling in together), together))
    found: dict[tuple[Looks, ...], Ranked] = {}
    for values, _, together in sorted(ranked, key=lambda one: one[:2]):
        look = tuple(looks(brute, filling) for filling in together)
        found.setdefault(look, (exact(brute, values), brute.names(together)))
    return [*found.values()]


def exact(brute: Brute, values: tuple[int, ...]) -> dict[Key, Fraction]:
    """The values of the levels, lengths in nanometres."""
    over = [brute.stacks.times if key[0] in LENGTHS else 1 for key in brute.levels]
    pairs = zip(brute.levels, values, over, strict=True)
    return {key: Fraction(value, times) for key, value, times in pairs if value}


def ranked(fit: Fit) -> Ranked:
    """A fit of the solver in the brute force's words."""
    values = {key: value for key, value in levels_of(fit.instance, fit.values).items() if value}
    return values, named(fit.instance, fit.build)


@pytest.mark.parametrize(("most", "seeds"), [LISTED, COUNTED])
def test_the_best_builds_are_the_first_classes_of_all_builds(
    most: int, seeds: range, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    met: Counter[str] = Counter()
    for seed in seeds:
        case = plentiful(random_job(seed))
        brute, answer = brute_of(case), solve(case)
        if brute is None or not isinstance(answer, Fit):
            continue
        expected = classes(brute)
        found = best_builds(answer, COUNT, Limits())
        assert all(fit.proved for fit in found), seed
        assert [ranked(fit) for fit in found] == expected[:COUNT], seed
        met["jobs"] += 1
        met["one class"] += len(expected) == 1
        met["all classes"] += 1 < len(expected) <= COUNT
        met["more classes"] += len(expected) > COUNT
        met["several gaps"] += len(brute.gaps) > 1 and len(expected) > 1
        met["several layouts"] += len({name for _, ((name, _), *_) in expected[:COUNT]}) > 1
    assert met["jobs"] >= share(101), met
    assert min(met[f"{number} classes"] for number in ("all", "more")) >= share(26), met
    assert met["several gaps"] >= share(41), met
    assert met["several layouts"] >= share(3), met
