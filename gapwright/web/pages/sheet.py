"""Serves the printed sheet of an answer, the same as `gapwright sheet` writes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.fit.service import fit_case
from gapwright.paper.sheet_file import sheets_as_html
from gapwright.today import today
from gapwright.web.forms.fields import source_of
from gapwright.web.pages.fit import lengths_of
from gapwright.web.request import PageRequest, PageResponse

if TYPE_CHECKING:
    from gapwright.paper.job_sheet import Paper


def sheet(request: PageRequest) -> PageResponse:
    """Show the sheet of a job's answer, to print from the browser.

    Raises InputError where the job cannot be read.
    """
    report = fit_case(request.shop.case(source_of(request)), request.limits)
    paper: Paper = "letter" if request.one("paper") == "letter" else "a4"
    page, _ = sheets_as_html([report], paper, today(), lengths_of(request, report))
    return PageResponse(page, inline_style=True)
