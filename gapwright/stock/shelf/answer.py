"""A period of jobs as it is asked for, and a shelf for it with all that is to be said of it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.problem.instance import LotChoice
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import PeriodDemand
    from solver.stock.shelf.objective import Chosen
    from solver.stock.shelf.simulation import Record, SimulatedShelf
    from specs.models.case import Case
    from specs.uncertainty.confidence import Interval


@dataclass(frozen=True, slots=True)
class Period:
    """What is asked."""

    jobs: Fraction
    """How many jobs come in a week."""
    lead: int
    """How many weeks an order takes."""
    share: Fraction = Fraction(95, 100)
    """Of the jobs, or of the weeks."""
    whole_weeks: bool = False
    """Whether the share is of weeks in which no job waits."""
    wait_cost: int | None = None
    """In place of a share: what a job costs that waits at a week's end."""
    keep_cost: Fraction = Fraction(1, 100)
    """What a part costs that is left at a week's end, as a share of its price."""
    scenarios: int = 200
    weeks: int = 10_000
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Gap:
    """How far the shelf may be from the best, by repeated choices over other scenarios."""

    at_least: float
    """What the best shelf costs at least, with 95 % confidence."""
    gap: float
    """As a share of the cost."""
    replications: int


@dataclass(frozen=True, slots=True)
class ShelfReport:
    """A shelf for a period, with all that is to be said of it."""

    case: Case
    period: Period
    choices: tuple[LotChoice, ...]
    gaps: tuple[str, ...]
    aside: tuple[str, ...]
    priced: bool
    drums: int
    able: int
    demand: PeriodDemand
    offers: dict[int, Offer]
    chosen: Chosen | None = None
    """What the scenarios made choose, before it was raised; None where nothing was found."""
    in_view: float | None = None
    """Share of the jobs of the scenarios built with all in view: a bound, and no promise."""
    shelf: SimulatedShelf | None = None
    promise: Interval | None = None
    """Jobs built on the day they came, or weeks without waiting, on fresh weeks."""
    records: tuple[Record, ...] = ()
    raised: int = 0
    """How often it was raised."""
    gap: Gap | None = None
    drawn: tuple[str, ...] = ()
    """Gaps whose spaces were drawn, not measured."""
    independent: bool = False
    """Whether spaces of different places were put together at random."""

    @property
    def hopeless(self) -> bool:
        """Whether plenty of every size falls short of the share asked for.

        Jobs that nothing serves come as Poisson has it, as all do: a week without one is a whole.
        """
        unserved = self.drums - self.able
        if self.period.wait_cost is not None or not unserved:
            return False
        if self.period.whole_weeks:
            return exp(-float(self.period.jobs * unserved / self.drums)) < self.period.share
        return self.able < self.period.share * self.drums

    @property
    def kept(self) -> bool:
        """Whether the promise reaches what was asked for."""
        asked = self.period.wait_cost is None
        return self.promise is not None and (not asked or self.promise.low >= self.period.share)

    @property
    def cost(self) -> int:
        """What is on the shelf costs."""
        levels = self.shelf.levels if self.shelf else ()
        return sum(n * self.offers[c].price for c, n in enumerate(levels) if n)
