"""The sentences that a kit and a shelf for a period have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.record.former_units_text import uncounted_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.stock.kit.service import KitReport
    from gapwright.stock.shelf.answer import ShelfReport
    from specs.uncertainty.confidence import Interval


def past_drums_lines(report: KitReport | ShelfReport) -> Iterator[str]:
    """Say where the drums come from, where that is no history of whole drums."""
    if report.drawn:
        text = "drawn from what the unit file gives, no drums measured"
        yield f"  spaces of {', '.join(report.drawn)} {text}"
    if report.independent:
        yield "  spaces put together as if none hung on another: `independent` in the unit file"
    yield from (f"  {line}" for line in uncounted_words(report.uncounted))


def left_aside_lines(report: KitReport | ShelfReport) -> Iterator[str]:
    """Name the gaps of the unit that nothing is chosen for."""
    if report.aside:
        yield f"  left aside, without a column: {', '.join(report.aside)}"


def percent(share: float) -> str:
    """Write a share from 0 to 1 in percent."""
    return f"{100 * share:.1f} %"


def within(one: Interval) -> str:
    """Write the ends of an interval of shares."""
    return f"{percent(one.low)} to {percent(one.high)} with 95 % confidence"
