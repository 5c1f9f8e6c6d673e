"""The sentences of a history of checks, and the same as JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.output.exact_json import length
from gapwright.shelf.text import so_many
from specs.values.lengths import ZERO, number, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.check.history import CheckHistory, Residual, Seen, Span
    from specs.values.lengths import Unit

SHAPE = "gapwright check history 1"
REMARK = (
    "Limits hold in 95 of 100. What a gauge is off by both before and after assembly cancels and\n"
    "is not seen here; a hand that always takes the same gauge is not told from it. Lay a gauge\n"
    "that looks off beside a standard before its figures are changed."
)


def tell_history(history: CheckHistory, unit: Unit | None = None) -> str:
    """Tell what a history shows, ready to print."""
    return "\n".join(_told(history, unit or history.cases[0].length))


def _told(history: CheckHistory, unit: Unit) -> Iterator[str]:
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


def seen_words(seen: Seen, unit: Unit) -> Iterator[str]:
    """Tell bias and spread of one gauge or hand."""
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


def _between(span: Span, unit: Unit) -> str:
    return f"{number(span.low, unit)} to {show(span.high, unit)}"


def _far(one: Residual, unit: Unit) -> str:
    side = "more" if one.more > ZERO else "less"
    return f"{one.job}, {one.gap}: {show(abs(one.more), unit)} {side} than promised"


def dump_history(history: CheckHistory, unit: Unit | None = None) -> str:
    """Write a history out as JSON text."""
    unit = unit or history.cases[0].length
    told = {
        "shape": SHAPE,
        "jobs": [case.job.name for case in history.cases],
        "seen": [_seen_shape(seen, unit) for seen in history.seen],
        "left aside": [_residual_shape(one, unit) for one in history.aside],
        "nothing measured": [*history.nothing_measured],
    }
    return json.dumps(told, indent=1, ensure_ascii=False)


def _seen_shape(seen: Seen, unit: Unit) -> dict[str, Any]:
    return {
        "kind": seen.kind,
        "name": seen.name,
        "bias": _span_shape(seen.bias, unit),
        "spread": _span_shape(seen.spread, unit),
        "stated u": length(seen.stated, unit),
        "off": seen.is_off,
        "wider": seen.wider,
        "gaps": [_residual_shape(one, unit) for one in seen.residuals],
    }


def _span_shape(span: Span | None, unit: Unit) -> dict[str, Any] | None:
    if span is None:
        return None
    return {
        "figure": length(span.figure, unit),
        "at least": length(span.low, unit),
        "at most": length(span.high, unit),
    }


def _residual_shape(one: Residual, unit: Unit) -> dict[str, Any]:
    return {
        "job": one.job,
        "gap": one.gap,
        "gauge": one.gauge,
        "hand": one.hand,
        "more": length(one.more, unit),
        "u": length(one.u, unit),
    }
