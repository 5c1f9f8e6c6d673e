"""What is asked of a shelf over scenarios, and what a shelf comes to by that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.stock.kit import Offer

Done = tuple[int, Mapping[int, int]]
"""How many jobs of a scenario are built, and what is left of the shelf then."""
FINE = 840  # what a job counts where its share is asked for: prices are then mostly whole


@dataclass(frozen=True, slots=True)
class Aim:
    """What is asked of a shelf: so many jobs built, at the least price; or the least cost."""

    wanted: int = 0
    """How many jobs of all scenarios are to be built."""
    waiting: int = FINE
    """What a job that waits costs, where none are asked for by number."""
    keeping: tuple[tuple[int, int], ...] = ()
    """What one of a choice costs that is left after a cycle."""
    buying: bool = True
    """Whether the shelf's own price counts."""

    def kept(self, left: Mapping[int, int]) -> int:
        """What it costs to keep what is left."""
        return sum(cost * left.get(choice, 0) for choice, cost in self.keeping)

    def worth(self, done: Done) -> int:
        """What jobs built are worth, less what it costs to keep what is left then."""
        return self.waiting * done[0] - self.kept(done[1])


@dataclass(frozen=True, slots=True)
class Chosen:
    """The shelf chosen, with what is proved of it over the scenarios."""

    levels: dict[int, int]
    """Up to how many of each choice."""
    cost: int
    """Its price, where that counts, and what keeping and waiting cost over all scenarios."""
    at_least: int
    """What every shelf costs that does as asked in the scenarios."""
    served: int
    """How many jobs of the scenarios are built, with all in view."""
    worth: int = 0
    """By how much the price rises with one job more that is to be built of all."""

    @property
    def proved(self) -> bool:
        """Whether no shelf costs less."""
        return self.at_least >= self.cost


def cost_of(
    aim: Aim, offers: Mapping[int, Offer], levels: Mapping[int, int], able: int,
    done: Sequence[Done],
) -> int:  # fmt: skip
    """What a shelf, keeping and waiting cost where so many jobs of each scenario are built.

    So many jobs of all scenarios some sizes could serve.
    """
    cost = sum(aim.kept(left) for _, left in done)
    if not aim.wanted:
        cost += (able - sum(served for served, _ in done)) * aim.waiting
    if aim.buying:
        cost += sum(offers[choice].price * number for choice, number in levels.items())
    return cost
