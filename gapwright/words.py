"""The sentences: an answer as a person at the bench reads it.

First what to do, then each gap with its stack drawn as it stands (first in at the bottom), then
what to take from the shelf, what else there is to know, and the cautions. Figures are rounded
for print only, and never across a limit.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from gapwright.advice import advice
from gapwright.heat import heat_of, heat_words
from gapwright.picture import WIDTH, bars, ruler
from gapwright.sure_words import asked_words, gap_words, job_words, tilt_words, unsure_words
from gapwright.waiting import waiting
from gapwright.why_words import why_words
from solver.answer import Fit, NoFit
from specs.layouts import window_of
from specs.lengths import Length, number, show, show_beside_limits
from specs.readings import settled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.lines import GapLines, Line
    from gapwright.report import Beside, Report
    from specs.lengths import Unit

CAUTION = (
    "Springs are under load and rings fly: guard your eyes, see every ring seated before a press\n"
    "is let off, never air-test a pack whose ring is not seated. The maker's manual, local rules\n"
    "and a qualified technician decide."
)


def tell(report: Report, unit: Unit | None = None) -> str:
    """Tell a whole answer, ready to print."""
    lines = list(_told(report, unit or report.case.length))
    return "\n".join([*lines, "", CAUTION])


def _told(report: Report, unit: Unit) -> Iterator[str]:
    yield f"{report.case.job.name}, {report.case.unit.name}: {_verdict(report)}"
    if isinstance(report.answer, Fit):
        if report.demand:
            yield f"Every gap is {asked_words(report.demand)}, as asked."
        yield from _warnings(report, unit)
        for gap in report.gaps:
            yield ""
            yield from _gap(report, gap, unit)
        yield ""
        yield from _take(report)
        yield from _thin(report)
        if report.sure:
            yield from job_words(report.sure)
        yield from _equal(report, unit)
        yield from _best(report, unit)
        if report.why:
            yield from why_words(report.why, report.answer, unit)
    elif report.unsure and report.demand:
        yield from unsure_words(report.unsure, report.demand, unit)
    elif isinstance(report.answer, NoFit):
        yield from advice(report, report.answer, unit)
    else:
        yield "Nothing was found and nothing was ruled out. Give it more time: --time 300"
    yield from waiting(report)
    yield from _notes(report, unit)


def _verdict(report: Report) -> str:
    answer = report.answer
    if isinstance(answer, NoFit):
        return "NO FIT IS SURE ENOUGH, proved" if report.unsure else "NO FIT, proved"
    if not isinstance(answer, Fit):
        return "UNDECIDED, stopped early"
    if report.leave:
        return "LEAVE IT AS IT IS, " + _proof(answer)
    return "FITS, " + _proof(answer)


def _proof(answer: Fit) -> str:
    if answer.proved:
        return "proved best"
    open_ = len(answer.bounds) - 1
    if 0 <= open_ < len(answer.values):
        level = answer.task.levels[open_]
        found, least = answer.values[open_], answer.bounds[open_]
        return f"not proved best: stopped at `{level.aim}`, found {found}, cannot be below {least}"
    return "not proved best: stopped early"


def _warnings(report: Report, unit: Unit) -> Iterator[str]:
    for beside in report.close:
        yield from _close(report, beside, unit)
    for reseat in report.reseat:
        at = reseat.at
        yield (
            f"READ AGAIN FIRST: at place {at.place} of `{at.reading}` ({show(at.value, unit)}) "
            f"{reseat.gap} would be {show(reseat.would_be, unit)}, outside its window."
        )
        yield "  Reseat piston, plates and ring and read again before any part is changed."
    if report.sure:
        yield from tilt_words(report.sure, unit)


def _close(report: Report, beside: Beside, unit: Unit) -> Iterator[str]:
    gap = next(gap for gap in report.gaps if gap.name == beside.gap)
    margin = gap.margin or Length(0)
    yield (
        f"CLOSE TO THE LIMIT: {gap.name} is {show(margin, unit)} from its limit, nearer than the "
        f"gauge can tell ({show(beside.tells, unit)})."
    )
    if beside.instead is None:
        return
    other = next(gap for gap in beside.instead if gap.name == beside.gap)
    parts = _chosen(other)
    yield f"  With one thin steel more it is {_gap_text(other, unit)}: {parts}."


def _gap(report: Report, gap: GapLines, unit: Unit) -> Iterator[str]:
    head = gap.name + (f" ({gap.layout})" if gap.layout else "")
    what = "height" if gap.on == "height" else ("clearance" if gap.is_pack else "end play")
    yield f"{head}: {what} {_gap_text(gap, unit)}   {_window(gap, unit)}"
    yield from [f"  {drawn}" for drawn in (ruler(gap),) if drawn]
    sides = [
        f"{show(left, unit)} before {word}"
        for left, word in ((gap.tight, "too tight"), (gap.loose, "too loose"))
        if left is not None
    ]
    yield "  left: " + ", ".join(sides)
    if report.sure:
        yield from (f"  {line}" for line in gap_words(report.sure, gap.name, unit))
    yield from (f"  {line}" for line in [heat_words(heat_of(report.case, gap))] if line)
    if settled(report.case, report.case.unit.gaps[gap.name]):
        yield "  Checked only: this stack has no part to choose."
    yield f"  {_end(gap, gap.last_end)}"
    labels = [_named(line) for line in gap.lines]
    widest = max(map(len, labels), default=0)
    for line, label, bar in reversed(list(zip(gap.lines, labels, bars(gap), strict=True))):
        row = f"  {line.number:>3}  {bar:<{WIDTH}}  {label:<{widest}}  {_facts(line, unit)}"
        yield row.rstrip()
    yield f"  {_end(gap, gap.first_end)}, goes in first"
    yield from _how(report, gap)


def _gap_text(gap: GapLines, unit: Unit) -> str:
    return show_beside_limits(gap.gap, gap.low, gap.high, unit)


def _window(gap: GapLines, unit: Unit) -> str:
    if gap.low is None or gap.high is None:
        limit, word = (gap.high, "at most") if gap.low is None else (gap.low, "at least")
        return f"window {word} {show(limit or Length(0), unit)}, aim {number(gap.aim, unit)}"
    return (
        f"window {number(gap.low, unit)} to {number(gap.high, unit)}, aim {number(gap.aim, unit)}"
    )


def _end(gap: GapLines, end: str) -> str:
    return f"-- {end} end --" + (" heat end" if end == gap.heat_end else "")


def _named(line: Line) -> str:
    family = f"{line.family} ({line.also_called})" if line.also_called else line.family
    grade = f" ({line.grade})" if line.grade and line.grade != line.size else ""
    return f"{family} {line.size}{grade}".rstrip()


def _chosen(gap: GapLines) -> str:
    """The chosen parts of a gap in a few words."""
    counts = Counter(_named(line) for line in gap.lines if line.lot)
    return ", ".join(f"{count} x {name}" if count > 1 else name for name, count in counts.items())


def _facts(line: Line, unit: Unit) -> str:
    facts = [show(line.thickness, unit)]
    if line.lot is None:
        facts.append("fixed")
    elif line.lot.own:
        facts.append("stays" if line.stays else "from this unit")
    else:
        facts += [f"bin {line.lot.bin}"] * bool(line.lot.bin)
        facts += [f"lot {line.lot.lot}"] * bool(line.lot.lot)
        facts += ["used"] * (line.lot.condition == "used")
    if line.out_first and not line.stays:
        facts.append(f"out first: {', '.join(line.out_first)}")
    return "  ".join([*facts, *([line.facing] if line.facing else [])])


def _how(report: Report, gap: GapLines) -> Iterator[str]:
    written = report.case.unit.gaps[gap.name]
    window = window_of(
        written, written.arrangements[gap.layout or next(iter(written.arrangements))]
    )
    measure = written.measure
    steps = []
    if measure and measure.between:
        steps.append("between " + " and ".join(measure.between))
    if measure and measure.held:
        steps.append(measure.held)
    if measure and measure.how:
        steps.append(measure.how)
    steps += [f"{key} {value}" for key, value in window.state.items()]
    if steps:
        yield "  check: " + "; ".join(steps)
    if gap.out_first:
        yield "  to reach its parts, out first: " + ", ".join(gap.out_first)
    if written.note:
        yield f"  note: {written.note}"


def _take(report: Report) -> Iterator[str]:
    """What to fetch, each lot once, in the order of bins."""
    fetch: Counter[tuple[str, str]] = Counter()
    seen: set[str] = set()
    for gap in report.gaps:
        for line in gap.lines:
            if line.lot is None or line.label in seen:
                continue
            if line.label in report.case.unit.shared_parts:
                seen.add(line.label)
            place = (
                "this unit" if line.lot.own else f"bin {line.lot.bin}" if line.lot.bin else "shelf"
            )
            fetch[place, _named(line)] += 1
    if fetch:
        yield "take"
        widest = max(len(place) for place, _ in fetch)
        for (place, name), count in sorted(fetch.items()):
            yield f"  {place:<{widest}}  {count} x {name}"


def _thin(report: Report) -> Iterator[str]:
    steels = sum(gap.steels for gap in report.gaps)
    thin = sum(gap.thin for gap in report.gaps)
    if not steels:
        return
    if not thin:
        yield f"thin steels: none of {steels}"
    elif report.fewest_thin is None:
        yield f"thin steels: {thin} of {steels}"
    elif report.fewest_thin == thin:
        yield f"thin steels: {thin} of {steels}; no fewer is possible"
    else:
        yield f"thin steels: {thin} of {steels}; {report.fewest_thin} where nothing else counts"


def _equal(report: Report, unit: Unit) -> Iterator[str]:
    for gap, others in zip(report.gaps, report.equal, strict=True):
        if others is None:
            yield f"{gap.name}: too many ways to look for others as good"
            continue
        for other in others[:5]:
            yield f"as good for {gap.name}: {_chosen(other)} ({_gap_text(other, unit)})"
        if others[5:]:
            yield f"and {len(others) - 5} more for {gap.name}"


def _best(report: Report, unit: Unit) -> Iterator[str]:
    """The best builds asked for, each by what differs from the answer."""
    if not report.best:
        return
    yield "the best builds"
    yield "    1  as above"
    for nth, ranked in enumerate(report.best[1:], 2):
        behind = f"yields on `{ranked.yields}`" if ranked.yields else "as good on every aim"
        yield f"  {nth:>3}  {behind}" + ("" if ranked.proved else ", not proved the next best")
        for gap, answer in zip(ranked.gaps, report.gaps, strict=True):
            if _chosen(gap) != _chosen(answer) or gap.layout != answer.layout:
                head = gap.name + (f" ({gap.layout})" if gap.layout else "")
                yield f"       {head}: {_chosen(gap)} -> {_gap_text(gap, unit)}"
    if report.best[-1].proved and len(report.best) == 1:
        yield "       there is no other"


def _notes(report: Report, unit: Unit) -> Iterator[str]:
    for name, space in report.spaces.items():
        for words, added in space.allowed:
            yield f"{name}: read with {words}; {show(added, unit)} was added as the unit file says"
    for name, reading, asked, given in report.fewer_places:
        yield f"{name}: `{reading}` is asked for at {asked} places, and given at {given}"
    for name, barred in report.barred.items():
        for why in barred:
            yield f"{name}: layout not allowed here: {why}"
