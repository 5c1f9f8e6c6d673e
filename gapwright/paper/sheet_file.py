"""The file of a sheet, written whole or not at all, and only over an older sheet."""

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
    """Write the sheets of answers as HTML or PDF; several get a front page with all to fetch.

    Parameters
    ----------
    reports
        The answers.
    file
        The file to write; its ending decides the format.
    paper
        The size of the paper.
    day
        The day to print on the sheets.
    unit
        The unit of length that comes first, that of the files unless stated.

    Returns
    -------
    tuple of str
        A sentence for each lot of which the jobs want more than there is.

    Raises
    ------
    InputError
        Where the file cannot be written, or no browser prints it.
    """
    page, short = sheets_as_html(reports, paper, day, unit)
    print_page(page, file, TITLE)
    return short


def sheets_as_html(
    reports: Sequence[Report], paper: Paper, day: date, unit: LengthUnit | None = None
) -> tuple[str, tuple[str, ...]]:
    """Lay out the sheets of answers as one page, and name the lots of which they want too many."""
    sheets = [sheet_of(report, day, unit) for report in reports]
    front = front_of(reports, day) if len(reports) > 1 else None
    page = fill_in("sheet.html", sheets=sheets, front=front, paper=paper, title=TITLE)
    return page, front.short if front else ()


def print_page(page: str, file: Path, title: str) -> None:
    """Write a page as HTML or PDF, by the file's ending. Raises InputError where that fails.

    A PDF gets the title at its end, by which `check_sheet_file` knows a sheet.
    """
    if file.suffix.lower() == PDF:
        put_sheet(pdf_of(page, find_browser()) + f"% {title}\n".encode(), file)
    else:
        put_sheet(page.encode(), file)


def check_sheet_file(file: Path, title: str = TITLE) -> None:
    """Check, before anything is solved, that a file can become a sheet with this title.

    Raises InputError for another ending, for a library or a browser that is missing, and for a file
    that stands there and is no such sheet.
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
    """Write a sheet into its file, in place of an older one. Raises InputError where that fails."""
    try:
        write(sheet, file)
    except OSError as error:
        raise _cannot(file, error) from None


def _cannot(file: Path, error: OSError) -> InputError:
    return InputError(Problem(f"cannot be written: {error.strerror}; name another", str(file)))
