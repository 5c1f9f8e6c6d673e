"""The jobs of a cycle as columns and rows of a program, in whole jobs or in parts of them.

How the jobs of a cycle are worth most, in whole numbers: asked where halves mislead.
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
    """A program that grows."""

    def integer(self, low: int, high: int) -> int:
        """Add a column between two bounds."""
        ...

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> object:
        """Ask that an expression lie between two bounds, either of which may be open."""
        ...


class Cycle:
    """The columns of one cycle, with every row but those for what is on the shelf."""

    def __init__(self, program: TakesRows, scenario: Scenario, drums: Sequence[Drum]) -> None:
        self._program = program
        self._built: list[int] = []
        self.drawn: dict[int, Expression] = {}
        """What the columns take of each choice."""
        self.flows = {k: self._kind(drums[k], jobs) for k, jobs in scenario if all(drums[k])}
        """Of each kind, gap by gap, the columns of how many of its jobs take each draw."""

    def worth(self, reward: int, kept: Mapping[int, int]) -> Expression:
        """What the jobs built are worth: the reward, and keeping what they take, each."""
        saved = (scale(takers, kept.get(choice, 0)) for choice, takers in self.drawn.items())
        return add(dict.fromkeys(self._built, reward), *saved)

    def _kind(self, drum: Drum, jobs: int) -> list[list[int]]:
        """Add the jobs of a kind; gives the columns of the draws of each gap."""
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
        """Let each job have one choice of a shared part, which serves all of its gaps."""
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
