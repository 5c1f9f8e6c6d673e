"""How the jobs of a cycle are worth most, in whole numbers: asked where halves mislead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Clock, Limits, Program, scale
from solver.stock.shelf.subproblem import Cycle

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario
    from solver.stock.shelf.job_cycle import Flows
    from solver.stock.shelf.objective import Aim

SECONDS = 5  # for one cycle, which mostly takes some thousandths


def whole_flows(
    scenario: Scenario, drums: Sequence[Drum], levels: Mapping[int, int], aim: Aim, clock: Clock
) -> Flows | None:
    """How many jobs of a kind take which draw of a gap; None where none were found in time."""
    program = Program()
    cycle = Cycle(program, scenario, drums)
    for choice, takers in cycle.drawn.items():
        program.row(takers, None, levels.get(choice, 0))
    short = Clock(Limits(min(clock.left, SECONDS), watch=clock.limits.watch))
    worth = cycle.worth(aim.waiting, dict(aim.keeping))
    values = program.least(scale(worth, -1), short).values
    if not values:
        return None
    return {
        kind: [[values[flow] for flow in gap] for gap in gaps] for kind, gaps in cycle.flows.items()
    }
