"""The answer of `fit` as text for a person at the bench.

First comes what to do, then each gap with its stack as it stands (the part that goes in first at
the bottom), then what to take from the shelf, further findings, and the cautions. Figures are
rounded only here, and never across a limit.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from gapwright.fit.assembly import fetched
from gapwright.fit.conformance_text import (
    again_name,
    job_words,
    percent,
    sure_words,
    tilt_words,
    unsure_words,
)
from gapwright.fit.decision_rule import percent_text
from gapwright.fit.explanation_text import why_words
from gapwright.fit.gap_text import (
    check_steps,
    checked_only,
    chosen_words,
    gap_name,
    gap_text,
    gap_words,
    left_words,
    mind_words,
    notes_of,
    part_name,
    place_of,
    reseat_words,
    sides_of,
    source_words,
    waiting,
    window_words,
)
from gapwright.fit.heat import heat_of
from gapwright.fit.heat_text import heat_cost_words, heat_remark, heat_words
from gapwright.fit.no_fit_text import advice
from gapwright.fit.part_remarks import remark_words
from gapwright.fit.report import ClosedJob, Unread
from gapwright.fit.thin_text import thin_words
from gapwright.record.former_units_text import doubt_words, heard_words
from gapwright.record.text import promise_words
from gapwright.shelf.text import reserved, set_aside
from solver.problem.solution import Fit, NoFit
from specs.values.lengths import Length, show, show_enough

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.report import BuildReport, NearLimit, Ranked, Report
    from specs.values.lengths import LengthUnit


CAUTION = (
    "Springs are under load and rings fly: guard your eyes, see every ring seated before a press\n"
    "is let off, never air-test a pack whose ring is not seated. The maker's manual, local rules\n"
    "and a qualified technician decide."
)
UNDECIDED = "Nothing was found and nothing was ruled out. Give it more time: --time 300"


def fit_text(report: Report, unit: LengthUnit) -> Iterator[str]:
    """Write a whole answer line by line, with the caution at its end."""
    yield from _lines(report, unit)
    yield from ("", CAUTION)


def _lines(report: Report, unit: LengthUnit) -> Iterator[str]:
    yield headline(report)
    yield from doubt_words(report.former, report.case, unit)
    if isinstance(report.answer, Fit):
        if report.demand:
            yield f"Every gap is {percent_text(report.demand.percent)} % sure, as asked."
        yield from minded(report, unit)
        for gap in report.gaps:
            yield ""
            yield from _gap(report, gap, unit)
        yield ""
        yield from _take(report)
        yield from reserved(report)
        yield from thin_words(report, unit)
        if report.sure:
            yield from job_words(report.sure)
        yield from equal_words(report, unit)
        yield from best_words(report, unit)
        if report.why:
            yield from why_words(report.why, report.answer, unit)
            yield from heat_cost_words(report)
        yield from heat_remark(report)
    elif report.unsure and report.demand:
        yield from unsure_words(report.unsure, report.demand, unit)
    elif isinstance(report.answer, NoFit):
        yield from advice(report, report.answer, unit)
    elif not isinstance(report.answer, Unread | ClosedJob):
        yield UNDECIDED
    yield from promise_words(report, unit)
    yield from waiting(report, unit)
    yield from set_aside(report)
    yield from notes(report, unit)
    yield from heard_words(report.former)


def headline(report: Report) -> str:
    """Return the job, the unit and the verdict in one line."""
    told = f"{report.case.job.name}, {report.case.unit.name}: {verdict(report)}"
    return told + "".join(f"; {words}" for words in close_words(report))


def close_words(report: BuildReport) -> Iterator[str]:
    """Name the gap that is least sure of those near a limit, with what to measure again."""
    for near in report.close[:1]:
        again = report.sure.of(near.gap).again if report.sure else ()
        words = " and ".join(again_name(one) for one in again[:2])
        yield f"{near.gap} is {percent(near.chance.least)} sure" + (
            f", measure {words} again" if words else ""
        )
    if report.close[1:]:
        yield f"{len(report.close) - 1} more"


def verdict(report: Report) -> str:
    """Say in a few words what the answer is and whether it is proved, and what read nothing.

    Of a job that is closed, or whose parts are out of the shelf, it says that first.
    """
    if report.closed:
        return f"CLOSED on {report.closed.on}" + f" by {report.closed.by}" * bool(report.closed.by)
    taken = "TAKEN; " if report.issued else ""
    if isinstance(report.answer, Unread):
        return f"{taken}NO READING"
    unread = f"; NO READING of {', '.join(report.unread)}" if report.unread else ""
    doubted = ", ".join(far.gap for far in report.former.far)
    doubt = f"; DOUBT THE READING of {doubted}" * bool(doubted)
    return taken + _verdict(report) + doubt + unread


def _verdict(report: Report) -> str:
    answer = report.answer
    if report.anew and report.standing:
        return f"PROMISED on {report.standing.on}"
    if isinstance(answer, NoFit):
        return "NO FIT IS SURE ENOUGH, proved" if report.unsure else "NO FIT, proved"
    if not isinstance(answer, Fit):
        return "UNDECIDED, stopped early"
    found = "LEAVE IT AS IT IS" if report.leave else "FITS"
    near = "CLOSE TO THE LIMIT, " if report.close else ""
    return f"{found}, {near}{_proof(answer)}"


def _proof(answer: Fit) -> str:
    if answer.proved:
        return "proved best"
    open_ = len(answer.bounds) - 1
    if 0 <= open_ < len(answer.values):
        level = answer.instance.levels[open_]
        found, least = answer.values[open_], answer.bounds[open_]
        return f"not proved best: stopped at `{level.aim}`, found {found}, cannot be below {least}"
    return "not proved best: stopped early"


def warnings(report: BuildReport, unit: LengthUnit) -> Iterator[str]:
    """Say what to mind before any part is changed; lines below their first are indented."""
    yield from doubt_words(report.former, report.case, unit)
    yield from minded(report, unit)


def minded(report: BuildReport, unit: LengthUnit) -> Iterator[str]:
    """Say the same as `warnings`, without the readings that are doubted."""
    yield from (remark_words(one, unit) for one in report.remarks if one.kind == "worn")
    for reseat in report.reseat:
        at = reseat.at
        yield (
            f"READ AGAIN FIRST: at place {at.place} of `{at.reading}` ({show(at.value, unit)}) "
            f"{reseat.gap} would be {show(reseat.would_be, unit)}, outside its window."
        )
        words = reseat_words(pack=reseat.gap in report.case.unit.packs)
        yield f"  {words.capitalize()} and read again before any part is changed."
    for near in report.close:
        yield from _close(report, near, unit)
    if report.sure:
        yield from tilt_words(report.sure, unit)


def _close(report: BuildReport, near: NearLimit, unit: LengthUnit) -> Iterator[str]:
    gap = next(gap for gap in report.gaps if gap.name == near.gap)
    margin = f" {show(gap.margin, unit)} from its limit" if gap.margin is not None else ""
    lacks = f"; {show_enough(near.lacks, unit)} more {_would(gap, near)}" if near.lacks else ""
    yield f"CLOSE TO THE LIMIT: {gap.name} is{margin}, {percent(near.chance.least)} sure{lacks}."
    if near.instead is None:
        return
    other = next(gap for gap in near.instead if gap.name == near.gap)
    yield f"  With `safe` among the aims it is {gap_text(other, unit)}: {chosen_words(other)}."


def _would(gap: GapAssembly, near: NearLimit) -> str:
    """Say what it would bring to keep the guard band: in a narrow window it ends at a quarter."""
    if gap.margin is None or gap.low is None or gap.high is None:
        return "would keep it clear"
    quarter = (gap.high - gap.low) / 4
    narrow = gap.margin + near.lacks >= quarter
    return "would make it a quarter of its window" if narrow else "would keep it clear"


def _gap(report: Report, gap: GapAssembly, unit: LengthUnit) -> Iterator[str]:
    yield f"{gap_name(gap)}: {gap_words(gap, unit)}   {window_words(gap, unit)}"
    yield from [f"  {drawn}" for drawn in (ruler(gap),) if drawn]
    yield f"  {left_words(gap, unit)}"
    if report.sure:
        yield from (f"  {line}" for line in sure_words(report.sure, gap.name, unit))
    yield from (f"  {line}" for line in heat_words(heat_of(report.case, gap)))
    yield from [f"  {words}" for words in (checked_only(report, gap),) if words]
    yield f"  {_end(gap, gap.last_end)}"
    labels = [part_name(line) for line in gap.steps]
    widest = max(map(len, labels), default=0)
    for line, label, bar in reversed(list(zip(gap.steps, labels, bars(gap), strict=True))):
        facts = "  ".join([show(line.thickness, unit), *source_words(line), *mind_words(line)])
        yield f"  {line.number:>3}  {bar:<{WIDTH}}  {label:<{widest}}  {facts}".rstrip()
    yield f"  {_end(gap, gap.first_end)}, goes in first"
    steps = check_steps(report, gap)
    yield from [f"  check: {'; '.join(steps)}"] * bool(steps)
    yield from (f"  {note}" for note in notes_of(report, gap, unit))


def _end(gap: GapAssembly, end: str) -> str:
    return f"-- {end} end --" + (" heat end" if end == gap.heat_end else "")


def to_take(report: Report) -> list[tuple[str, str, int]]:
    """List what to fetch in the order of bins: the place, the part, the number."""
    fetch: Counter[tuple[str, str]] = Counter()
    for line, lot in fetched(report.gaps):
        fetch[place_of(lot), part_name(line)] += 1
    return [(place, name, count) for (place, name), count in sorted(fetch.items())]


def _take(report: Report) -> Iterator[str]:
    fetch = to_take(report)
    if fetch:
        yield "take"
        widest = max(len(place) for place, _, _ in fetch)
        yield from (f"  {place:<{widest}}  {count} x {name}" for place, name, count in fetch)


def equal_words(report: Report, unit: LengthUnit) -> Iterator[str]:
    """Name other builds of each gap that are equal on every aim before `spare`."""
    for gap, others in zip(report.gaps, report.equal, strict=True):
        if others is None:
            yield f"{gap.name}: too many ways to look for others as good"
            continue
        for other in others[:5]:
            yield f"as good for {gap.name}: {chosen_words(other)} ({gap_text(other, unit)})"
        if others[5:]:
            yield f"and {len(others) - 5} more for {gap.name}"


def best_words(report: Report, unit: LengthUnit) -> Iterator[str]:
    """List the best builds that were asked for, each by its differences from the answer."""
    if not report.best:
        return
    yield "the best builds"
    yield "    1  as above"
    for nth, ranked in enumerate(report.best[1:], 2):
        yield f"  {nth:>3}  {behind_words(ranked)}"
        for gap, answer in zip(ranked.gaps, report.gaps, strict=True):
            if chosen_words(gap) != chosen_words(answer) or gap.layout != answer.layout:
                yield f"       {gap_name(gap)}: {chosen_words(gap)} -> {gap_text(gap, unit)}"
    if report.best[-1].proved and len(report.best) == 1:
        yield "       there is no other"


def behind_words(ranked: Ranked) -> str:
    """Name the aim on which a build is worse than the best."""
    behind = f"yields on `{ranked.yields}`" if ranked.yields else "as good on every aim"
    return behind + ("" if ranked.proved else ", not proved the next best")


def notes(report: BuildReport, unit: LengthUnit) -> Iterator[str]:
    """Say what to mind of parts, what was added to readings, why layouts are allowed."""
    for remark in report.remarks:
        if remark.kind != "worn" or not report.gaps:
            yield remark_words(remark, unit)
    for name, space in report.spaces.items():
        for words, added in space.allowed:
            yield f"{name}: read with {words}; {show(added, unit)} was added as the unit file says"
    for name, reading, asked, given in report.fewer_places:
        yield f"{name}: `{reading}` is asked for at {asked} places, and given at {given}"
    for name, reason in report.layout_reasons.items():
        yield f"{name}: {reason}"
    for name, barred in report.barred.items():
        for why in barred:
            yield f"{name}: layout not allowed here: {why}"


WIDTH, RULER = 16, 31  # signs of the thickest bar, and of a window
FILLS = {
    "steel": "=", "friction": ":", "pressure plate": "#", "apply plate": "#", "ring": ">",
    "cushion": "~", "washer": "-", "shim": "-", "spacer": "-",
}  # fmt: skip
"""What fills the bar of each kind, so that nothing depends on colour."""


def bars(gap: GapAssembly) -> list[str]:
    """Draw one bar for each line of a gap, as long as its part is thick, in the lines' order."""
    thickest = max((line.thickness for line in gap.steps), default=None)
    return [_bar(line.thickness, thickest, FILLS[line.kind]) for line in gap.steps]


def _bar(thickness: Length, thickest: Length | None, fill: str) -> str:
    if thickest is None or not thickest:
        return ""
    return fill * max(1, int(WIDTH * thickness.nm / thickest.nm))


def ruler(gap: GapAssembly) -> str:
    """Draw the window as a line of signs, with the aim and the gap marked in it.

    Empty for a window that is open on a side or has no width.
    """
    if gap.low is None or gap.high is None or gap.low == gap.high:
        return ""

    def column(length: Length) -> int:
        share = (length.nm - gap.low.nm) / (gap.high.nm - gap.low.nm)  # type: ignore[union-attr]
        return min(max(int(share * (RULER - 1)), 0), RULER - 1)

    cells = ["-"] * RULER
    cells[column(gap.aim)] = "+"
    cells[column(gap.gap)] = "O"
    low, high = sides_of(gap.on)
    return f"{low} [{''.join(cells)}] {high}"
