"""The printed sheet of an answer: the same page `gapwright sheet` writes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.day import today
from gapwright.desk import fit_case
from gapwright.serve.fit_page import lengths_of
from gapwright.serve.form import source_of
from gapwright.serve.visit import Reply, Visit
from gapwright.sheet.file import sheets_as_html

if TYPE_CHECKING:
    from gapwright.sheet.page import Paper


def sheet(visit: Visit) -> Reply:
    """Lay out the sheet of a form's answer, to print from the browser."""
    report = fit_case(visit.shop.case(source_of(visit)), visit.limits)
    paper: Paper = "letter" if visit.one("paper") == "letter" else "a4"
    page, _ = sheets_as_html([report], paper, today(), lengths_of(visit, report))
    return Reply(page, inline_style=True)
