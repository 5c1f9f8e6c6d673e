"""The jobs of a period: how many come, with which spaces, and what serves each.

The jobs of a week are Poisson many, each a drum of the history drawn at random. What is used is
ordered at the week's end and comes after the lead time, so a shelf has to last over a cycle: the
weeks of the lead time and one more. Jobs of a cycle that the same draws serve are counted.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

from solver.stock.demand_patterns import drum_maker, servable
from solver.stock.shelf.random_numbers import Draws, poisson

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from fractions import Fraction

    from solver.problem.instance import Instance
    from solver.stock.demand_patterns import Drum, Spaces

Scenario = tuple[tuple[int, int], ...]
"""The jobs of one cycle: kinds of drum, and how many jobs of each."""


@dataclass(frozen=True, slots=True)
class PeriodDemand:
    """What jobs come, and how long an order takes."""

    rows: tuple[Spaces, ...]
    """The spaces of the drums of the history."""
    upto: tuple[int, ...]
    """How many drums have the spaces of a row or of one before it."""
    kinds: tuple[int, ...]
    """The kind of drum of each row."""
    drums: tuple[Drum, ...]
    """What serves each kind; one that nothing serves has a gap without ways."""
    jobs: Fraction
    """How many jobs come in a week, on the average."""
    lead: int
    """How many weeks an order takes, beyond the week's end at which it is given."""

    @property
    def cycle(self) -> int:
        """Over how many weeks the shelf has to last."""
        return self.lead + 1

    def week(self, draws: Draws) -> list[int]:
        """The jobs of a week in the order they come, each the row of its spaces."""
        number = draws.one_of(poisson(self.jobs))
        return [draws.one_of(self.upto) for _ in range(number)]

    def able(self) -> int:
        """How many drums of the history any sizes could serve."""
        before = (0, *self.upto)
        counted = zip(self.kinds, self.upto, before, strict=False)
        found: Counter[Drum] = Counter()
        for kind, end, begin in counted:
            found[self.drums[kind]] += end - begin
        return servable(found)


def demand_of(
    instance: Instance, history: Mapping[Spaces, int], jobs: Fraction, lead: int
) -> PeriodDemand:
    """Read the jobs to come out of a history; raises TooManyError as `drum_maker`."""
    rows = sorted(history)
    kinds: dict[Drum, int] = {}
    drum = drum_maker(instance)
    of_row = [kinds.setdefault(drum(row), len(kinds)) for row in rows]
    upto = tuple(accumulate(history[row] for row in rows))
    return PeriodDemand(tuple(rows), upto, tuple(of_row), tuple(kinds), jobs, lead)


def scenarios(demand: PeriodDemand, number: int, *name: object) -> tuple[Scenario, ...]:
    """So many cycles; the same for the same name."""
    found = []
    for nth in range(number):
        draws = Draws(*name, nth)
        rows = [row for _ in range(demand.cycle) for row in demand.week(draws)]
        counted = Counter(demand.kinds[row] for row in rows)
        found.append(tuple(sorted(counted.items())))
    return tuple(found)


def jobs_in(cycles: Iterable[Scenario]) -> int:
    """How many jobs some cycles have."""
    return sum(number for cycle in cycles for _, number in cycle)


def able_in(cycles: Iterable[Scenario], drums: Sequence[Drum]) -> int:
    """How many jobs of some cycles any sizes could serve."""
    return sum(number for cycle in cycles for kind, number in cycle if all(drums[kind]))
