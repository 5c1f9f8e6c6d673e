"""The options of `stock shelf` read from text, its exit code, and the sentences of its answer."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.output.money import WHOLE, money
from gapwright.output.text_table import table
from gapwright.stock.kit.text import share_of
from gapwright.stock.shelf.answer import Period, ShelfReport
from gapwright.stock.text import (
    left_aside_lines,
    past_drums_lines,
    percent,
    within,
)
from specs.errors import InputError, Problem, quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.stock.shelf.options import StockShelfOptions
    from specs.values.lengths import LengthUnit

MOST_JOBS = 1_000


def period_of(options: StockShelfOptions) -> Period:
    """Read the options of a period. Raises InputError with what to write instead."""
    given = [name for name in ("share", "all_weeks", "wait_cost") if options[name] is not None]
    if len(given) > 1:
        names = " and ".join("--" + name.replace("_", "-") for name in given)
        raise InputError(Problem(f"{names} are asked for together; give one of them"))
    jobs = _number("--jobs", options["jobs"], "jobs a week, such as 12 or 7.5")
    if not 0 < jobs <= MOST_JOBS:
        raise InputError(
            Problem(f"--jobs: {quoted(options['jobs'])}; write jobs a week, 1000 at most")
        )
    wait, weeks = options["wait_cost"], options["all_weeks"]
    keep = _number("--keep-cost", options["keep_cost"], "percent of the price a week, such as 1")
    cost = None if wait is None else _number("--wait-cost", wait, "an amount of money, such as 60")
    return Period(
        jobs, options["lead_time"],
        share_of(weeks, "--all-weeks") if weeks else share_of(options["share"] or "95"),
        weeks is not None, None if cost is None else round(cost * WHOLE), keep / 100,
        options["scenarios"], options["weeks"], options["seed"],
    )  # fmt: skip


def _number(option: str, text: str, wanted: str) -> Fraction:
    if not re.fullmatch(r" *[0-9]{1,7}(\.[0-9]{1,4})? *", text):
        raise InputError(Problem(f"{option}: {quoted(text)}; write {wanted}"))
    return Fraction(text.strip())


def exit_code(report: ShelfReport) -> int:
    """Return the exit code: 0 for a promise kept, 3 where no shelf can, 4 where time ran out."""
    if report.shelf is None:
        return 3 if report.hopeless else 4
    return 0 if report.kept else 4


def shelf_text(report: ShelfReport, _unit: LengthUnit) -> Iterator[str]:
    """Write a shelf for a period line by line; it holds no length, so the unit does not matter."""
    period, shelf = report.period, report.shelf
    if shelf is None or report.promise is None:
        if report.hopeless:
            share = percent(report.able / report.drums)
            most = f"at most {share} of drums can be served clear of their limits"
            close = _close(report.able_only_to_limit / report.drums)
            yield f"NO SHELF of the unit's sizes serves so many; {most}{close}"
        else:
            yield "UNDECIDED: no shelf was found in time; give it more: --time 600"
        yield from past_drums_lines(report)
        return
    cost = money(report.cost) if report.priced else f"{sum(shelf.levels)} parts"
    yield f"SHELF for {', '.join(report.gaps)}: {cost} when full"
    weeks = "1 week" if period.lead == 1 else f"{period.lead} weeks"
    yield f"  {_jobs(period)} jobs a week, an order takes {weeks} from the week's end"
    yield from _promised(report)
    yield from past_drums_lines(report)
    yield from left_aside_lines(report)
    there = ("on hand", "order now") if report.on_hand is not None else ()
    head = ("size", "hold", "order at", *there)
    yield from (f"    {line}" for line in table([head, *_sizes(report)]))


def _promised(report: ShelfReport) -> Iterator[str]:
    period, promise = report.period, report.promise
    assert promise is not None  # noqa: S101 - asked before
    what = (
        "of weeks in which no job waits and all are clear of their limits"
        if period.whole_weeks
        else "of jobs on the day they come clear of their limits"
    )
    yield f"  builds {percent(promise.figure)} {what},"
    yield f"    {within(promise)}{_close(report.only_to_limit)},"
    yield f"    in {report.weeks:,} simulated weeks that had no part in the choice"
    if period.wait_cost is not None:
        yield f"  waiting and keeping cost {money(report.weekly)} a week"
    elif not report.kept:
        yield f"  SHORT of the {percent(float(period.share))} asked for; {_more(report)}"
    if report.raised:
        yield f"  raised {report.raised} times, for the first choice fell short in the simulation"
    if report.in_view is not None:
        view = f"{percent(report.in_view)} of jobs in the {period.scenarios} scenarios"
        yield f"  the first choice, with all jobs in view, built {view}: a bound, no promise"
        if report.able_only_to_limit and period.wait_cost is None:
            yield "    (up to a limit only where no sizes keep clear of it)"
    if report.gap:
        far = f"no more than {percent(report.gap.gap)} above the least cost there is"
        yield f"  {far}, with 95 % confidence"
    else:
        yield "  how far it is above the least cost there is was not found out"


def _close(share: float) -> str:
    """Say how much more is served, but only up to the limit; nothing where none is."""
    return f"; {percent(share)} more only up to the limit" * bool(share)


def _more(report: ShelfReport) -> str:
    """Say what could help a shelf that falls short."""
    if report.only_to_limit and "safe" not in report.case.aims:
        return "the unit's aims leave out `safe`, so `fit` builds up to a limit where it need not"
    return "give it more: --time 600"


def _sizes(report: ShelfReport) -> Iterator[tuple[str, ...]]:
    for one in report.sizes:
        more = () if report.on_hand is None else (str(one.on_hand), str(one.order))
        point = "-" if one.order_at is None else str(one.order_at)
        yield f"{one.family} {one.size}", str(one.hold), point, *more


def _jobs(period: Period) -> str:
    return f"{float(period.jobs):g}"
