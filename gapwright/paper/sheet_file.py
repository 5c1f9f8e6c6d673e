"""Puts a sheet into its file, whole or not at all, and over nothing but an older sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.extras import check_extra
from gapwright.output.files import check_ending, check_folder, write
from gapwright.output.template import fill_in
from gapwright.paper.front_page import front_of
from gapwright.paper.job_sheet import sheet_of
from gapwright.paper.pdf import find_browser, pdf_of
from specs.errors import InputError, Problem
from specs.formats.plain_file import content

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from gapwright.fit.report import Report
    from gapwright.paper.job_sheet import Paper
    from specs.values.lengths import LengthUnit

TITLE = "gapwright bench sheet"
"""Tells a sheet from a file of the user's own: in HTML as its title, in PDF as a last remark."""
HTML, PDF = ".html", ".pdf"


def write_sheets(
    reports: Sequence[Report], file: Path, paper: Paper, day: date, unit: LengthUnit | None = None
) -> tuple[str, ...]:
    """Write the sheets of answers as HTML or PDF, several with a list of all there is to fetch.

    Returns the lots of which they want more than there is, in words; InputError where writing
    fails.
    """
    page, short = sheets_as_html(reports, paper, day, unit)
    print_page(page, file, TITLE)
    return short


def sheets_as_html(
    reports: Sequence[Report], paper: Paper, day: date, unit: LengthUnit | None = None
) -> tuple[str, tuple[str, ...]]:
    """Lay out the sheets of answers as one page, and say of which lots they want too many."""
    sheets = [sheet_of(report, day, unit) for report in reports]
    front = front_of(reports, day) if len(reports) > 1 else None
    page = fill_in("sheet.html", sheets=sheets, front=front, paper=paper, title=TITLE)
    return page, front.short if front else ()


def print_page(page: str, file: Path, title: str) -> None:
    """Write a page with a title as HTML or PDF; InputError where writing fails."""
    if file.suffix.lower() == PDF:
        put_sheet(pdf_of(page, find_browser()) + f"% {title}\n".encode(), file)
    else:
        put_sheet(page.encode(), file)


def check_sheet_file(file: Path, title: str = TITLE) -> None:
    """Raise InputError where a file cannot become a sheet of a title, before anything is solved.

    By its ending, for want of a library or a browser, or for what it holds now.
    """
    check_extra("sheet")
    check_ending(file, (HTML, PDF), "a sheet .html or .pdf")
    check_folder(file)
    if file.suffix.lower() == PDF:
        find_browser()
    there = content(file) if file.exists() else b""
    if there and title.encode() not in there:
        what = title.removeprefix("gapwright ")
        sentence = f"is there already and is no {what}, so it is left as it is; name another"
        raise InputError(Problem(sentence, str(file)))


def put_sheet(sheet: bytes, file: Path) -> None:
    """Write a sheet into its file, in the place of an older one; InputError where that fails."""
    try:
        write(sheet, file)
    except OSError as error:
        raise _cannot(file, error) from None


def _cannot(file: Path, error: OSError) -> InputError:
    return InputError(Problem(f"cannot be written: {error.strerror}; name another", str(file)))
