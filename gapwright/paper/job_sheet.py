"""The bench sheet of a rebuild as data: its contents in order, in the words of the command.

The sheet goes with the drum. It lists what to fetch, draws each stack and lists it in order of
assembly, states the check to make, and leaves room to write what was measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from gapwright.drawing.qr import qr_code
from gapwright.drawing.stack import draw_stack
from gapwright.drawing.window import draw_window, magnified
from gapwright.fit.chart import pack_heat_chart
from gapwright.fit.conformance_text import job_words, sure_words, unsure_words
from gapwright.fit.gap_text import (
    check_steps,
    checked_only,
    gap_name,
    gap_words,
    left_words,
    mind_words,
    notes_of,
    part_name,
    source_words,
    state_words,
    waiting,
    window_in,
    window_words,
)
from gapwright.fit.heat import heat_of
from gapwright.fit.heat_text import heat_words
from gapwright.fit.no_fit_text import advice
from gapwright.fit.report import ClosedJob, Unread
from gapwright.fit.text import (
    UNDECIDED,
    equal_words,
    notes,
    to_take,
    verdict,
    warnings,
)
from gapwright.fit.thin_text import thin_words
from gapwright.paper.bands import band_cards, beside
from gapwright.record.former_units_text import heard_words
from gapwright.record.text import promise_words
from gapwright.shelf.text import reserved, set_aside
from solver.problem.solution import Fit, NoFit
from specs.errors import shortened
from specs.files.digest import made_from
from specs.files.shelf_address import without_password
from specs.gaps.job_gap import described
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from gapwright.drawing.stack import ScaledDrawing
    from gapwright.drawing.svg import Svg
    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from gapwright.fit.report import Report
    from gapwright.paper.bands import BandCard
    from specs.values.lengths import LengthUnit


Paper = Literal["a4", "letter"]

CAUTIONS = (
    (
        "Springs are under load: use the press the maker names, press no further than you must, "
        "and let it off only when you see the ring seated all round."
    ),
    "Rings fly: guard your eyes, and those of anybody near.",
    (
        "Never air-test a piston or a pack whose ring or retainer is not fitted and seated. "
        "Regulated air at the maker's pressure, raised slowly, fingers out."
    ),
    "A drum or a case that drops breaks feet as well as cases.",
    "Soak frictions as the maker says, and measure in the state the manual asks for.",
    "A shaft that does not turn freely is not put right by a washer.",
    "The maker's manual, local rules and a qualified technician decide.",
)
NO_CHECK = "as the maker's manual says"
FEWEST_BLANKS, MOST_BLANKS = 3, 6
ROW, ROOM, MOST_ROOM = 5.0, 16.0, 170.0
"""Millimetres of a drawing for each row of the list and beyond it, and the most on a page."""
DEEPEST = 4


@dataclass(frozen=True, slots=True)
class Sentence:
    """A line of an answer, and how many levels it is indented."""

    depth: int
    text: str


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part on a sheet, in the order it goes in."""

    number: int
    name: str
    source: str
    thickness: tuple[str, str]
    chosen: bool
    """Whether it is selective, and its thickness to be measured before it goes in."""
    mind: str


@dataclass(frozen=True, slots=True)
class Card:
    """One gap on a sheet: its figures, its stack drawn and listed, and its check."""

    name: str
    figures: tuple[str, str]
    windows: tuple[str, str]
    left: tuple[str, ...]
    """What is left on both sides, how sure the gap is, and what thin steels cost."""
    window: Svg
    magnified: str
    stack: ScaledDrawing
    heat: Svg | None
    """What one engagement brings to each steel, where the unit file says its energy."""
    rows: tuple[PartRow, ...]
    check: str
    notes: tuple[str, ...]
    places: range
    gauge: str
    state: tuple[str, ...]
    seen: tuple[str, ...]
    """What to tick after assembly besides the measure, in order."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The contents of the sheet of one rebuild."""

    job: str
    unit: str
    verdict: str
    day: str
    due: str
    note: str
    facts: tuple[str, ...]
    ledger: str
    """Where the ledger lies that the parts come from, and its last link then; or empty."""
    id: str
    code: Svg
    warnings: tuple[Sentence, ...]
    fetch: tuple[tuple[str, str, int], ...]
    cards: tuple[Card, ...]
    bands: tuple[BandCard, ...]
    advice: tuple[Sentence, ...]
    waiting: tuple[Sentence, ...]
    also: tuple[Sentence, ...]
    cautions: tuple[str, ...]


