"""What `stock shelf` is asked on the command line, and its answer told or dumped."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from gapwright.output.money import WHOLE, exact_money, money
from gapwright.output.text_table import table
from gapwright.stock.kit.text import share_of
from gapwright.stock.past_drums import past_of
from gapwright.stock.shelf.answer import Period, ShelfReport
from gapwright.stock.shelf.on_hand import on_hand
from gapwright.stock.shelf.service import shelf_case
from gapwright.stock.text import (
    interval,
    past_shape,
    percent,
    told_aside,
    told_past,
    within,
)
from gapwright.workers.executor import crew_of
from specs.errors import InputError, Problem, quoted
from specs.files.read import read_unit_alone

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from gapwright.stock.shelf.options import AskedShelf
    from solver.engines.limits import Limits

SHAPE = "gapwright stock shelf 1"
MOST_JOBS = 1_000


def shelf_files(unit: Path, asked: AskedShelf, limits: Limits) -> tuple[ShelfReport, OnHand]:
    """Read what is asked and choose the shelf. Raises InputError with what is wrong with it."""
    period = _period(asked)
    case = read_unit_alone(unit)
    past = past_of(case, asked["history"], asked["seed"], unit, asked["shelf"])
    there = on_hand(unit, asked["shelf"])
    with crew_of(asked["workers"], asked["cluster"]) as crew:
        report = shelf_case(case, past.history, period, crew, limits)
    return replace(report, drawn=past.drawn, independent=past.independent), there


OnHand = dict[tuple[str, str], int] | None
"""How many of each size are free on a shelf; None where no shelf was named."""


def _period(asked: AskedShelf) -> Period:
    given = [name for name in ("share", "all_weeks", "wait_cost") if asked[name] is not None]
    if len(given) > 1:
        names = " and ".join("--" + name.replace("_", "-") for name in given)
        raise InputError(Problem(f"{names} are asked for together; give one of them"))
    jobs = _number("--jobs", asked["jobs"], "jobs a week, such as 12 or 7.5")
    if not 0 < jobs <= MOST_JOBS:
        raise InputError(
            Problem(f"--jobs: {quoted(asked['jobs'])}; write jobs a week, 1000 at most")
        )
    wait, weeks = asked["wait_cost"], asked["all_weeks"]
    keep = _number("--keep-cost", asked["keep_cost"], "percent of the price a week, such as 1")
    cost = None if wait is None else _number("--wait-cost", wait, "an amount of money, such as 60")
    return Period(
        jobs, asked["lead_time"],
        share_of(weeks, "--all-weeks") if weeks else share_of(asked["share"] or "95"),
        weeks is not None, None if cost is None else round(cost * WHOLE), keep / 100,
        asked["scenarios"], asked["weeks"], asked["seed"],
    )  # fmt: skip


def _number(option: str, text: str, wanted: str) -> Fraction:
    if not re.fullmatch(r" *[0-9]{1,7}(\.[0-9]{1,4})? *", text):
        raise InputError(Problem(f"{option}: {quoted(text)}; write {wanted}"))
    return Fraction(text.strip())


def exit_code(report: ShelfReport) -> int:
    """0 where the promise is kept, 3 where no shelf can, 4 where time ran out before."""
    if report.shelf is None:
        return 3 if report.hopeless else 4
    return 0 if report.kept else 4


def tell_or_dump(report: ShelfReport, there: OnHand, *, as_json: bool) -> str:
    """The answer in words, or as JSON."""
    if as_json:
        return json.dumps(_shape(report, there), indent=1, ensure_ascii=False, allow_nan=False)
    return "\n".join(_told(report, there))


def _told(report: ShelfReport, there: OnHand) -> Iterator[str]:
    period, shelf = report.period, report.shelf
    if shelf is None or report.promise is None:
        if report.hopeless:
            share = percent(report.able / report.drums)
            yield f"NO SHELF of the unit's sizes serves so many; at most {share} of drums can be"
        else:
            yield "UNDECIDED: no shelf was found in time; give it more: --time 600"
        return
    cost = money(report.cost) if report.priced else f"{sum(shelf.levels)} parts"
    yield f"SHELF for {', '.join(report.gaps)}: {cost} when full"
    weeks = "1 week" if period.lead == 1 else f"{period.lead} weeks"
    yield f"  {_jobs(period)} jobs a week, an order takes {weeks} from the week's end"
    yield from _promised(report)
    yield from told_past(report)
    yield from told_aside(report)
    head = ("size", "hold", "order at", *(("on hand", "order now") if there is not None else ()))
    yield from (f"    {line}" for line in table([head, *_sizes(report, there)]))


def _promised(report: ShelfReport) -> Iterator[str]:
    period, promise = report.period, report.promise
    assert promise is not None  # noqa: S101 - asked before
    what = (
        "of weeks in which no job waits" if period.whole_weeks else "of jobs on the day they come"
    )
    weeks = sum(record.weeks for record in report.records)
    yield f"  builds {percent(promise.figure)} {what}, {within(promise)},"
    yield f"    in {weeks:,} simulated weeks that had no part in the choice"
    if period.wait_cost is not None:
        yield f"  waiting and keeping cost {_weekly(report)} a week"
    elif not report.kept:
        yield f"  SHORT of the {percent(float(period.share))} asked for; give it more: --time 600"
    if report.raised:
        yield f"  raised {report.raised} times, for the first choice fell short in the simulation"
    if report.in_view is not None:
        view = f"{percent(report.in_view)} of jobs in the {period.scenarios} scenarios"
        yield f"  the first choice, with all jobs in view, built {view}: a bound, no promise"
    if report.gap:
        far = f"no more than {percent(report.gap.gap)} above the least cost there is"
        yield f"  {far}, with 95 % confidence"
    else:
        yield "  how far it is above the least cost there is was not found out"


def _sizes(report: ShelfReport, there: OnHand) -> Iterator[tuple[str, ...]]:
    for row in rows(report, there):
        more = (str(row["on hand"]), str(row["order"])) if there is not None else ()
        point = "-" if row["order at"] is None else str(row["order at"])
        yield f"{row['family']} {row['size']}", str(row["hold"]), point, *more


def rows(report: ShelfReport, there: OnHand) -> Iterator[dict[str, Any]]:
    """Each size the unit is made in: what to hold, when to order, and what to order now."""
    shelf = report.shelf
    for choice, offer in sorted(report.offers.items()) if shelf else ():
        part, hold = report.choices[choice], shelf.levels[choice] if shelf else 0
        held = None if there is None else there.get((part.family, part.size), 0)
        lacking = max(0, hold - (held or 0))
        yield {
            "family": part.family,
            "size": part.size,
            "hold": hold,
            "order at": shelf.reorder[choice] if shelf and hold else None,
            "on hand": held,
            "order": None if held is None else -(-lacking // offer.sold_in) * offer.sold_in,
        }


def _jobs(period: Period) -> str:
    return f"{float(period.jobs):g}"


def _weekly(report: ShelfReport) -> str:
    """What waiting and keeping cost a week in the simulation."""
    period, weeks = report.period, sum(record.weeks for record in report.records)
    cost = Fraction(sum(record.owed for record in report.records) * (period.wait_cost or 0))
    for record in report.records:
        for choice, number in record.kept.items():
            if choice in report.offers:
                cost += number * report.offers[choice].price * period.keep_cost
    return money(round(cost / weeks))


def _shape(report: ShelfReport, there: OnHand) -> dict[str, Any]:
    period = report.period
    found = report.shelf is not None
    return {
        "shape": SHAPE,
        **past_shape(report),
        "can be served": report.able,
        "jobs a week": _jobs(period),
        "lead time": period.lead,
        "asked": str(period.share) if period.wait_cost is None else None,
        "of": "weeks" if period.whole_weeks else "jobs",
        "wait cost": None if period.wait_cost is None else exact_money(period.wait_cost),
        "seed": period.seed,
        "answer": "shelf" if found else ("no shelf" if report.hopeless else "undecided"),
        "kept": report.kept,
        "cost": exact_money(report.cost) if found else None,
        "promise": interval(report.promise) if report.promise else None,
        "weeks": sum(record.weeks for record in report.records),
        "in view": None if report.in_view is None else round(report.in_view, 6),
        "raised": report.raised,
        "gap": round(report.gap.gap, 6) if report.gap else None,
        "a week": _weekly(report) if found and period.wait_cost is not None else None,
        "sizes": [*rows(report, there)],
    }
