"""The sentences of a history of checks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.shelf.text import so_many
from specs.values.lengths import ZERO, number, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.check.history import CheckHistory, GaugeOrHand, LengthLimits, Residual
    from specs.values.lengths import LengthUnit

REMARK = (
    "Limits hold in 95 of 100. What a gauge is off by both before and after assembly cancels and\n"
    "is not seen here; a hand that always takes the same gauge is not told from it. Lay a gauge\n"
    "that looks off beside a standard before its figures are changed."
)


def history_text(history: CheckHistory, unit: LengthUnit) -> Iterator[str]:
    """Write a history line by line."""
    count = sum(len(seen.residuals) for seen in history.seen if seen.kind == "gauge")
    gaps, jobs = so_many(count, "gap"), so_many(len(history.cases), "job")
    yield f"{gaps} of {jobs}, measured after assembly beside the promise"
    for seen in history.seen:
        yield ""
        yield f"{seen.kind} {seen.name}: {so_many(len(seen.residuals), 'gap')}"
        yield from (f"  {line}" for line in seen_words(seen, unit))
    if history.aside:
        yield ""
        yield "left aside: too far from the others for any gauge or hand, look for a mistake"
        yield from (f"  {_far(one, unit)}" for one in history.aside)
    if history.nothing_measured:
        yield ""
        yield f"nothing measured after assembly: {', '.join(history.nothing_measured)}"
    yield ""
    yield REMARK


def seen_words(seen: GaugeOrHand, unit: LengthUnit) -> Iterator[str]:
    """Say the bias and the spread of one gauge or hand."""
    if seen.bias is None or seen.spread is None:
        (one,) = seen.residuals
        yield f"{one.job}, {one.gap}: one gap alone tells of no bias and no spread"
        return
    figure = seen.bias.figure
    if seen.is_off:
        side = "more" if figure > ZERO else "less"
        limits = _between(seen.bias, unit)
        yield f"OFF: measures {show(abs(figure), unit)} {side} than promised on average ({limits})"
    else:
        yield f"no bias seen: {show(figure, unit)} on average ({_between(seen.bias, unit)})"
    spread = f"spreads by {show(seen.spread.figure, unit)} ({_between(seen.spread, unit)})"
    stated = show(seen.stated, unit)
    if seen.wider:
        yield f"WIDER: {spread}, more than the u {stated} that the files give it"
    elif seen.narrower:
        yield f"{spread}, less than the u {stated} that the files give it"
    else:
        yield f"{spread}, as the u {stated} that the files give it"


def _between(span: LengthLimits, unit: LengthUnit) -> str:
    return f"{number(span.low, unit)} to {show(span.high, unit)}"


def _far(one: Residual, unit: LengthUnit) -> str:
    side = "more" if one.more > ZERO else "less"
    return f"{one.job}, {one.gap}: {show(abs(one.more), unit)} {side} than promised"
