"""Orders: the cheapest that completes everything, or one job more, or most under a budget.

Every order replans all jobs: what is on hand goes where it saves most. Parts come in packs. A size
without a price is bought only where a job cannot do without, and never under a budget.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.batch import judge
from solver.batch.columns import Listing, listing_of
from solver.batch.model import BatchModel
from solver.batch.objectives import Objectives
from solver.engines.highs import Highs
from solver.engines.interface import least_in_order
from solver.explain.conditions import conditions_of, without
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.batch.instance import Batch
    from solver.batch.planning import Plan
    from solver.engines.expressions import Expression
    from solver.engines.interface import Door
    from solver.engines.limits import Clock
    from solver.problem.instance import Build

MOST_PACKS = 10_000


@dataclass(frozen=True, slots=True)
class Order:
    """What to buy, and which jobs it completes together with what is on hand."""

    packs: tuple[tuple[int, int], ...]
    """Items, each with how many packs of it."""
    cost: int | None
    """In ten-thousandths; None where a price is not stated."""
    builds: tuple[Build | None, ...]
    """One way to complete them: no aim but completeness was looked at."""
    cannot: tuple[int, ...]
    """Jobs that no size the unit is made in could serve."""
    proved: bool

    def brings(self, batch: Batch) -> dict[int, int]:
        """How many parts of each item it brings."""
        return {item: packs * batch.items[item].pack for item, packs in self.packs}


def order_for_all(batch: Batch, clock: Clock, door: Callable[[], Door] = Highs) -> Order | None:
    """The cheapest order that completes every job that could be; None where time ran out."""
    buying = _Buying(batch, door)
    for variable in buying.model.complete.values():
        buying.program.row({variable: 1}, 1, 1)
    return buying.cheapest(clock)


def order_for_one_more(plan: Plan, clock: Clock, door: Callable[[], Door] = Highs) -> Order | None:
    """The cheapest order that completes one job more than a plan does, and no less of them."""
    buying = _Buying(plan.batch, door)
    jobs = plan.batch.jobs
    done = [n for n, build in enumerate(plan.builds) if build is not None]
    complete = buying.model.complete
    if len(complete) <= len(done):
        return None
    buying.program.row(dict.fromkeys(complete.values(), 1), len(done) + 1, None)
    weighed = {variable: jobs[job].priority for job, variable in complete.items()}
    buying.program.row(weighed, sum(jobs[job].priority for job in done), None)
    return buying.cheapest(clock)


def order_within(
    batch: Batch, budget: int, clock: Clock, door: Callable[[], Door] = Highs
) -> Order | None:
    """The order of at most a budget that completes most, by priority, and then costs least."""
    buying = _Buying(batch, door)
    for item, packs in buying.packs.items():
        if batch.items[item].price is None:
            buying.program.row({packs: 1}, 0, 0)
    buying.program.row(buying.cost(), None, budget)
    levels = [index for index, level in enumerate(buying.batch.levels) if level.aim == "complete"]
    return buying.cheapest(clock, [Objectives(buying.model).goal(index) for index in levels])


class _Buying:
    """A batch in which every size can be had, for its price."""

    def __init__(self, batch: Batch, door: Callable[[], Door]) -> None:
        self.batch = _without_aims(batch)
        self.listing: Listing = listing_of(self.batch)
        self.program = door()
        self.model = BatchModel(self.batch, self.listing, self.program)
        self.packs = {
            index: self.program.integer(0, MOST_PACKS)
            for index, item in enumerate(batch.items)
            if item.bought
        }
        self.model.extra = {
            item: {packs: batch.items[item].pack} for item, packs in self.packs.items()
        }
        self.model.stock()

    def cost(self) -> Expression:
        """What the packs cost; one without a price counts as dearer than any other."""
        items = self.batch.items
        known = [items[i].price * items[i].pack for i in self.packs if items[i].price is not None]  # type: ignore[operator]
        dearer = max(known, default=0) + 1
        return {
            packs: dearer if (price := items[item].price) is None else price * items[item].pack
            for item, packs in self.packs.items()
        }

    def cheapest(self, clock: Clock, before: list[Expression] | None = None) -> Order | None:
        """Bring down what goes before, then the cost, then the number of packs."""
        if not self.model.complete:
            return None
        goals = (*(before or ()), self.cost(), dict.fromkeys(self.packs.values(), 1))
        found = least_in_order(self.program, goals, clock)
        if not found.values:
            return None
        return self._order(found.values, proved=found.status == "optimal")

    def _order(self, values: tuple[int, ...], *, proved: bool) -> Order:
        packs = tuple((item, values[v]) for item, v in sorted(self.packs.items()) if values[v])
        prices = [self.batch.items[item].price for item, _ in packs]
        cost = sum(
            (self.batch.items[item].price or 0) * self.batch.items[item].pack * number
            for item, number in packs
        )
        cannot = tuple(n for n in range(len(self.batch.jobs)) if not self.listing.can_complete(n))
        known = all(price is not None for price in prices)
        builds = self.model.builds(values)
        order = Order(packs, cost if known else None, builds, cannot, proved)
        wrong = judge.faults(self.batch.with_more(order.brings(self.batch)), builds)
        if wrong:
            raise JudgeError(f"an order does not bring what it promises: {'; '.join(wrong)}")
        return order


def _without_aims(batch: Batch) -> Batch:
    """The batch with no aim but completeness, and no end of any size in the jobs' instances."""
    jobs = []
    for job in batch.jobs:
        stock = [
            condition for condition in conditions_of(job.instance) if condition.kind == "stock"
        ]
        instance = replace(without(job.instance, stock), aims=())
        jobs.append(replace(job, instance=instance, kept={}))
    return replace(batch, jobs=tuple(jobs))
