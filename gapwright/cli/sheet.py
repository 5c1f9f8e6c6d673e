"""The command `gapwright sheet JOB...`: it reads its arguments, calls the service, writes the file.

Everything heavy is imported where it is needed, so that `--help` answers at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from gapwright.cli.options import (
    BOTH_LENGTHS,
    FILE,
    OUT_SHEET,
    PAPER,
    SHELF,
    UNIT,
    stop_after,
)
from gapwright.today import today

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.fit.report import Report
    from gapwright.paper.job_sheet import Paper
    from specs.errors import Problem
    from specs.values.lengths import LengthUnit


class SheetOptions(TypedDict):
    """The options of `sheet`, but for the file it writes."""

    unit: Path | None
    shelf: str | None
    paper: Paper
    lengths: LengthUnit | None
    seconds: float


@click.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True, metavar="JOB...")
@UNIT
@SHELF
@OUT_SHEET
@PAPER
@BOTH_LENGTHS
@stop_after(60.0, "build")
def sheet(jobs: tuple[Path, ...], out: Path | None, **options: Unpack[SheetOptions]) -> int:
    """Write the bench sheet of a rebuild: its parts, a drawing, the check to make.

    Several jobs make a stack of sheets, sheets.html, with one list of all there is to fetch in
    front.
    """
    from gapwright.fit.report import exit_code
    from gapwright.fit.text import headline
    from gapwright.paper.sheet_file import check_sheet_file, write_sheets

    stem = "sheets" if len(jobs) > 1 else jobs[0].stem or "sheet"
    file = out or jobs[0].parent / f"{stem}.html"
    if out or file.parent.is_dir():  # else the job is not there either, and is what to name
        check_sheet_file(file)
    reports = _answers(jobs, options)
    short = write_sheets(reports, file, options["paper"], today(), options["lengths"])
    for report in reports:
        click.echo(f"{file}: bench sheet of {headline(report)}")
    for words in short:
        click.echo(f"MORE THAN IS ON HAND: {words}")
    return max(3 if short else 0, *map(exit_code, reports))


def _answers(jobs: tuple[Path, ...], options: SheetOptions) -> list[Report]:
    """Solve each job by itself; what is wrong with any of their files is told together."""
    from gapwright.cli.progress import progress_shown
    from gapwright.fit.promised_build import as_promised
    from gapwright.fit.service import fit_job
    from solver.engines.limits import Limits
    from specs.errors import InputError

    reports: list[Report] = []
    problems: list[Problem] = []
    for job in jobs:
        limits = Limits(options["seconds"])
        try:
            with progress_shown(limits.watch):
                report = fit_job(job, options["unit"], options["shelf"], limits)
            reports.append(as_promised(report))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*dict.fromkeys(problems))
    return reports
