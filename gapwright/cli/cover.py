"""`gapwright cover`: which spaces a kit or a shelf serves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import FILE, SHELF, UNIT, Asked, solving
from gapwright.cover.options import AskedCover

if TYPE_CHECKING:
    from pathlib import Path


class CoverOptions(Asked, AskedCover):
    """The options of `cover`."""


@click.command()
@click.argument("file", type=FILE, required=False)
@UNIT
@SHELF
@click.option("--gap", default="", help="Only this pack or end play; otherwise each in turn.")
@click.option("--reading", default="", help="Move this reading, not the room for the stack.")
@click.option("--alone", is_flag=True, help="Leave the other packs and end plays aside.")
@click.option("--from", "first", help="The first value, such as 0.950.")
@click.option("--to", "last", help="The last value.")
@click.option("--step", help="From one value to the next.")
@click.option("--history", type=FILE, help="A CSV file of past drums, to mark where they lie.")
@click.option("--picture", type=FILE, help="Draw it into this file, as .svg, .png or .pdf.")
@solving
def cover(file: Path | None, picture: Path | None, **asked: Unpack[CoverOptions]) -> int:
    """Show which spaces a kit or shelf serves, with which builds, and where it leaves holes.

    FILE holds or names the unit and the shelf, or holds a kit. Where it also holds a job, the
    other packs and end plays stand as that job has them.
    """
    from gapwright.cli.progress import patience
    from gapwright.cover.chart import cover_chart
    from gapwright.cover.options import cover_files, tell_or_dump, undecided
    from gapwright.drawing.figure import check_picture
    from solver.engines.cp_sat import Limits

    if picture is not None:
        check_picture(picture)
    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        covers = cover_files(file, asked, limits)
    click.echo(tell_or_dump(covers, asked["lengths"], as_json=asked["as_json"]))
    if picture is not None:
        cover_chart(covers, asked["lengths"]).save(picture)
    return 4 if undecided(covers) else 0
