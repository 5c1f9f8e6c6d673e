"""Finds orders: the cheapest for all jobs, the cheapest for one job more, the best under a budget.

Every order plans all jobs again, so that parts on hand go where they save most. Parts come in
packs. A size without a price is bought only where a job cannot do without it, and never under a
budget.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from solver.batch import judge
from solver.batch.columns import Listing, listing_of
from solver.batch.model import BatchModel
from solver.batch.objectives import Objectives
from solver.engines.descent import descend, one_by_one
from solver.engines.highs import Highs
from solver.explain.conditions import can_serve, conditions_of, without
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.batch.instance import Batch
    from solver.batch.planning import Plan
    from solver.engines.expressions import Expression
    from solver.engines.interface import Door
    from solver.engines.limits import Clock
    from solver.problem.instance import Build, Instance

MOST_PACKS = 10_000


@dataclass(frozen=True, slots=True)
class Order:
    """An order of packs, and the jobs it completes together with the parts on hand."""

    packs: tuple[tuple[int, int], ...]
    """Items, each with the number of packs."""
    cost: int | None
    """In ten-thousandths of the currency; None where a price is not stated."""
    builds: tuple[Build | None, ...]
    """One way to complete the jobs; no aim but completeness was considered."""
    cannot: tuple[int, ...]
    """Jobs that could not be completed even with every size that their unit is made in."""
    beyond_sizes: tuple[int, ...]
    """Of these, the jobs with a gap that no size could serve, whatever they keep or ask for."""
    proved: bool

    def brings(self, batch: Batch) -> dict[int, int]:
        """Return the number of parts that the order adds to each item."""
        return {item: packs * batch.items[item].pack for item, packs in self.packs}


def order_for_all(batch: Batch, clock: Clock, door: Callable[[], Door] = Highs) -> Order | None:
    """Find the cheapest order that completes every job that can be completed.

    Parameters
    ----------
    batch
        The jobs, their stock, and the sizes that can be bought.
    clock
        The time that is left.
    door
        Makes the engine; HiGHS by default.

    Returns
    -------
    Order, or None
        None where no job can be completed, or no order was found in time.

    Raises
    ------
    JudgeError
        Where the order, judged in integers, does not complete the jobs it names.
    """
    buying = _Buying(batch, door)
    for variable in buying.model.complete.values():
        buying.program.row({variable: 1}, 1, 1)
    return buying.cheapest(clock)


def order_for_one_more(plan: Plan, clock: Clock, door: Callable[[], Door] = Highs) -> Order | None:
    """Find the cheapest order that completes one job more than a plan does.

    The sum of the priorities of the completed jobs is no lower than in the plan.

    Parameters
    ----------
    plan
        The plan of the batch without an order.
    clock
        The time that is left.
    door
        Makes the engine; HiGHS by default.

    Returns
    -------
    Order, or None
        None where no further job can be completed, or no order was found in time.

    Raises
    ------
    JudgeError
        Where the order, judged in integers, does not complete the jobs it names.
    """
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
    """Find the order within a budget that completes most, and of those the cheapest.

    Jobs are compared as in a plan: pinned jobs first, then priorities, then the number of jobs.

    Parameters
    ----------
    batch
        The jobs, their stock, and the sizes that can be bought.
    budget
        In ten-thousandths of the currency.
    clock
        The time that is left.
    door
        Makes the engine; HiGHS by default.

    Returns
    -------
    Order, or None
        None where no job can be completed, or no order was found in time.

    Raises
    ------
    JudgeError
        Where the order, judged in integers, does not complete the jobs it names.
    """
    buying = _Buying(batch, door)
    for item, packs in buying.packs.items():
        if batch.items[item].price is None:
            buying.program.row({packs: 1}, 0, 0)
    buying.program.row(buying.cost(), None, budget)
    levels = [index for index, level in enumerate(buying.batch.levels) if level.aim == "complete"]
    return buying.cheapest(clock, [Objectives(buying.model).goal(index) for index in levels])


class _Buying:
    """The program of a batch in which packs of every size can be bought."""

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
        """Return the cost of the packs; a pack without a price counts as dearer than any other."""
        items = self.batch.items
        known = [items[i].price * items[i].pack for i in self.packs if items[i].price is not None]  # type: ignore[operator]
        dearer = max(known, default=0) + 1
        return {
            packs: dearer if (price := items[item].price) is None else price * items[item].pack
            for item, packs in self.packs.items()
        }

    def cheapest(self, clock: Clock, before: list[Expression] | None = None) -> Order | None:
        """Minimise the goals given, then the cost, then the number of packs."""
        if not self.model.complete:
            return None
        goals = (*(before or ()), self.cost(), dict.fromkeys(self.packs.values(), 1))
        found = descend(self.program, one_by_one(*goals), clock)
        if not found.values:
            return None
        return self._order(found.values, clock, proved=found.status == "optimal")

    def _order(self, values: tuple[int, ...], clock: Clock, *, proved: bool) -> Order:
        packs = tuple((item, values[v]) for item, v in sorted(self.packs.items()) if values[v])
        prices = [self.batch.items[item].price for item, _ in packs]
        cost = sum(
            (self.batch.items[item].price or 0) * self.batch.items[item].pack * number
            for item, number in packs
        )
        cannot = tuple(n for n in range(len(self.batch.jobs)) if not self.listing.can_complete(n))
        known = all(price is not None for price in prices)
        builds = self.model.builds(values)
        beyond = tuple(n for n in cannot if _beyond_sizes(self.batch.jobs[n].instance, clock))
        order = Order(packs, cost if known else None, builds, cannot, beyond, proved)
        wrong = judge.faults(self.batch.with_more(order.brings(self.batch)), builds)
        if wrong:
            raise JudgeError(f"an order does not bring what it promises: {'; '.join(wrong)}")
        return order


def _beyond_sizes(instance: Instance, clock: Clock) -> bool:
    """Return whether it is proved that a gap of a job can be served by no sizes at all."""
    gaps = range(len(instance.gaps))
    return any(can_serve(instance, index, Fraction(0), clock) is False for index in gaps)


def _without_aims(batch: Batch) -> Batch:
    """Return the batch with completeness as its only aim, and no limits of stock in its jobs."""
    jobs = []
    for job in batch.jobs:
        stock = [
            condition for condition in conditions_of(job.instance) if condition.kind == "stock"
        ]
        instance = replace(without(job.instance, stock), aims=())
        jobs.append(replace(job, instance=instance, kept={}))
    return replace(batch, jobs=tuple(jobs))
