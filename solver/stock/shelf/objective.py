"""States the aim of a shelf over scenarios, and works out the cost of a shelf by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.stock.kit import Offer

Done = tuple[int, Mapping[int, int]]
"""The number of jobs of a scenario that are built, and the parts of each choice left over."""
FINE = 840  # the worth of a job where a number of jobs is asked for: prices are then mostly whole


@dataclass(frozen=True, slots=True)
class Aim:
    """The aim of a shelf: enough jobs built at the least price; or the least total cost."""

    wanted: int = 0
    """The number of jobs of all scenarios to build; 0 where waiting has a cost instead."""
    waiting: int = FINE
    """The cost of a job that waits, where `wanted` is 0."""
    keeping: tuple[tuple[int, int], ...] = ()
    """Choices, each with the cost of one part that is left over after a cycle."""
    buying: bool = True
    """Whether the shelf's own price counts."""

    def kept(self, left: Mapping[int, int]) -> int:
        """Return the cost of keeping the parts left over."""
        return sum(cost * left.get(choice, 0) for choice, cost in self.keeping)

    def worth(self, done: Done) -> int:
        """Return the worth of the jobs built, less the cost of keeping the parts left over."""
        return self.waiting * done[0] - self.kept(done[1])


@dataclass(frozen=True, slots=True)
class Chosen:
    """The shelf chosen, and what is proved of it over the scenarios."""

    levels: dict[int, int]
    """For each choice, the number of parts to order up to."""
    cost: int
    """Its price, where that counts, and the costs of keeping and waiting over all scenarios."""
    at_least: int
    """A proved lower bound on the cost of every shelf that meets the aim."""
    served: int
    """The number of jobs of the scenarios that are built, with all jobs of each in view."""
    dual: int = 0
    """The rise of the cost by one more job to build."""

    @property
    def proved(self) -> bool:
        """Whether it is proved that no shelf costs less."""
        return self.at_least >= self.cost


def cost_of(
    aim: Aim, offers: Mapping[int, Offer], levels: Mapping[int, int], able: int,
    done: Sequence[Done],
) -> int:  # fmt: skip
    """Work out the cost of a shelf, of keeping and of waiting, from the jobs that are built.

    Parameters
    ----------
    aim
        The costs of waiting and keeping, and whether the shelf's price counts.
    offers
        For each choice, its price and pack.
    levels
        For each choice, the number of parts on the shelf.
    able
        The number of jobs of all scenarios that some sizes could serve.
    done
        For each scenario the number of jobs built, and the parts left over.

    Returns
    -------
    int
        In the unit of the prices. Jobs that wait cost nothing where a number of jobs is asked for.
    """
    cost = sum(aim.kept(left) for _, left in done)
    if not aim.wanted:
        cost += (able - sum(served for served, _ in done)) * aim.waiting
    if aim.buying:
        cost += sum(offers[choice].price * number for choice, number in levels.items())
    return cost
