"""The one rule by which a build replaces another, against every pair and against every use."""

from __future__ import annotations

from itertools import product
from random import Random
from typing import TYPE_CHECKING

from solver.builds.dominance import Weighed, undominated
from solver.problem.aims import levels_of
from tests.amounts import few

if TYPE_CHECKING:
    from solver.problem.aims import Level

AIMS = levels_of(("layout", "aim", "spare", "heat"), 0, {False})
SCARCE = [level.measure for level in AIMS].index("scarce")


def drawn(rng: Random) -> list[Weighed]:
    """Builds that take and are worth little, so that many replace each other."""
    return [
        Weighed(
            rng.choice("ab"),
            tuple(rng.randint(0, 2) for _ in range(2)),
            tuple(0 if nth == SCARCE else rng.randint(0, 2) for nth in range(len(AIMS))),
            tuple(rng.randint(0, 2) for _ in range(2)),
            rank,
        )
        for rank in range(rng.randint(1, 30))
    ]


def replaces(one: Weighed, other: Weighed) -> bool:
    """Whether one build may stand for another wherever that is used, written as it is said."""
    if one.kind != other.kind or any(a > b for a, b in zip(one.takes, other.takes, strict=True)):
        return False
    for level, mine, theirs in zip(AIMS, one.values, other.values, strict=True):
        if level.measure == "scarce":
            if any(a > b for a, b in zip(one.sizes, other.sizes, strict=True)):
                return False
        elif mine > theirs:
            return False
        elif mine < theirs and not level.worst:
            return True
    return one.rank < other.rank


def test_a_build_is_left_out_where_and_only_where_another_replaces_it() -> None:
    left_out = 0
    for seed in few(range(400)):
        builds = drawn(Random(seed))  # noqa: S311 - no secret hangs on it
        kept = undominated(builds, AIMS)
        assert kept == [
            nth
            for nth, build in enumerate(builds)
            if not any(replaces(other, build) for other in builds)
        ]
        left_out += len(builds) - len(kept)
    assert left_out > 100


def test_what_is_kept_holds_the_best_plan_of_two_gaps_whatever_the_stock() -> None:
    tight = 0
    for seed in few(range(160)):
        rng = Random(seed)  # noqa: S311 - no secret hangs on it
        gaps = [drawn(rng)[:9] for _ in range(2)]
        kept = [[gap[nth] for nth in undominated(gap, AIMS)] for gap in gaps]
        for stock in product(range(5), repeat=2):
            best = least(gaps, stock)
            assert best == least(kept, stock)
            tight += best is not None and best != least(gaps, (4, 4))
    assert tight > 20


def least(gaps: list[list[Weighed]], stock: tuple[int, ...]) -> tuple[int, ...] | None:
    """The best levels and ranks of one build a gap, of equal kinds, that the stock allows."""
    found = [
        (*(worth(level, nth, chosen) for nth, level in enumerate(AIMS)), *(b.rank for b in chosen))
        for chosen in product(*gaps)
        if len({build.kind for build in chosen}) == 1
        and all(sum(b.takes[part] for b in chosen) <= has for part, has in enumerate(stock))
    ]
    return min(found, default=None)


def worth(level: Level, nth: int, chosen: tuple[Weighed, ...]) -> int:
    """A level of one build for each gap; scarcity grows with the parts of each size."""
    if level.measure == "scarce":
        totals = map(sum, zip(*(build.sizes for build in chosen), strict=True))
        return sum(total * (total + 1) for total in totals)
    return (max if level.worst else sum)(build.values[nth] for build in chosen)


def test_a_worst_value_that_is_hidden_does_not_settle_it() -> None:
    worst, ratio = (nth for nth, level in enumerate(AIMS) if level.measure in ("worst", "ratio"))
    nought = [0] * len(AIMS)
    better, worse = [*nought], [*nought]
    better[worst], better[ratio] = 1, 5
    worse[worst], worse[ratio] = 2, 4
    builds = [Weighed(None, (), tuple(values), (0,)) for values in (better, worse)]
    assert undominated(builds, AIMS) == [0, 1]
    assert undominated([]) == []


def test_of_builds_equal_on_every_level_the_tie_break_is_asked_before_what_they_take() -> None:
    values = (0,) * len(AIMS)
    frugal, lavish = (1,), (2,)
    for takes, kept in (((lavish, frugal), [0, 1]), ((frugal, lavish), [0]), ((frugal,) * 2, [0])):
        builds = [Weighed(None, taken, values, (0,), nth) for nth, taken in enumerate(takes)]
        assert undominated(builds, AIMS) == kept
    alike = [Weighed(None, takes, values, (0,)) for takes in (lavish, frugal)]
    assert undominated(alike, AIMS) == [1]
