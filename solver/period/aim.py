"""What is asked of a shelf over scenarios, and what one comes to by that, counted job by job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.period.building import built
from solver.period.demand import able_in

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.drums import Drum
    from solver.kit import Offer
    from solver.period.building import Flows
    from solver.period.demand import Scenario

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


def tried(
    aim: Aim, scenarios: Sequence[Scenario], drums: Sequence[Drum], offers: Mapping[int, Offer],
    levels: Mapping[int, int], flows: Sequence[Flows],
) -> tuple[int, int]:  # fmt: skip
    """How many jobs are built from a shelf, all in view, and what it, keeping and waiting cost."""
    keeping = dict(aim.keeping)
    served = cost = 0
    for scenario, flow in zip(scenarios, flows, strict=True):
        jobs, left = built(scenario, drums, flow, levels)
        served += jobs
        cost += sum(keeping.get(choice, 0) * number for choice, number in left.items())
    if not aim.wanted:
        cost += (able_in(scenarios, drums) - served) * aim.waiting
    if aim.buying:
        cost += sum(offers[choice].price * number for choice, number in levels.items())
    return served, cost
