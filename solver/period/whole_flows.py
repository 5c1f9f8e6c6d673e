"""How the jobs of a cycle are worth most, in whole numbers: asked where halves mislead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.engine import Clock, Limits, Program, add, scale

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.drums import Drum
    from solver.engine import Expression
    from solver.period.aim import Aim
    from solver.period.building import Flows
    from solver.period.demand import Scenario

SECONDS = 5  # for one cycle, which mostly takes some thousandths


def whole_flows(
    scenario: Scenario, drums: Sequence[Drum], levels: Mapping[int, int], aim: Aim, clock: Clock
) -> Flows | None:
    """How many jobs of a kind take which draw of a gap; None where none were found in time."""
    cycle = _Cycle(aim)
    columns = {kind: cycle.jobs(drums[kind], jobs) for kind, jobs in scenario if all(drums[kind])}
    for choice, takers in cycle.drawn.items():
        cycle.program.row(takers, None, levels.get(choice, 0))
    short = Clock(Limits(min(clock.left, SECONDS), watch=clock.limits.watch))
    values = cycle.program.least(scale(cycle.worth(), -1), short).values
    if not values:
        return None
    return {kind: [[values[flow] for flow in flows] for flows in columns[kind]] for kind in columns}


class _Cycle:
    """The program of one cycle's jobs, built kind by kind."""

    def __init__(self, aim: Aim) -> None:
        self.program, self.aim = Program(), aim
        self.built: list[int] = []
        """How many jobs of each kind are built."""
        self.drawn: dict[int, Expression] = {}
        """What the columns take of each choice."""

    def worth(self) -> Expression:
        """What the jobs built are worth, and what they take: it is not kept."""
        kept = (scale(self.drawn.get(choice, {}), cost) for choice, cost in self.aim.keeping)
        return add(dict.fromkeys(self.built, self.aim.waiting), *kept)

    def jobs(self, drum: Drum, jobs: int) -> list[list[int]]:
        """Add the jobs of a kind; gives the column of each draw of each gap."""
        program = self.program
        built = program.integer(0, jobs)
        self.built.append(built)
        columns = [[program.integer(0, jobs) for _ in ways] for ways in drum]
        sharing: dict[int, dict[int, list[Expression]]] = {}
        for ways, flows in zip(drum, columns, strict=True):
            program.row({built: -1, **dict.fromkeys(flows, 1)}, 0, 0)
            here: dict[tuple[int, int], Expression] = {}
            for draw, flow in zip(ways, flows, strict=True):
                for choice, count in draw.parts:
                    self.drawn.setdefault(choice, {})[flow] = count
                for one in draw.shares:
                    here.setdefault(one, {})[flow] = 1
            for (part, choice), takers in here.items():
                sharing.setdefault(part, {}).setdefault(choice, []).append(takers)
        for choices in sharing.values():
            self._share(choices, built, jobs)
        return columns

    def _share(self, choices: dict[int, list[Expression]], built: int, jobs: int) -> None:
        """Let each job have one choice of a shared part, which serves all of its gaps."""
        agreed: Expression = {built: -1}
        for choice, gaps in choices.items():
            number = self.program.integer(0, jobs)
            agreed[number] = 1
            self.drawn.setdefault(choice, {})[number] = 1
            for takers in gaps:
                self.program.row({number: -1, **takers}, None, 0)
            self.program.row(add({number: -1}, *gaps), 0, None)
        self.program.row(agreed, None, 0)
