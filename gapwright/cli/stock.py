"""`gapwright stock`: what to keep in a kit or on the shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import (
    FILE,
    REPLACE,
    SHELF,
    CommonOptions,
    solving,
    spreading,
    stop_after,
)
from gapwright.stock.shelf.options import StockShelfOptions

if TYPE_CHECKING:
    from pathlib import Path


class StockKitOptions(CommonOptions):
    """The options of `stock kit`."""

    picture: Path | None
    out: Path | None
    replace: bool
    seed: int
    use_all: bool


HISTORY = click.option(
    "--history", multiple=True, metavar="PLACE",
    help="Past drums: a folder of job files, a ledger, or a CSV file of spaces; several where the "
    "unit is `independent`. Without one for a pack its drums are drawn from its `spaces` in UNIT.",
)  # fmt: skip


@click.group()
def stock() -> None:
    """Choose what to keep in a kit or on the shelf."""


@stock.command()
@click.argument("unit", type=FILE)
@HISTORY
@click.option("--share", default="95", show_default=True, help="Percent of drums to serve.")
@click.option("--picture", type=FILE, help="Draw cost against drums served, as .svg, .png or .pdf.")
@click.option(
    "-o", "--out", type=FILE, metavar="FILE.yaml",
    help="Write the kit as a kit file, for `gapwright kit` and `gapwright cover`.",
)  # fmt: skip
@REPLACE
@click.option("--seed", type=int, default=1, show_default=True, help="Hold out other drums.")
@click.option("--use-all", is_flag=True, help="Choose by all drums and hold none out.")
@solving
def kit(
    unit: Path, history: tuple[str, ...], share: str, **options: Unpack[StockKitOptions]
) -> int:
    """Choose the cheapest kit that serves a share of past drums.

    UNIT holds the unit with its prices. The history has a column for each pack or end play; a
    third of 30 drums or more is held out from the choice, and the kit tried on it.
    """
    from gapwright.cli.progress import progress_shown
    from gapwright.drawing.figure import check_picture
    from gapwright.output.rendering import render
    from gapwright.stock.kit.chart import frontier_chart
    from gapwright.stock.kit.service import check_kit_file, choose_kit, write_kit
    from gapwright.stock.kit.text import exit_code, share_of
    from solver.engines.limits import Limits

    picture, out = options["picture"], options["out"]
    if out is not None:
        check_kit_file(out, replace=options["replace"])
    if picture is not None:
        check_picture(picture)
    limits = Limits(options["seconds"], options["workers"])
    seed = None if options["use_all"] else options["seed"]
    with progress_shown(limits.watch):
        report = choose_kit(unit, history, share_of(share), limits, seed)
    click.echo(render(report, options["lengths"], as_json=options["as_json"]))
    if picture is not None:
        frontier_chart(report).save(picture)
    if out is not None:
        there = write_kit(report, out, replace=options["replace"])
        outcome = f"written; gapwright kit check {out}" if there else "not written: there is no kit"
        click.echo(f"{out}: {outcome}", err=options["as_json"])
    return exit_code(report)


class ShelfOptions(StockShelfOptions):
    """The options of `stock shelf`."""

    as_json: bool
    seconds: float


@stock.command()
@click.argument("unit", type=FILE)
@HISTORY
@click.option("--jobs", required=True, help="How many jobs come in a week, on the average.")
@click.option(
    "--lead-time", type=click.IntRange(0, 52), required=True,
    help="Weeks from an order, given at a week's end, to the start of the week it is there for.",
)  # fmt: skip
@click.option("--share", help="Percent of jobs to build on the day they come; 95 unless given.")
@click.option("--all-weeks", help="In its place, percent of weeks in which no job is to wait.")
@click.option("--wait-cost", help="In its place, what a job costs for each week's end it waits at.")
@click.option(
    "--keep-cost", default="1", show_default=True,
    help="With --wait-cost: what a part costs a week on the shelf, in percent of its price.",
)  # fmt: skip
@SHELF
@click.option("--seed", type=int, default=1, show_default=True, help="Other random weeks.")
@click.option(
    "--scenarios", type=click.IntRange(20, 5_000), default=200, show_default=True,
    help="How many cycles of jobs to choose over.",
)  # fmt: skip
@click.option(
    "--weeks", type=click.IntRange(100, 1_000_000), default=10_000, show_default=True,
    help="How many fresh weeks to simulate.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@stop_after(300.0, "shelf")
@spreading
def shelf(unit: Path, **options: Unpack[ShelfOptions]) -> int:
    """Choose how many of each size to hold for a period of jobs.

    UNIT holds the unit with its prices. The history has a column for each pack or end play. What
    is promised comes from simulating jobs in the order they come, on weeks that had no part in
    the choice; the same for the same --seed.
    """
    from gapwright.cli.progress import progress_line
    from gapwright.output.rendering import render
    from gapwright.stock.shelf.service import choose_shelf
    from gapwright.stock.shelf.text import exit_code, period_of
    from solver.engines.limits import Limits

    limits = Limits(options["seconds"])
    with progress_line(limits.watch):
        report = choose_shelf(
            unit, period_of(options), options["history"], options["shelf"], limits,
            workers=options["workers"], cluster=options["cluster"],
        )  # fmt: skip
    click.echo(render(report, as_json=options["as_json"]))
    return exit_code(report)
