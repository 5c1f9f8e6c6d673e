"""`gapwright jobs`: where every job is."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from gapwright.cli.options import FILE, LENGTHS, SHELF

if TYPE_CHECKING:
    from pathlib import Path

    from specs.values.lengths import LengthUnit


class JobsOptions(TypedDict):
    """How jobs are listed."""

    closed: bool
    again: str
    out: Path | None
    csv: Path | None
    as_json: bool
    lengths: LengthUnit | None


@click.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True, metavar="FOLDER...")
@click.option("--unit", type=FILE, help="Take the unit of every job from this file.")
@SHELF
@click.option("--all", "closed", is_flag=True, help="List closed jobs too.")
@click.option(
    "--again", default="", metavar="NAME", help="Begin a new job of this closed one, with -o."
)
@click.option("-o", "out", type=FILE, help="The new job's file; its name is the new job's.")
@click.option("--csv", type=FILE, help="Write them as a table for a spreadsheet.")
@click.option("--json", "as_json", is_flag=True, help="Print them as JSON.")
@click.option("--lengths", type=LENGTHS, help="Print lengths in this unit.")
def jobs(
    jobs: tuple[Path, ...], unit: Path | None, shelf: str | None, **options: Unpack[JobsOptions]
) -> int:
    """List jobs with their unit, state, what they wait for, priority and day.

    FOLDER is a folder of job files and tables of jobs, or one of these files. Nothing is solved;
    the state follows from the job's file and the shelf.
    """
    if bool(options["again"]) != (options["out"] is not None):
        raise click.UsageError("a unit that comes back: --again J-1042 -o J-1107.yaml")
    if options["out"] is not None:
        from gapwright.jobs.again import begin_again

        begin_again(jobs, options["again"], options["out"], unit, shelf)
        click.echo(f"{options['out']}: written, with what was built in {options['again']}")
        return 0
    from gapwright.jobs.answer import jobs_table
    from gapwright.jobs.service import list_jobs
    from gapwright.output.files import put
    from gapwright.output.rendering import render

    found = list_jobs(jobs, unit, shelf, closed=options["closed"])
    click.echo(render(found, options["lengths"], as_json=options["as_json"]))
    if options["csv"] is not None:
        put(jobs_table(found, options["lengths"] or found.length), options["csv"], replace=True)
    return 0
