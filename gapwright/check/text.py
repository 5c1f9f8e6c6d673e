"""The sentences of a check: each gap as measured and as promised, the mistakes, the change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.check.answer import swaps
from gapwright.fit.gap_text import (
    gap_text,
    measured_name,
    nothing_words,
    reseat_words,
    sides_of,
)
from gapwright.fit.no_fit_text import advice
from gapwright.fit.part_remarks import remark_words
from gapwright.fit.text import CAUTION
from gapwright.record.former_units_text import uncounted_words
from gapwright.shelf.text import so_many
from solver.problem.solution import Fit, NoFit
from specs.values.lengths import ZERO, number, show, show_beside_limits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.check.answer import Check
    from gapwright.check.history import CheckHistory, GaugeOrHand, LengthLimits, Residual
    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from gapwright.fit.report import Report
    from specs.gaps.built import Built
    from specs.values.lengths import LengthUnit


MOST_CAUSES = 8
PROMISED, MADE = "promised", "worked out"
"""What a gap is held against: a promise that was kept, or what its parts make it."""


def check_text(check: Check, unit: LengthUnit) -> Iterator[str]:
    """Write a whole check line by line, with the caution at its end."""
    yield from check_lines(check, unit)
    yield from ("", CAUTION)


def check_lines(check: Check, unit: LengthUnit) -> Iterator[str]:
    """Write a check line by line, its verdict first."""
    yield f"{check.case.job.name}, {check.case.unit.name}: {verdict(check)}"
    yield from _promise(check, unit)
    yield from (remark_words(remark, unit) for remark in check.remarks)
    for gap in check.gaps:
        promised = check.promise and gap.gap in check.promise.gaps and not gap.other_parts
        yield ""
        yield from _gap(gap, unit, PROMISED if promised else MADE)
    if not check.unread and not all(gap.explained for gap in check.gaps):
        yield ""
        yield from _causes(check)
    if check.change:
        yield ""
        yield from _change(check.change, unit)


def verdict(check: Check) -> str:
    """Say in a few words whether every gap is even, in its window and as promised.

    Without a promise it says so, and where the parts are known from that it is held against.
    """
    if check.promise:
        return _verdict(check, PROMISED)
    parts = "its parts are chosen anew" if check.chosen_anew else "its parts are as listed"
    return f"{_verdict(check, MADE)}; no promise was kept, {parts}"


def _verdict(check: Check, word: str) -> str:
    if check.unread:
        return f"NO READING after assembly: not as {word}"
    if not check.lands:
        return "OUT OF ITS WINDOW" + " AND NOT EVEN" * (not check.even) + " after assembly"
    if check.inside and check.even:
        return f"AS {word.upper()}" if check.agrees else f"IN ITS WINDOW, but not as {word}"
    faults = ["NOT EVEN"] * (not check.even) + ["A PLACE OUT OF ITS WINDOW"] * (not check.inside)
    return f"{', '.join(faults)}: not as {word}"


def _promise(check: Check, unit: LengthUnit) -> Iterator[str]:
    """Say when it was promised, what was changed since, and where other parts went in."""
    if not check.promise:
        return
    since = "; unit or job were changed since" if check.changed_since else ""
    yield f"promised on {check.promise.on} ({check.promise.answer}){since}"
    for other in check.other_parts:
        was = show(other.promised, unit)
        if not other.out and not other.instead:
            yield f"{other.gap}: the parts promised ({was}), in another order"
            continue
        yield f"{other.gap}: not the parts promised ({was})"
        for what, parts in (("promised", other.out), ("went in ", other.instead)):
            yield from (f"  {what}  {some} x {' '.join(size)}" for size, some in parts.items())
    if check.not_measured:
        yield f"not measured yet: {', '.join(check.not_measured)}"


def _gap(gap: Built, unit: LengthUnit, word: str) -> Iterator[str]:
    found = show_beside_limits(gap.found, gap.low, gap.high, unit)
    promised = show_beside_limits(gap.promised, gap.low, gap.high, unit)
    limits = " to ".join(number(end, unit) for end in (gap.low, gap.high) if end is not None)
    on, pack = gap.layout.window.on, gap.layout.of_pack
    what = f"{name} " if (name := measured_name(on, gap.found, pack=pack)) == "preload" else ""
    if gap.nothing_at:
        nothing = nothing_words("it", gap.nothing_at, len(gap.places))
        yield f"{gap.gap}: no reading, {word} {promised}   window {limits}"
        yield f"  {nothing}: the true gap may be anything below; no change is worked out"
        yield "  take it apart, count its parts, see each seated, and make a looser trial build"
        return
    yield f"{gap.gap}: measured {what}{found}, {word} {promised}   window {limits}"
    if gap.found != gap.read:
        added = show(gap.found - gap.read, unit)
        yield f"  read as {show(gap.read, unit)}; {added} was added as the unit file says"
    tells = f"the doubt of both sides explains {show(gap.doubt, unit)}"
    if gap.explained:
        average = "" if gap.even and gap.inside else "its average is "
        yield f"  {average}as {word}: {tells} (u {show(gap.u, unit)})"
    else:
        side = "more" if gap.more > ZERO else "less"
        yield f"  {show(abs(gap.more), unit)} {side} than {word}: {tells} (u {show(gap.u, unit)})"
    if not gap.lands:
        low = gap.low is not None and gap.found < gap.low
        by = (gap.low or ZERO) - gap.found if low else gap.found - (gap.high or ZERO)
        yield f"  too {sides_of(on)[not low]} by {show(by, unit)}"
    yield from _worst_place(gap, unit)


def _worst_place(gap: Built, unit: LengthUnit) -> Iterator[str]:
    """Say what its places tell that their average hides."""
    outside = gap.outside if gap.lands else ()
    for at in outside:
        yield f"  one place reads {show(at, unit)}, outside the window"
    if not gap.even:
        most = show(gap.even_within, unit)
        yield f"  not even: its places lie {show(gap.apart, unit)} apart, more than {most}"
    if outside or not gap.even:
        words = reseat_words(pack=gap.layout.of_pack)
        yield f"  {words} and read again before any part is changed"


def _causes(check: Check) -> Iterator[str]:
    if not check.causes:
        yield "No single mistake explains it. Read again before anything comes out."
        return
    yield "one mistake that would explain it, each to be looked at before anything comes out"
    for cause in check.causes[:MOST_CAUSES]:
        yield f"  - {cause.words}"
    if check.causes[MOST_CAUSES:]:
        yield f"  and {len(check.causes) - MOST_CAUSES} more"


def _change(report: Report, unit: LengthUnit) -> Iterator[str]:
    answer = report.answer
    if isinstance(answer, NoFit):
        yield "If all is in as listed:"
        yield from advice(report, answer, unit)
        return
    if not isinstance(answer, Fit):
        yield "Ran out of time before a change was found: --time 300"
        return
    proof = "proved" if answer.proved else "not proved the least"
    yield f"if all is in as listed, the least change that lands every gap, {proof}"
    for gap in report.gaps:
        lines = [*changed(report, gap)]
        if lines:
            yield f"  {gap.name}: then {gap_text(gap, unit)}"
            yield from (f"    {line}" for line in lines)


def changed(report: Report, gap: GapAssembly) -> Iterator[str]:
    """Say which parts come out of a gap, which go in, and what must come out first."""
    out, in_ = swaps(report, gap)
    first = dict.fromkeys(part for line in in_ for part in line.out_first)
    if out or in_:
        yield from [f"first out  {', '.join(first)}"] if first else ()
        yield from (f"out  {number_} x {name}" for name, number_ in out.items())
        yield from (f"in   {_with_bin(line)}" for line in in_)


def _with_bin(line: AssemblyStep) -> str:
    place = f" (bin {line.lot.bin})" if line.lot and line.lot.bin else ""
    return f"1 x {line.family} {line.size}{place}"


REMARK = (
    "Limits hold in 95 of 100. What a gauge is off by both before and after assembly cancels and\n"
    "is not seen here; what the one before is off by shows under the one after. A hand that\n"
    "always takes the same gauge is not told from it. Lay the gauges of both sides beside a\n"
    "standard before any figure is changed."
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
    if history.no_reading:
        names = ", ".join(f"{one.job} {one.gap}" for one in history.no_reading)
        yield ""
        yield f"no reading after assembly, not counted: {names}"
    if history.nothing_measured:
        yield ""
        yield f"nothing measured after assembly: {', '.join(history.nothing_measured)}"
    if history.uncounted:
        yield ""
        yield from uncounted_words(history.uncounted)
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
