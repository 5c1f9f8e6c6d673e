"""The period of jobs asked for, the report of a shelf for it, and the JSON of `stock shelf`."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp
from typing import TYPE_CHECKING, Literal

from gapwright.output.answers import Answer, key
from gapwright.output.money import exact_money, money
from gapwright.stock.answer import PastDrumsAnswer, ShareAnswer

if TYPE_CHECKING:
    from solver.problem.gaps import LotChoice
    from solver.stock.kit import Offer
    from solver.stock.shelf.demand import PeriodDemand
    from solver.stock.shelf.objective import Chosen
    from solver.stock.shelf.simulation import Record, SimulatedShelf
    from specs.files.history import Uncounted
    from specs.models.case import Case
    from specs.uncertainty.confidence import Interval
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class Period:
    """The demand on a shelf and the promise asked of it."""

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
class OptimalityGap:
    """The bound on how far a shelf is from the best, from choices over other scenarios."""

    at_least: float
    """What the best shelf costs at least, with 95 % confidence."""
    gap: float
    """As a share of the cost."""
    replications: int


@dataclass(frozen=True, slots=True)
class SizeToHold:
    """The number of parts to hold of one size, and when to order more."""

    family: str
    size: str
    hold: int
    order_at: int | None
    """Order when so few are left; None where none is held."""
    shelf: dict[tuple[str, str], int] | None
    sold_in: int

    @property
    def on_hand(self) -> int | None:
        """The number that is free on the shelf; None where no shelf was named."""
        return None if self.shelf is None else self.shelf.get((self.family, self.size), 0)

    @property
    def order(self) -> int | None:
        """The number to order now, in whole packs; None where no shelf was named."""
        if self.on_hand is None:
            return None
        return -(-max(0, self.hold - self.on_hand) // self.sold_in) * self.sold_in


@dataclass(frozen=True, slots=True)
class ShelfReport:
    """A shelf for a period, with every finding around it."""

    case: Case
    period: Period
    choices: tuple[LotChoice, ...]
    gaps: tuple[str, ...]
    aside: tuple[str, ...]
    priced: bool
    drums: int
    able: int
    """How many drums some of the unit's sizes could serve, every gap clear of its limits."""
    able_only_to_limit: int
    """How many they could serve besides, but none of these except up to the limit."""
    demand: PeriodDemand
    offers: dict[int, Offer]
    chosen: Chosen | None = None
    """What the scenarios made choose, before it was raised; None where nothing was found."""
    in_view: float | None = None
    """Share of the jobs of the scenarios built with all in view: a bound, and no promise.

    Up to a limit only those that no sizes build clear of it, unless waiting has a cost.
    """
    shelf: SimulatedShelf | None = None
    promise: Interval | None = None
    """Jobs built on the day they came, or weeks in which all were, on fresh weeks.

    Every gap of these jobs clear of its limits.
    """
    records: tuple[Record, ...] = ()
    raised: int = 0
    """How often it was raised."""
    gap: OptimalityGap | None = None
    drawn: tuple[str, ...] = ()
    """Gaps whose spaces were drawn, not measured."""
    independent: bool = False
    """Whether spaces of different places were put together at random."""
    on_hand: dict[tuple[str, str], int] | None = None
    """How many of each family and size are free on a shelf; None where no shelf was named."""
    uncounted: tuple[Uncounted, ...] = ()
    """Kept jobs that do not count, with the reason."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length."""
        return self.case.length

    @property
    def sizes(self) -> tuple[SizeToHold, ...]:
        """Each size of the unit: how many to hold, when to order, and how many to order now."""
        shelf = self.shelf
        if shelf is None:
            return ()
        return tuple(
            SizeToHold(
                self.choices[choice].family, self.choices[choice].size, shelf.levels[choice],
                shelf.reorder[choice] if shelf.levels[choice] else None, self.on_hand,
                offer.sold_in,
            )
            for choice, offer in sorted(self.offers.items())
        )  # fmt: skip

    @property
    def weekly(self) -> int:
        """The cost of waiting and keeping a week in the simulation, in ten-thousandths."""
        period = self.period
        cost = Fraction(sum(record.owed for record in self.records) * (period.wait_cost or 0))
        for record in self.records:
            for choice, number in record.kept.items():
                if choice in self.offers:
                    cost += number * self.offers[choice].price * period.keep_cost
        return round(cost / self.weeks)

    @property
    def weeks(self) -> int:
        """The number of fresh weeks that were simulated."""
        return sum(record.weeks for record in self.records)

    @property
    def only_to_limit(self) -> float:
        """The share of jobs, or of weeks, in time besides those promised: only up to the limit."""
        records = self.records
        if self.period.whole_weeks:
            return sum(record.whole_to_limit for record in records) / self.weeks
        jobs = sum(record.jobs for record in records)
        return sum(record.to_limit for record in records) / max(1, jobs)

    @property
    def hopeless(self) -> bool:
        """Whether even plenty of every size falls short of the share asked for.

        Jobs that nothing serves clear of their limits arrive as a Poisson process, as all jobs do.
        A week without one of them is a whole week.
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
        """The cost of the full shelf, in ten-thousandths of the currency."""
        levels = self.shelf.levels if self.shelf else ()
        return sum(n * self.offers[c].price for c, n in enumerate(levels) if n)


class SizeToHoldAnswer(Answer):
    """What to hold of one size."""

    family: str
    """The family."""
    size: str
    """The size."""
    hold: int
    """How many to hold."""
    order_at: int | None
    """Order when so few are left; null where none is held."""
    on_hand: int | None
    """How many are free on the shelf; null where no shelf was named."""
    order: int | None
    """How many to order now, in whole packs; null where no shelf was named."""


def _promise(report: ShelfReport) -> PromiseAnswer | None:
    if report.promise is None:
        return None
    return PromiseAnswer(report.promise, only_to_the_limit=round(report.only_to_limit, 6))


class PromiseAnswer(ShareAnswer):
    """What is built in time on fresh weeks, every gap clear of its limits."""

    only_to_the_limit: float
    """The share that is built in time besides, but only up to the limit."""


class StockShelfAnswer(PastDrumsAnswer, shape="gapwright stock shelf 2"):
    """How many of each size to hold for a period of jobs."""

    can_be_served: int = key(lambda report: report.able)
    """How many drums some of the unit's sizes could serve, every gap clear of its limits."""
    only_to_the_limit: int = key(lambda report: report.able_only_to_limit)
    """How many they could serve besides, but none of these except up to the limit."""
    jobs_a_week: str = key(lambda report: f"{float(report.period.jobs):g}")
    """How many jobs come in a week, as a decimal."""
    lead_time: int = key(lambda report: report.period.lead)
    """How many weeks an order takes."""
    asked: str | None = key(
        lambda report: str(report.period.share) if report.period.wait_cost is None else None
    )
    """The share asked for, an exact fraction; null with a wait cost."""
    of: Literal["weeks", "jobs"] = key(
        lambda report: "weeks" if report.period.whole_weeks else "jobs"
    )
    """What it is a share of."""
    wait_cost: str | None = key(
        lambda report: (
            None if report.period.wait_cost is None else exact_money(report.period.wait_cost)
        )
    )
    """What a job costs that waits at a week's end, in the currency of the unit file."""
    seed: int = key(lambda report: report.period.seed)
    """By which the weeks are drawn."""
    answer: Literal["shelf", "no shelf", "undecided"] = key(
        lambda report: "shelf" if report.shelf else "no shelf" if report.hopeless else "undecided"
    )
    """Whether there is such a shelf."""
    kept: bool
    """Whether the promise reaches what was asked for."""
    cost: str | None = key(lambda report: exact_money(report.cost) if report.shelf else None)
    """What the full shelf costs; parts where there are no prices."""
    promise: PromiseAnswer | None = key(_promise)
    """The share of jobs, or of weeks, that is built in time on fresh weeks, clear of the limits."""
    weeks: int
    """How many fresh weeks were simulated."""
    in_view: float | None = key(
        lambda report: None if report.in_view is None else round(report.in_view, 6)
    )
    """The share built of the jobs of the scenarios, all in view, from 0 to 1: no promise.

    Up to a limit only those that no sizes build clear of it, unless there is a wait cost.
    """
    raised: int
    """How often the choice was raised, for the promise fell short."""
    gap: float | None = key(lambda report: round(report.gap.gap, 6) if report.gap else None)
    """How far it is above the least cost at most, as a share of its cost; null: not found out."""
    a_week: str | None = key(
        lambda report: (
            money(report.weekly) if report.shelf and report.period.wait_cost is not None else None
        )
    )
    """With a wait cost: what waiting and keeping cost a week."""
    sizes: list[SizeToHoldAnswer] = key(lambda report: [*map(SizeToHoldAnswer, report.sizes)])
    """What to hold, by size."""


ANSWERS = {"stock shelf": (StockShelfAnswer,)}
