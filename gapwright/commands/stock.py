"""`gapwright stock kit`: what to keep in a kit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.commands.options import FILE, REPLACE, Asked, solving

if TYPE_CHECKING:
    from pathlib import Path


class KitAsked(Asked):
    """The options of `stock kit`."""

    picture: Path | None
    out: Path | None
    replace: bool


@click.group()
def stock() -> None:
    """Choose what to keep in a kit."""


@stock.command()
@click.argument("unit", type=FILE)
@click.option("--history", type=FILE, required=True, help="A CSV file of past drums' spaces.")
@click.option("--share", default="95", show_default=True, help="Percent of drums to serve.")
@click.option("--picture", type=FILE, help="Draw cost against drums served, .svg or .png.")
@click.option(
    "-o", "--out", type=FILE, metavar="FILE.yaml",
    help="Write the kit as a kit file, for `gapwright kit` and `gapwright cover`.",
)  # fmt: skip
@REPLACE
@solving
def kit(unit: Path, history: Path, share: str, **asked: Unpack[KitAsked]) -> int:
    """Choose the cheapest kit that serves a share of past drums.

    UNIT holds the unit with its prices. The history has a column for each pack or end play.
    """
    from gapwright.patience import patience
    from gapwright.stock.kit_asked import draw_kit, exit_code, kit_files, tell_or_dump
    from gapwright.stock.kit_file import check_kit_file, write_kit
    from solver.engine import Limits

    picture, out = asked["picture"], asked["out"]
    if out is not None:
        check_kit_file(out, replace=asked["replace"])
    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        report = kit_files(unit, history, share, picture, limits)
    click.echo(tell_or_dump(report, as_json=asked["as_json"]))
    if picture is not None:
        draw_kit(picture, report)
    if out is not None:
        there = write_kit(report, out, replace=asked["replace"])
        said = f"written; gapwright kit check {out}" if there else "not written: there is no kit"
        click.echo(f"{out}: {said}", err=asked["as_json"])
    return exit_code(report)
