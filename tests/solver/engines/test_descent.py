"""Goals made least one after the other: each is held for those that follow, whatever the engine."""

from __future__ import annotations

from itertools import product
from random import Random
from typing import TYPE_CHECKING

import pytest

from solver.engines import descent
from solver.engines.cp_sat import Program
from solver.engines.descent import Goal, GoalReached, Incumbent, descend, joined, one_by_one
from solver.engines.expressions import value_of
from solver.engines.highs import Highs
from solver.engines.limits import Clock, Limits, Outcome
from specs.errors import JudgeError
from tests.amounts import few

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from solver.engines.expressions import Expression
    from solver.engines.interface import Door

ENGINES = pytest.mark.parametrize("engine", [Program, Highs])


@ENGINES
def test_an_earlier_goal_is_held_for_a_later_one(engine: Callable[[], Door]) -> None:
    program = engine()
    one, other = program.integer(0, 9), program.integer(0, 9)
    program.row({one: 1, other: 1}, 5, None)
    found = descend(program, one_by_one({one: 3}, {other: 2}), Clock(Limits()))
    assert (found.status, found.values) == ("optimal", (0, 5))
    assert [(goal.value, goal.bound) for goal in found.reached] == [(0, 0), (10, 10)]
    assert {goal.proof for goal in found.reached} <= {"exact", "engine"}


@ENGINES
def test_goals_that_cannot_be_met_are_said_to_be_so(engine: Callable[[], Door]) -> None:
    program = engine()
    one = program.integer(0, 9)
    program.row({one: 1}, 5, None)
    program.row({one: 1}, None, 4)
    found = descend(program, one_by_one({one: 1}, {one: -1}), Clock(Limits()))
    assert (found.status, found.values, found.reached) == ("infeasible", (), ())


def test_out_of_time_is_no_proof() -> None:
    program = Program()
    one = program.integer(0, 9)
    clock = Clock(Limits())
    clock.limits.watch.stop()
    found = descend(program, one_by_one({one: 1}), clock)
    assert found.status != "infeasible"
    assert all(goal.proof == "open" for goal in found.reached) or found.status == "optimal"


@ENGINES
@pytest.mark.parametrize("safe", [1, 900, 2**40])
def test_joined_goals_are_what_trying_every_point_finds(
    engine: Callable[[], Door], safe: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(descent, "SAFE", safe)
    joins = 0
    for seed in few(range(40)):
        rng = Random(seed)  # noqa: S311 - no secret hangs on it
        program = engine()
        columns = [program.integer(0, 3) for _ in range(3)]
        row = {column: rng.randint(-2, 3) for column in columns}
        program.row(row, 2, None)
        points = [p for p in product(range(4), repeat=3) if value_of(row, p) >= 2]
        goals = [_goal({c: rng.randint(-3, 3) for c in columns}) for _ in range(4)]
        groups = [*joined(goals)]
        assert [goal for group in groups for goal in group] == goals
        joins += len(groups) < len(goals)
        found = descend(program, groups, Clock(Limits()))
        if not points:
            assert found.status == "infeasible"
            continue
        best = min(tuple(value_of(goal.expression, p) for goal in goals) for p in points)
        assert tuple(goal.value for goal in found.reached) == best
        assert tuple(value_of(goal.expression, found.values) for goal in goals) == best
    assert (joins > 0) == (safe > 1)


def _goal(expression: Expression) -> Goal:
    """A goal over columns from 0 to 3, with the least and greatest it can be."""
    factors = expression.values()
    low, high = (sum(3 * end(0, factor) for factor in factors) for end in (min, max))
    return Goal(expression, low, high)


def test_no_group_outweighs_what_can_be_weighed_exactly() -> None:
    spans = [2**20, 2**20, 1, 2, 2**41, 2, 2**62]
    groups = [*joined(Goal({}, 5, 4 + span) for span in spans)]
    assert [[g.high - g.low + 1 for g in group] for group in groups] == [
        [2**20, 2**20, 1], [2], [2**41], [2], [2**62],
    ]  # fmt: skip


class Scripted(Program):
    """An engine whose searches end as they are told to."""

    def __init__(self, *ends: Callable[[Outcome], Outcome]) -> None:
        super().__init__()
        self.ends = iter(ends)

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        return next(self.ends)(super().least(expression, clock))


def as_it_is(outcome: Outcome) -> Outcome:
    return outcome


def nothing(_: Outcome) -> Outcome:
    return Outcome("unknown", (), 0)


def early(outcome: Outcome) -> Outcome:
    return Outcome("feasible", outcome.values, outcome.bound - 2)


def taken_back(_: Outcome) -> Outcome:
    return Outcome("infeasible", (), 0)


def stopped(_: Outcome) -> Outcome:
    raise KeyboardInterrupt


def three_goals(program: Program) -> list[list[Goal]]:
    """Goals of which the first two are joined: at best 4, 1 and 2."""
    one, other, last = (program.integer(0, 9) for _ in range(3))
    for column, least in ((one, 4), (other, 1), (last, 2)):
        program.row({column: 1}, least, None)
    first, second, third = (Goal({column: 1}, 0, 9) for column in (one, other, last))
    return [[first, second], [third]]


def test_what_is_kept_of_a_search_that_ends_early() -> None:
    proved = (GoalReached(4, 4, "engine"), GoalReached(1, 1, "engine"))
    for ends, status, reached in (
        ([nothing], "unknown", ()),
        ([early], "feasible", (GoalReached(4, 3, "open"),)),  # 41 less 2 less the second's 9
        ([as_it_is, nothing], "feasible", (*proved, GoalReached(2, 0, "open"))),
        ([as_it_is, early], "feasible", (*proved, GoalReached(2, 0, "open"))),
        ([as_it_is, stopped], "feasible", proved),
        ([stopped], "unknown", ()),
    ):
        program, clock = Scripted(*ends), Clock(Limits())
        found = descend(program, three_goals(program), clock)
        assert (found.status, found.reached) == (status, reached)
        assert found.values[:2] == ((4, 1) if ends[0] in (as_it_is, early) else ())
        assert clock.limits.watch.stopped == (stopped in ends)


def test_an_engine_that_takes_back_what_it_has_found_is_not_believed() -> None:
    program = Scripted(as_it_is, taken_back)
    with pytest.raises(JudgeError, match="takes back"):
        descend(program, three_goals(program), Clock(Limits()))


def test_a_goal_is_made_when_those_before_it_are_held() -> None:
    program = Program()
    one = program.integer(3, 9)
    best = Incumbent()

    def searches() -> Iterator[list[Goal]]:
        assert not best.known
        yield [Goal({one: 1})]
        assert best.found == (3,)
        later = program.integer(0, 9)
        program.row({later: 1, one: -2}, 0, None)
        yield [Goal({later: 1})]

    found = descend(program, searches(), Clock(Limits()), best)
    assert [goal.value for goal in found.reached] == [3, 6]
