"""States the jobs of a cycle as columns and rows of a program, with whole or fractional jobs.

`whole_flows` maximises the worth of a cycle's jobs in integers, where half jobs of the relaxation
mislead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from solver.engines.cp_sat import Program
from solver.engines.expressions import add, scale
from solver.engines.limits import Clock, Limits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.engines.expressions import Expression
    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario
    from solver.stock.shelf.job_cycle import Flows
    from solver.stock.shelf.objective import Aim


class TakesRows(Protocol):
    """A program that accepts columns and rows."""

    def integer(self, low: int, high: int) -> int:
        """Add an integer column between two bounds, and return its index."""
        ...

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> object:
        """Add a row that keeps an expression between two bounds, either of which may be None."""
        ...


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
        shared: dict[tuple[int, int], dict[int, Expression]] = {}
        for gap, ways in enumerate(drum):
            flows.append([self._program.integer(0, jobs) for _ in ways])
            self._program.row({built: -1, **dict.fromkeys(flows[gap], 1)}, 0, 0)
            for draw, flow in zip(ways, flows[gap], strict=True):
                for choice, count in draw.parts:
                    self.drawn.setdefault(choice, {})[flow] = count
                for one in draw.shares:
                    shared.setdefault(one, {}).setdefault(gap, {})[flow] = 1
        self._share(shared, built, jobs)
        return flows

    def _share(
        self, shared: Mapping[tuple[int, int], Mapping[int, Expression]], built: int, jobs: int
    ) -> None:
        """Add rows so that each job has one choice of a shared part, in all of its gaps."""
        agreed: dict[int, Expression] = {}
        for (part, choice), gaps in shared.items():
            held = self._program.integer(0, jobs)
            agreed.setdefault(part, {built: -1})[held] = 1
            self.drawn.setdefault(choice, {})[held] = 1
            for takers in gaps.values():
                self._program.row({held: -1, **takers}, None, 0)
            self._program.row(add({held: -1}, *gaps.values()), 0, None)
        for held_by in agreed.values():
            self._program.row(held_by, None, 0)


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
