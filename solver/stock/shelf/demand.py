"""Draws the jobs of a period: their number, their spaces, and the parts that serve each.

The number of jobs in a week has a Poisson distribution; each job is a drum of the history drawn at
random. Parts used are ordered at the week's end and come after the lead time. So a shelf must last
over a cycle: the weeks of the lead time and one more. Jobs of a cycle are counted by kind: those
that the same draws serve are of one kind.
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
"""The jobs of one cycle: kinds of drum, each with the number of jobs."""


@dataclass(frozen=True, slots=True)
class PeriodDemand:
    """The jobs to expect in a period, and the lead time of an order."""

    rows: tuple[Spaces, ...]
    """The spaces of the drums of the history."""
    upto: tuple[int, ...]
    """For each row, the number of drums with its spaces or those of a row before it."""
    kinds: tuple[int, ...]
    """The kind of drum of each row."""
    drums: tuple[Drum, ...]
    """For each kind the sets of parts that serve it; without any in some gap where nothing does."""
    jobs: Fraction
    """The average number of jobs in a week."""
    lead: int
    """The lead time of an order in weeks, from the end of the week in which it is given."""

    @property
    def cycle(self) -> int:
        """The number of weeks that the shelf must last."""
        return self.lead + 1

    def week(self, draws: Draws) -> list[int]:
        """Draw the jobs of a week in the order they come, each as the row of its spaces."""
        number = draws.one_of(poisson(self.jobs))
        return [draws.one_of(self.upto) for _ in range(number)]

    def able(self) -> int:
        """Count the drums of the history that some sizes could serve."""
        before = (0, *self.upto)
        counted = zip(self.kinds, self.upto, before, strict=False)
        found: Counter[Drum] = Counter()
        for kind, end, begin in counted:
            found[self.drums[kind]] += end - begin
        return servable(found)


def demand_of(
    instance: Instance, history: Mapping[Spaces, int], jobs: Fraction, lead: int,
    rather: Instance | None = None,
) -> PeriodDemand:  # fmt: skip
    """Derive the jobs to expect from a history of drums.

    Parameters
    ----------
    instance
        The instance of the unit, with the catalogue.
    history
        For the spaces of each drum, in steps beyond the room of the instance, the number of drums.
    jobs
        The average number of jobs in a week.
    lead
        The lead time of an order in weeks, from the end of the week in which it is given.
    rather
        An instance with fewer builds; a drum that these serve is served by no others.

    Returns
    -------
    PeriodDemand
        The drums of the history by kind, to draw jobs from.

    Raises
    ------
    TooManyError
        Where a gap has too many builds to list.
    """
    rows = sorted(history)
    kinds: dict[Drum, int] = {}
    first, other = drum_maker(rather or instance), drum_maker(instance)
    found = (drum if all(drum := first(row)) else other(row) for row in rows)
    of_row = [kinds.setdefault(drum, len(kinds)) for drum in found]
    upto = tuple(accumulate(history[row] for row in rows))
    return PeriodDemand(tuple(rows), upto, tuple(of_row), tuple(kinds), jobs, lead)


def scenarios(demand: PeriodDemand, number: int, *name: object) -> tuple[Scenario, ...]:
    """Draw the jobs of a number of cycles.

    Parameters
    ----------
    demand
        The jobs to expect.
    number
        How many cycles to draw.
    name
        The name of the random numbers: equal names draw equal cycles.

    Returns
    -------
    tuple of Scenario
        For each cycle its kinds of drum, each with the number of jobs.
    """
    found = []
    for nth in range(number):
        draws = Draws(*name, nth)
        rows = [row for _ in range(demand.cycle) for row in demand.week(draws)]
        counted = Counter(demand.kinds[row] for row in rows)
        found.append(tuple(sorted(counted.items())))
    return tuple(found)


def jobs_in(cycles: Iterable[Scenario]) -> int:
    """Count the jobs of some cycles."""
    return sum(number for cycle in cycles for _, number in cycle)


def able_in(cycles: Iterable[Scenario], drums: Sequence[Drum]) -> int:
    """Count the jobs of some cycles that some sizes could serve."""
    return sum(number for cycle in cycles for kind, number in cycle if all(drums[kind]))
