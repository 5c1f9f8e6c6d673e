"""Goals made least one after the other: each is held for those that follow, whatever the engine."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from solver.engines.cp_sat import Program
from solver.engines.highs import Highs
from solver.engines.interface import least_in_order
from solver.engines.limits import Clock, Limits

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.engines.interface import Door


@pytest.mark.parametrize("engine", [Program, Highs])
def test_an_earlier_goal_is_held_for_a_later_one(
    engine: Callable[[], Door],
) -> None:
    program = engine()
    one, other = program.integer(0, 9), program.integer(0, 9)
    program.row({one: 1, other: 1}, 5, None)
    found = least_in_order(program, [{one: 3}, {other: 2}], Clock(Limits()))
    assert (found.status, found.values, found.bound) == ("optimal", (0, 5), 0)


@pytest.mark.parametrize("engine", [Program, Highs])
def test_goals_that_cannot_be_met_are_said_to_be_so(engine: Callable[[], Door]) -> None:
    program = engine()
    one = program.integer(0, 9)
    program.row({one: 1}, 5, None)
    program.row({one: 1}, None, 4)
    found = least_in_order(program, [{one: 1}, {one: -1}], Clock(Limits()))
    assert (found.status, found.values) == ("infeasible", ())


def test_out_of_time_is_no_proof() -> None:
    program = Program()
    one = program.integer(0, 9)
    clock = Clock(Limits())
    clock.limits.watch.stop()
    assert least_in_order(program, [{one: 1}], clock).status != "infeasible"
