"""The options of `stock kit` read from text, its exit code, and the sentences of its answer."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.output.money import WHOLE, money
from gapwright.output.text_table import table
from gapwright.stock.kit.service import HeldOut, KitReport
from gapwright.stock.text import (
    left_aside_lines,
    past_drums_lines,
    percent,
    within,
)
from specs.errors import InputError, Problem, quoted
from specs.uncertainty.confidence import counted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.stock.kit import ChosenKit
    from specs.values.lengths import LengthUnit


def share_of(text: str, option: str = "--share") -> Fraction:
    """Read a share written in percent; `option` names the option in messages.

    Raises InputError with what to write instead.
    """
    found = re.fullmatch(r" *([0-9]{1,3}(?:\.[0-9]{1,6})?) *%? *", text)
    if not found or not 0 < Fraction(found[1]) <= 100:  # noqa: PLR2004 - percent
        sentence = f"{quoted(text)}; write percent, such as 95 or 99.5"
        raise InputError(Problem(sentence, field=option))
    return Fraction(found[1]) / 100


def exit_code(report: KitReport) -> int:
    """Return the exit code: 0 for a proved kit, 3 where there is none, 4 where time ran out."""
    if report.hopeless:
        return 3
    return 0 if report.kit and report.kit.proved else 4


def kit_text(report: KitReport, _unit: LengthUnit) -> Iterator[str]:
    """Write a kit line by line; it holds no length, so the unit does not matter."""
    yield from kit_lines(report)


def kit_lines(report: KitReport) -> Iterator[str]:
    """Write a kit line by line, its cost and the drums it serves first."""
    kit = report.kit
    goal = f"{report.wanted} of {report.drums} drums"
    if report.hopeless:
        most = f"at most {report.able} can be served clear of their limits"
        close = _close(report.able_only_to_limit)
        yield f"NO KIT of the unit's sizes serves {goal}; {most}{close}"
    elif kit is None:
        yield f"UNDECIDED: no kit that serves {goal} was found in time; give it more: --time 300"
    else:
        proof = "proved cheapest" if kit.proved else f"none is below {_cost(report, kit.at_least)}"
        yield f"KIT for {', '.join(report.gaps)}: {_cost(report, kit.cost)}, {proof}"
        drums = f"serves {kit.served} of {report.drums} drums clear of their limits"
        served = f"{drums}, {report.wanted} were asked for"
        yield f"  {served}{_close(report.only_to_limit(kit))}"
    yield from past_drums_lines(report)
    if report.held_out:
        yield f"  {_held_out(report.held_out)}"
    yield from left_aside_lines(report)
    if kit is None:
        return
    sizes = table([("size", "in it", "a pack more", "a pack less"), *_sizes(report, kit)])
    yield from (f"    {line}" for line in sizes)
    yield "  cost against drums served:"
    yield from (f"    {line}" for line in table([*_frontier(report)]))


def _frontier(report: KitReport) -> Iterator[tuple[str, ...]]:
    """Yield rows of what kits cost and serve.

    What is served only up to the limit is told where there is any, and the lower bounds where not
    all are proved.
    """
    rows = [("cost", "drums", "share", "only up to the limit", "costs at least")]
    for kit in report.frontier:
        least = "proved" if kit.proved else _cost(report, kit.at_least)
        close = f"{report.only_to_limit(kit)} more"
        rows.append((_cost(report, kit.cost), str(kit.served), _percent(report, kit), close, least))
    limit = any(report.only_to_limit(kit) for kit in report.frontier)
    bounds = not all(kit.proved for kit in report.frontier)
    yield from (row[:3] + row[3:4] * limit + row[4:] * bounds for row in rows)


def _close(number: int) -> str:
    """Say how many drums more are served, but only up to the limit; nothing where none are."""
    return f"; {number} more only up to the limit" * bool(number)


def _held_out(tried: HeldOut) -> str:
    """Say how many drums the kit serves that had no part in its choice."""
    share = counted(tried.served, tried.drums)
    kit_lines = f"of {tried.drums} drums held out from the choice it serves {tried.served}"
    close = _close(tried.only_to_limit)
    return f"{kit_lines}: {percent(share.figure)}, {within(share)}{close}"


def _sizes(report: KitReport, kit: ChosenKit) -> Iterator[tuple[str, ...]]:
    for worth in report.worths:
        part = report.choices[worth.choice]
        held = kit.contents.get(worth.choice, 0)
        less = f"-{worth.less} drums" if held else ""
        yield f"{part.family} {part.size}", str(held), f"+{worth.more} drums", less


def _cost(report: KitReport, cost: int) -> str:
    return money(cost) if report.priced else f"{cost // WHOLE} parts"


def _percent(report: KitReport, kit: ChosenKit) -> str:
    return f"{Decimal(100 * kit.served) / report.drums:.1f} %"
