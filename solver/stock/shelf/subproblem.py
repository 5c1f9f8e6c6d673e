"""States the jobs of a cycle as columns and rows of a program, with whole or fractional jobs.

`whole_flows` maximises the worth of a cycle's jobs in integers, where half jobs of the relaxation
mislead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engines.cp_sat import Program
from solver.engines.expressions import add, gather, scale
from solver.engines.limits import Clock, Limits
from solver.problem.shared_parts import agree, drawn_by, drawn_together

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.engines.expressions import Expression
    from solver.problem.shared_parts import Held, TakesRows, Uses
    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario
    from solver.stock.shelf.job_cycle import Flows
    from solver.stock.shelf.objective import Aim


class Cycle:
    """The columns and rows of one cycle, except the rows that limit it to the parts on the shelf.

    Parameters
    ----------
    program
        Receives the columns and rows.
    scenario
        Kinds of drum, each with the number of jobs.
    drums
        For each kind, the sets of parts that serve it.
    """

    def __init__(self, program: TakesRows, scenario: Scenario, drums: Sequence[Drum]) -> None:
        self._program = program
        self._built: list[int] = []
        self.drawn: dict[int, Expression] = {}
        """For each choice, the parts that the columns take."""
        self.flows = {k: self._kind(drums[k], jobs) for k, jobs in scenario if all(drums[k])}
        """For each kind, gap by gap, the columns that count its jobs with each draw."""

    def worth(self, reward: int, kept: Mapping[int, int]) -> Expression:
        """Return the worth of the jobs built: rewards, and keeping costs that their parts save."""
        saved = (scale(takers, kept.get(choice, 0)) for choice, takers in self.drawn.items())
        return add(dict.fromkeys(self._built, reward), *saved)

    def _kind(self, drum: Drum, jobs: int) -> list[list[int]]:
        """Add the jobs of a kind, and return the columns of the draws of each gap."""
        built = self._program.integer(0, jobs)
        self._built.append(built)
        flows: list[list[int]] = []
        gaps: list[tuple[Uses, Held]] = []
        for ways in drum:
            flows.append([self._program.integer(0, jobs) for _ in ways])
            self._program.row({built: -1, **dict.fromkeys(flows[-1], 1)}, 0, 0)
            gaps.append(drawn_by(flows[-1], ways))
        held = agree(self._program, (shares for _, shares in gaps), {built: 1}, jobs)
        for choice, number in drawn_together((uses for uses, _ in gaps), held).items():
            gather(self.drawn.setdefault(choice, {}), number)
        return flows


SECONDS = 5  # for one cycle, which mostly takes milliseconds


def whole_flows(
    scenario: Scenario, drums: Sequence[Drum], levels: Mapping[int, int], aim: Aim, clock: Clock
) -> Flows | None:
    """Choose the draws of a cycle's jobs that are worth most, in integers.

    Parameters
    ----------
    scenario
        Kinds of drum, each with the number of jobs.
    drums
        For each kind, the sets of parts that serve it.
    levels
        For each choice, the number of parts on the shelf.
    aim
        The costs of waiting and keeping.
    clock
        The time that is left, of which at most SECONDS are used.

    Returns
    -------
    Flows, or None
        For each kind, gap by gap, the number of jobs that take each draw; None where none were
        found in time.
    """
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
