"""Serves the page of an answer and its sheet: parts to take and stacks, or why nothing fits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.drawing.stack import draw_stack
from gapwright.fit.gap_text import chosen_words, gap_name, gap_text
from gapwright.fit.promised_build import as_promised
from gapwright.fit.service import fit_case
from gapwright.fit.text import behind_words, headline
from gapwright.paper.job_sheet import sentences, sheet_of
from gapwright.paper.sheet_file import sheets_as_html
from gapwright.record.promise import promise_of
from gapwright.record.text import promise_words
from gapwright.today import today
from gapwright.web.author import usual_who
from gapwright.web.draft import in_unit, units_at
from gapwright.web.forms.fields import lengths_in, source_of
from gapwright.web.job_actions import held_for, keeps_own, sent_along
from gapwright.web.pages.measure import measured
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse
from solver.problem.solution import Fit
from specs.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.drawing.stack import ScaledDrawing
    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.report import Report
    from gapwright.paper.job_sheet import Paper
    from specs.values.lengths import LengthUnit

BEST = 5
ROOM = 90.0  # millimetres of height for a stack


@dataclass(frozen=True, slots=True)
class Instead:
    """Another build of one gap: its parts in few words, and its stack."""

    gap: str
    parts: str
    figure: str
    drawing: ScaledDrawing


@dataclass(frozen=True, slots=True)
class Other:
    """A build besides the best: how it compares, and the gaps in which it differs."""

    words: str
    gaps: tuple[Instead, ...]


def fit(request: PageRequest) -> PageResponse:
    """Show the answer of a job, or the form again with what is wrong in it."""
    try:
        case = request.shop.case(source_of(request))
        best, records = _best_of(request), request.shop.records()
        report = fit_case(case, request.limits, best, records=records)
    except InputError as error:
        problems = [request.shop.relative(problem) for problem in error.problems]
        if not request.one("unit") and not request.one("from"):
            raise
        return measured(in_unit(request), problems)
    unit, fits = _lengths_of(request, report), isinstance(report.answer, Fit)
    page = render_page(
        "fit.html",
        request=request, sheet=sheet_of(report, today(), unit), headline=headline(report),
        fits=fits, promised=sentences(promise_words(report, unit)),
        shown=promise_of(report, today().isoformat()).answer if fits else "",
        ledger=bool(report.case.ledger), others=[*_others(report, unit)],
        ranked=bool(report.best), held=held_for(report, unit), sent=sent_along(request),
        who=usual_who(), ours=keeps_own(request),
        lengths=units_at(request, "/fit", unit),
    )  # fmt: skip
    return PageResponse(page)


def _best_of(request: PageRequest) -> int:
    """Return how many best builds a request asks for."""
    return BEST if request.one("best") else 1


def _lengths_of(request: PageRequest, report: Report) -> LengthUnit:
    """Return the unit of length to show."""
    return lengths_in(request) or report.case.length


def _others(report: Report, unit: LengthUnit) -> Iterator[Other]:
    """Yield equally good builds of each gap, then the next-best builds where they are requested."""
    for best, others in zip(report.gaps, report.equal, strict=True):
        for gap in (others or ())[:BEST]:
            yield Other(f"as good for {best.name}", (_instead(report, gap, unit),))
    for nth, ranked in enumerate(report.best[1:], 2):
        differ = [gap for gap, best in zip(ranked.gaps, report.gaps, strict=True) if gap != best]
        gaps = tuple(_instead(report, gap, unit) for gap in differ)
        yield Other(f"{nth}: {behind_words(ranked)}", gaps)


def _instead(report: Report, gap: GapAssembly, unit: LengthUnit) -> Instead:
    measure = report.case.unit.gaps[gap.name].measure
    between = measure.between if measure else ()
    return Instead(
        gap_name(gap), chosen_words(gap), gap_text(gap, unit), draw_stack(gap, between, unit, ROOM)
    )


def sheet(request: PageRequest) -> PageResponse:
    """Show the sheet of a job's answer, the same as `gapwright sheet` writes, to print here.

    Raises InputError where the job cannot be read.
    """
    case = request.shop.case(source_of(request))
    report = as_promised(fit_case(case, request.limits, records=request.shop.records()))
    paper: Paper = "letter" if request.one("paper") == "letter" else "a4"
    page, _ = sheets_as_html([report], paper, today(), _lengths_of(request, report))
    return PageResponse(page, inline_style=True)
