"""`gapwright cover`: which spaces a kit or a shelf serves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import FILE, HISTORY, SHELF, UNIT, CommonOptions, solving

if TYPE_CHECKING:
    from pathlib import Path


class CoverArguments(CommonOptions):
    """The options of `cover`."""

    unit: Path | None
    shelf: str | None
    gap: str
    reading: str
    alone: bool
    first: str | None
    last: str | None
    step: str | None
    history: str | None


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
@HISTORY
@click.option("--picture", type=FILE, help="Draw it into this file, as .svg, .png or .pdf.")
@solving
def cover(file: Path | None, picture: Path | None, **arguments: Unpack[CoverArguments]) -> int:
    """Show which spaces a kit or shelf serves, with which builds, and where it leaves holes.

    FILE holds or names the unit and the shelf, or holds a kit. Where it also holds a job, the
    other packs and end plays stand as that job has them.
    """
    from gapwright.cli.progress import progress_shown
    from gapwright.cover.chart import cover_chart
    from gapwright.cover.service import CoverOptions, cover_unit
    from gapwright.drawing.figure import check_picture
    from gapwright.output.rendering import render
    from solver.engines.limits import Limits
    from specs.errors import InputError, Problem

    if picture is not None:
        check_picture(picture)
    main, unit = (file, arguments["unit"]) if file else (arguments["unit"], None)
    if main is None:
        sentence = "write a FILE that holds or names unit and shelf, or --unit and --shelf"
        raise InputError(Problem(sentence))
    limits = Limits(arguments["seconds"], arguments["workers"])
    options = CoverOptions(arguments["gap"], arguments["reading"], arguments["alone"])
    with progress_shown(limits.watch):
        found = cover_unit(
            main, unit, arguments["shelf"], options, arguments["history"], limits,
            first=arguments["first"], last=arguments["last"], step=arguments["step"],
        )  # fmt: skip
    click.echo(render(found, arguments["lengths"], as_json=arguments["as_json"]))
    if picture is not None:
        cover_chart(found.moved, arguments["lengths"]).save(picture)
    return 0 if found.decided else 4
