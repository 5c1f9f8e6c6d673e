"""The command `gapwright sheet JOB`: it reads its arguments, calls the desk, and writes the file.

Everything heavy is imported where it is needed, so that `--help` answers at once.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

import click

if TYPE_CHECKING:
    from gapwright.sheet import Paper
    from specs.lengths import Unit

FILE = click.Path(path_type=Path)


class Asked(TypedDict):
    """The options of `sheet`, but for the file it writes."""

    unit: Path | None
    shelf: Path | None
    paper: Paper
    lengths: Unit | None
    seconds: float


@click.command()
@click.argument("job", type=FILE)
@click.option("--unit", type=FILE, help="Take the unit from this file.")
@click.option("--shelf", type=FILE, help="Take the shelf from this file.")
@click.option(
    "-o", "--out", type=FILE, metavar="FILE.html|.pdf",
    help="Write it here; else beside the job, as JOB.html.",
)  # fmt: skip
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True,
    help="Lay it out for this paper.",
)  # fmt: skip
@click.option(
    "--lengths", type=click.Choice(["in", "mm", "thou"]),
    help="Print lengths in this unit first; the other stands beside it.",
)  # fmt: skip
@click.option(
    "--time", "seconds", type=click.FloatRange(min=0), default=60.0, show_default=True,
    help="Stop after so many seconds with the best build so far.",
)  # fmt: skip
def sheet(job: Path, out: Path | None, **asked: Unpack[Asked]) -> int:
    """Write the bench sheet of one rebuild: its parts, a drawing, the check to make."""
    from gapwright.desk import fit_job
    from gapwright.patience import patience
    from gapwright.report import exit_code
    from gapwright.sheet_file import check_sheet_file, write_sheet
    from gapwright.words import headline
    from solver.engine import Limits

    file = out or job.with_suffix(".html")
    check_sheet_file(file)
    limits = Limits(asked["seconds"])
    with patience(limits.watch):
        report = fit_job(job, asked["unit"], asked["shelf"], limits)
    today = datetime.now(tz=UTC).astimezone().date()
    write_sheet(report, file, asked["paper"], today, asked["lengths"])
    click.echo(f"{file}: bench sheet of {headline(report)}")
    return exit_code(report)