def sheet_of(report: Report, day: date, unit: LengthUnit | None = None) -> Sheet:
    """Lay out the sheet of an answer.

    Parameters
    ----------
    report
        The answer.
    day
        The day to print on the sheet.
    unit
        The unit of length that comes first, that of the files unless stated; the other follows.
    """
    first = unit or report.case.length
    job, ledger, name = report.case.job, report.case.ledger, made_from(report.case)
    return Sheet(
        job=job.name,
        unit=report.case.unit.name,
        verdict=verdict(report),
        day=day.isoformat(),
        due=job.due or "",
        note=job.note or "",
        facts=tuple(f"{key} {value}" for key, value in job.facts.items()),
        ledger=f"{without_password(ledger)}, as of link {report.link}" * bool(report.link),
        id=name,
        code=qr_code(f"gapwright {shortened(job.name)} {name}"),
        warnings=sentences((*warnings(report, first), *promise_words(report, first))),
        fetch=tuple(to_take(report)),
        cards=tuple(_card(report, gap, first) for gap in report.gaps),
        bands=band_cards(report.case.unit, first),
        advice=sentences(_advice(report, first)),
        waiting=sentences(waiting(report, first)),
        also=sentences(_also(report, first)),
        cautions=CAUTIONS,
    )


def sentences(lines: Iterable[str]) -> tuple[Sentence, ...]:
    """Split the command's lines into their indent, in levels of two blanks, and their words."""
    return tuple(
        Sentence(min((len(line) - len(line.lstrip())) // 2, DEEPEST), line.strip())
        for line in lines
    )


def _also(report: Report, unit: LengthUnit) -> Iterator[str]:
    yield from reserved(report)
    yield from thin_words(report, unit)
    if report.sure:
        yield from job_words(report.sure)
    yield from equal_words(report, unit)
    yield from set_aside(report)
    yield from notes(report, unit)
    yield from heard_words(report.former)


def _advice(report: Report, unit: LengthUnit) -> Iterable[str]:
    if report.unsure and report.demand:
        return unsure_words(report.unsure, report.demand, unit)
    if isinstance(report.answer, NoFit):
        return advice(report, report.answer, unit)
    return () if isinstance(report.answer, Fit | Unread | ClosedJob) else (UNDECIDED,)


def _card(report: Report, gap: GapAssembly, unit: LengthUnit) -> Card:
    other = beside(unit)
    written = report.case.unit.gaps[gap.name]
    between = written.measure.between if written.measure else ()
    asked = described(report.case.unit, written, "gap")
    blanks = min(max(asked.places if asked else 0, FEWEST_BLANKS), MOST_BLANKS)
    room = min(ROOM + ROW * len(gap.steps), MOST_ROOM)
    only = checked_only(report, gap)
    sure = sure_words(report.sure, gap.name, unit) if report.sure else ()
    heat = heat_of(report.case, gap)
    return Card(
        name=gap_name(gap),
        figures=(gap_words(gap, unit), gap_words(gap, other)),
        windows=(window_words(gap, unit), window_words(gap, other)),
        left=(left_words(gap, unit), *sure, *heat_words(heat)),
        window=draw_window(gap, unit, other),
        magnified=magnified(gap),
        stack=draw_stack(gap, between, unit, room),
        heat=pack_heat_chart(gap, heat).image() if heat and heat.engagement else None,
        rows=tuple(_row(report, gap, line, (unit, other)) for line in gap.steps),
        check="; ".join(check_steps(report, gap)) or NO_CHECK,
        notes=(*([only] if only else []), *notes_of(report, gap, unit)),
        places=range(1, blanks + 1),
        gauge=(asked.gauge if asked else "") or "",
        state=tuple(state_words(window_in(report, gap).state)),
        seen=tuple(_to_see(gap)),
    )


def _to_see(gap: GapAssembly) -> Iterator[str]:
    """Yield what a pack wants besides its measure: its ring seated, then air on its piston."""
    if any(line.kind == "ring" for line in gap.steps):
        yield "ring seen seated"
    if gap.is_pack:
        yield "air check"


def _row(
    report: Report, gap: GapAssembly, line: AssemblyStep, units: tuple[LengthUnit, LengthUnit]
) -> PartRow:
    shared = [
        other.name
        for other in report.gaps
        if other is not gap and line.shared in {part.shared for part in other.steps} - {""}
    ]
    same = [f"the same one as in {name}" for name in shared]
    return PartRow(
        number=line.number,
        name=part_name(line),
        source=", ".join(source_words(line)),
        thickness=(show(line.thickness, units[0]), show(line.thickness, units[1])),
        chosen=line.lot is not None,
        mind="; ".join([*mind_words(line), *same]),
    )
