"""The service of `stock shelf`: how many parts to hold for a period, and what that promises.

A shelf is chosen over scenarios of demand, each with all its jobs in view; what it reaches there is
a bound and no promise. It is then simulated on fresh weeks. Where the promise falls short, the
choice is asked for more jobs and made again, and in the end topped up pack by pack.

As in a kit, a job counts as served where every gap keeps clear of its limits. The simulation builds
up to a limit too where `fit` would, and tells these jobs apart. So the choice counts on builds up
to a limit for those jobs alone that no sizes build clear: they take parts all the same. Where
waiting has a cost it counts on all builds, for a job built up to a limit does not wait.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from math import ceil
from statistics import fmean
from typing import TYPE_CHECKING, TypedDict, Unpack

from gapwright.record.former_units import former_units
from gapwright.shelf.on_hand import stock_of
from gapwright.stock.instance import gaps_of, offers_of, posed, too_many
from gapwright.stock.past_drums import past_of
from gapwright.stock.shelf.answer import OptimalityGap, Period, ShelfReport
from gapwright.workers import executor_of
from solver.builds.enumeration import TooManyError
from solver.engines.limits import Clock, Limits
from solver.rebuild.clear_of_limits import all_narrowed
from solver.stock.shelf.benders import cheapest_shelf
from solver.stock.shelf.demand import able_in, demand_of, jobs_in, scenarios
from solver.stock.shelf.objective import Aim, Chosen
from solver.stock.shelf.replications import Replicated, Replication, SimulationRun, replicate, run
from solver.stock.shelf.simulation import Record, SimulatedShelf
from specs.errors import InputError, Problem
from specs.files.read import read_shelf, read_unit_alone
from specs.uncertainty.confidence import one_sided, ratio

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from gapwright.workers import Executor
    from solver.problem.instance import Instance
    from solver.stock.shelf.demand import PeriodDemand
    from specs.files.history import History
    from specs.models.case import Case

RUNS, PIECES = 40, 8
"""Into how many simulations the fresh weeks are parted, and into how many pieces of work those."""
CHOICES, MOST_TOPPED = 5, 400
REPLICATIONS = 20
FEWER = 4  # a replication has so many times fewer scenarios than the choice
FOR_CHOICE = Fraction(1, 4)  # of the time given; the replications share the rest


class SpreadOver(TypedDict, total=False):
    """The workers that do independent work."""

    workers: int | None
    """On so many cores; on all of this machine unless stated."""
    cluster: str | None
    """The address of a Dask cluster."""


def choose_shelf(
    unit: Path,
    period: Period,
    history: Sequence[Path | str] = (),
    shelf: str | None = None,
    limits: Limits | None = None,
    **spread: Unpack[SpreadOver],
) -> ShelfReport:
    """Choose how many of each size to hold for a period of jobs.

    Parameters
    ----------
    unit
        The file of the unit, with its prices.
    period
        How many jobs come in a week, how many weeks an order takes, and what is asked of them.
    history
        Folders of job files, ledgers, or tables of past drums' spaces; of a gap without one the
        drums are drawn from its `spaces` in the unit file.
    shelf
        What is on hand: the file of a shelf or a ledger's address; only the rest is ordered.
    limits
        How long to search; 60 seconds unless stated.
    spread
        `workers`, on how many cores, or `cluster`, the address of a Dask cluster; the answer is
        the same.

    Returns
    -------
    ShelfReport
        What to hold and when to order of each size, and what that promises on weeks that had no
        part in the choice.

    Raises
    ------
    InputError
        With all that is wrong with the files.

    """
    case = read_unit_alone(unit)
    former = [former_units(one, case) for one in history]
    past = past_of(case, former, period.seed, shelf)
    there = None if shelf is None else _on_hand(unit, shelf)
    with executor_of(spread.get("workers"), spread.get("cluster")) as executor:
        report = _shelf_case(case, past.history, period, executor, limits)
    return replace(
        report, drawn=past.drawn, independent=past.independent, on_hand=there,
        uncounted=past.uncounted,
    )  # fmt: skip


def _on_hand(unit: Path, shelf: str) -> dict[tuple[str, str], int]:
    """Count the free parts of each size on a shelf, new and used.

    Raises InputError where the shelf cannot be read or contradicts the unit.
    """
    case = read_shelf(unit, None, shelf)
    found: Counter[tuple[str, str]] = Counter()
    for lot in stock_of(case, ()).on_hand:
        found[lot.family, lot.size] += lot.count
    return dict(found)


def _shelf_case(
    case: Case, history: History, period: Period, executor: Executor, limits: Limits | None = None
) -> ShelfReport:
    """Choose how many of each size to hold, and find out by simulation what that promises.

    Parameters
    ----------
    case
        The unit's files as read.
    history
        The past drums, from which the drums to come are drawn.
    period
        The demand, and the promise asked for.
    executor
        Runs simulations and replications.
    limits
        How long to search; 60 seconds unless stated.

    Raises
    ------
    InputError
        Where the unit, the history or the period does not suit a choice of stock.
    """
    gaps = gaps_of(case, history)
    instance, (rows,) = posed(case, gaps, history)
    offers, priced = offers_of(case, instance)
    if period.wait_cost is not None and not priced:
        sentence = "--wait-cost weighs waiting against prices; give every size its price"
        raise InputError(Problem(sentence, case.origins["unit"].source.file))
    try:
        clear = all_narrowed(instance)
        rather = clear if period.wait_cost is None else None
        counted = demand_of(clear, rows, period.jobs, period.lead)
        demand = demand_of(instance, rows, period.jobs, period.lead, rather)
        able = counted.able()
        report = ShelfReport(
            case, period, instance.choices, gaps, tuple(n for n in case.unit.gaps if n not in gaps),
            priced, sum(rows.values()), able, demand.able() - able, demand, offers,
        )  # fmt: skip
        if report.hopeless:
            return report
        settling = _Settling(instance, report, counted, executor, limits or Limits())
        return settling.settled()
    except TooManyError:
        raise too_many(case) from None


class _Settling:
    """The steps from scenarios to a shelf with its promise."""

    def __init__(
        self, instance: Instance, report: ShelfReport, clear: PeriodDemand, executor: Executor,
        limits: Limits,
    ) -> None:  # fmt: skip
        self.instance, self.report, self.executor, self.limits = instance, report, executor, limits
        self.period, self.demand, self.offers = report.period, report.demand, report.offers
        self.clear = clear
        self.clock = Clock(limits)
        name = (self.period.seed, "chosen")
        self.scenarios = scenarios(self.demand, self.period.scenarios, *name)
        self.jobs = jobs_in(self.scenarios)
        self.able = able_in(self.scenarios, self.demand.drums)
        self.able_clear = able_in(scenarios(clear, self.period.scenarios, *name), clear.drums)
        if not self.jobs:
            rate = f"at {float(self.period.jobs):g} jobs a week"
            sentence = f"no job comes in {len(self.scenarios)} cycles {rate}; ask for more"
            raise InputError(Problem(sentence, field="--scenarios"))

    def settled(self) -> ShelfReport:
        """Return the report of the shelf with its promise, reorder points and gap."""
        self.limits.watch.words = "choosing over scenarios"
        share = self._first_share()
        first = self._chosen(share)
        if first is None:
            return self.report
        report = self._simulated(replace(self.report, chosen=first), self._shelf(first.levels))
        while not report.kept and report.raised < CHOICES:
            share = self._raised(share, report)
            chosen = self._chosen(share)
            if chosen is None:
                break
            report = replace(report, raised=report.raised + 1)
            report = self._simulated(report, self._shelf(chosen.levels))
        while not report.kept and report.raised < MOST_TOPPED and self.clock.left > 0:
            topped = self._topped(report)
            if topped is None:
                break
            report = self._simulated(replace(report, raised=report.raised + 1), topped)
        report = self._reordered(report)
        return replace(report, in_view=first.served / self.jobs, gap=self._gap(report, first))

    def _first_share(self) -> Fraction:
        """Return the share of the jobs of a cycle to ask of the first choice.

        A cycle begins with a full shelf, so most jobs that wait do so in its last week, and of all
        its weeks that one is like those to come. So no more jobs may wait in a whole cycle than the
        share allows in one week.
        """
        return Fraction(self.able, self.jobs) - self._allowed() / self.demand.cycle

    def _allowed(self) -> Fraction:
        """Return the part of all jobs that could be built clear of their limits but need not be."""
        return max(Fraction(0), Fraction(self.able_clear, self.jobs) - self.period.share)

    def _aim(self, share: Fraction) -> Aim:
        if self.period.wait_cost is None:
            return Aim(wanted=min(self.able, ceil(share * self.jobs)))
        keeping = tuple(
            (choice, round(self.period.keep_cost * offer.price))
            for choice, offer in self.offers.items()
        )
        return Aim(waiting=self.period.wait_cost, keeping=keeping, buying=False)

    def _chosen(self, share: Fraction) -> Chosen | None:
        seconds = max(1.0, float(FOR_CHOICE) * self.clock.left)
        clock = Clock(replace(self.limits, seconds=min(seconds, self.clock.left)))
        aim = self._aim(share)
        return cheapest_shelf(self.scenarios, self.demand.drums, self.offers, aim, clock)

    def _raised(self, share: Fraction, report: ShelfReport) -> Fraction:
        """Raise the share asked of the choice.

        The part of the jobs that may wait shrinks by the ratio of the part that is allowed to the
        part found in the simulation, and at least by a tenth.
        """
        low = Fraction(report.promise.low if report.promise else 0)
        missed = max(Fraction(self.able_clear, self.jobs) - low, Fraction(1, 10**6))
        times = min(self._allowed() / missed, Fraction(9, 10))  # a nearer step might never arrive
        most = Fraction(self.able, self.jobs)
        return most - (most - share) * times

    def _shelf(self, levels: dict[int, int]) -> SimulatedShelf:
        """Return the shelf kept at its levels: each week's use is ordered at the week's end."""
        held = tuple(levels.get(choice, 0) for choice in range(len(self.instance.choices)))
        sold_in = tuple(
            self.offers[choice].sold_in if choice in self.offers else 1
            for choice in range(len(held))
        )
        return SimulatedShelf(
            held, tuple(n - s for n, s in zip(held, sold_in, strict=True)), sold_in
        )

    def _simulated(self, report: ShelfReport, shelf: SimulatedShelf, *name: object) -> ShelfReport:
        """Simulate a shelf on weeks that had no part in its choice; each choice has its own."""
        self.limits.watch.words = "simulating fresh weeks"
        weeks = -(-self.period.weeks // RUNS)
        name = name or ("fresh", report.raised)
        # The pieces do not depend on the workers, so neither does the answer.
        pieces = [tuple(range(nth, RUNS, PIECES)) for nth in range(PIECES)]
        runs = [
            SimulationRun(
                self.demand, self.instance, shelf, weeks, (self.period.seed, *name), numbers
            )
            for numbers in pieces
        ]
        found: dict[int, Record] = {}
        for numbers, simulated in zip(pieces, self.executor.map(run, runs), strict=True):
            found |= dict(zip(numbers, simulated, strict=True))
        records = tuple(found[number] for number in range(RUNS))
        told = [
            (one.whole, one.weeks) if self.period.whole_weeks else (one.served, one.jobs)
            for one in records
        ]
        return replace(report, shelf=shelf, promise=ratio(told), records=records)

    def _topped(self, report: ShelfReport) -> SimulatedShelf | None:
        """Add one pack of the size that most jobs lacked; None where none lacked any."""
        shelf = report.shelf
        lacked = sum(
            (record.lacked for record in report.records), start=type(report.records[0].lacked)()
        )
        if shelf is None or not lacked:
            return None
        choice = max(sorted(lacked), key=lambda one: lacked[one])
        levels = dict(enumerate(shelf.levels))
        levels[choice] += shelf.sold_in[choice]
        return self._shelf(levels)

    def _reordered(self, report: ShelfReport) -> ShelfReport:
        """Lower the reorder points as far as the promise holds.

        They start at the use of each size in a cycle that only the allowed share of cycles exceeds,
        and rise together from there. They end a pack below the level, where every use is ordered.
        """
        if report.shelf is None or not report.kept or self.period.wait_cost is not None:
            return report
        whole = report.shelf
        for more in range(max(whole.levels) + 1):
            points = tuple(
                min(top, _quantile(report.records, choice, self.period.share) + more)
                for choice, top in enumerate(whole.reorder)
            )
            if points == whole.reorder:
                break
            lower = replace(whole, reorder=points)
            if self._simulated(report, lower, "reorder").kept:
                # These weeks chose the points, so only weeks of their own may confirm them.
                tried = self._simulated(report, lower, "reordered")
                return tried if tried.kept else report
        return report

    def _gap(self, report: ShelfReport, first: Chosen) -> OptimalityGap | None:
        """Return the bound on how far the shelf may be from the best (Mak, Morton and Wood, 1999).

        Where waiting has a cost, the figure is what the shelf costs above the best over each of
        many sets of scenarios. Where a share is asked for, each job that waits beyond those allowed
        costs the dual price of one more job. The least that any shelf then costs bounds the price
        of every shelf that does as asked, whatever that price is. Such a shelf builds enough jobs
        clear of their limits, so no other builds count here. For whole weeks there is no such
        bound.
        """
        if report.shelf is None or self.period.whole_weeks or not self.clock.left:
            return None
        self.limits.watch.words = "choosing again over other scenarios"
        number = max(10, self.period.scenarios // FEWER)
        aim = self._aim(self.period.share)
        demand = self.demand
        if self.period.wait_cost is None:
            demand = self.clear
            # Fewer scenarios hold fewer jobs, so that each must weigh more against the same price.
            waiting = first.dual * self.period.scenarios // number
            aim = Aim(waiting=max(1, waiting))
        levels = {choice: n for choice, n in enumerate(report.shelf.levels) if n}
        seconds = self.clock.left / REPLICATIONS
        asked = [
            Replication(demand, self.offers, aim, levels, number, self.period.seed, nth, seconds)
            for nth in range(REPLICATIONS)
        ]
        found = [one for one in self.executor.map(replicate, asked) if one is not None]
        return _gap_of(found, report, aim, number) if len(found) == REPLICATIONS else None


def _gap_of(found: list[Replicated], report: ShelfReport, aim: Aim, number: int) -> OptimalityGap:
    """Return the end that the gap does not pass with 95 % confidence."""
    period = report.period
    if period.wait_cost is None:
        bounds = [
            one.at_least - aim.waiting * float(one.able - period.share * one.jobs) for one in found
        ]
        least = max(0.0, one_sided(bounds, upper=False))
        gap = max(0.0, 1 - least / report.cost) if report.cost else 0.0
        return OptimalityGap(least, gap, len(found))
    above = [(one.cost - one.at_least) / number for one in found]
    cost = fmean(one.cost / number for one in found)
    most = max(0.0, one_sided(above, upper=True))
    return OptimalityGap(cost - most, most / cost if cost else 0.0, len(found))


def _quantile(records: tuple[Record, ...], choice: int, share: Fraction) -> int:
    """Return the most of a choice used in a cycle, but for the cycles that may exceed it."""
    used: dict[int, int] = {}
    for record in records:
        for number, times in record.used.get(choice, {}).items():
            used[number] = used.get(number, 0) + times
    enough, so_far = share * sum(used.values()), 0
    for number, times in sorted(used.items()):
        so_far += times
        if so_far >= enough:
            return number
    return 0
