"""`gapwright close`: a job is done."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from gapwright.cli.options import FILE, LENGTHS, SHELF, UNIT
from gapwright.cli.shelf import WHO, author_of

if TYPE_CHECKING:
    from pathlib import Path

    from specs.values.lengths import LengthUnit


class CloseOptions(TypedDict):
    """How a job is closed."""

    row: str
    correct: bool
    who: str | None
    why: str
    as_json: bool
    lengths: LengthUnit | None


@click.command()
@click.argument("job", type=FILE)
@UNIT
@SHELF
@click.option("--job", "row", default="", metavar="NAME", help="The job of a table of jobs.")
@click.option("--correct", is_flag=True, help="Close it once more, after its file was corrected.")
@WHO
@click.option("--why", default="", help="With --correct: why, in a few words.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@click.option("--lengths", type=LENGTHS, help="Print lengths in this unit.")
def close(job: Path, unit: Path | None, shelf: str | None, **options: Unpack[CloseOptions]) -> int:
    """Close a job: what went in leaves the shelf, the rest is free again.

    What went in is what is listed under `as built`, elsewhere what was promised.
    """
    from gapwright.close.service import close_job
    from gapwright.output.rendering import render

    if options["correct"] and not options["why"]:
        raise click.UsageError("say why it is corrected: --why 'the ring was a .0600'")
    author = author_of(options["who"], options["why"])
    found = close_job(job, author, unit, shelf, row=options["row"], correct=options["correct"])
    click.echo(render(found, options["lengths"], as_json=options["as_json"]))
    return 0
