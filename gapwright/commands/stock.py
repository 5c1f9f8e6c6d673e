"""`gapwright stock kit`: what to keep in a kit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.commands.options import FILE, Asked, solving

if TYPE_CHECKING:
    from pathlib import Path


@click.group()
def stock() -> None:
    """Choose what to keep in a kit."""


@stock.command()
@click.argument("unit", type=FILE)
@click.option("--history", type=FILE, required=True, help="A CSV file of past drums' spaces.")
@click.option("--share", default="95", show_default=True, help="Percent of drums to serve.")
@click.option("--picture", type=FILE, help="Draw cost against drums served, .svg or .png.")
@solving
def kit(unit: Path, history: Path, share: str, picture: Path | None, **asked: Unpack[Asked]) -> int:
    """Choose the cheapest kit that serves a share of past drums.

    UNIT holds the unit with its prices. The history has a column for each pack or end play.
    """
    from gapwright.patience import patience
    from gapwright.stock.kit_asked import draw_kit, exit_code, kit_files, tell_or_dump
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        report = kit_files(unit, history, share, picture, limits)
    click.echo(tell_or_dump(report, as_json=asked["as_json"]))
    if picture is not None:
        draw_kit(picture, report)
    return exit_code(report)
