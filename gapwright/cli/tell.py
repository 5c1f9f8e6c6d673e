"""`gapwright tell`: which part a measured thickness is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import FILE, LENGTHS, REPLACE, UNIT
from gapwright.tell.options import TellOptions

if TYPE_CHECKING:
    from pathlib import Path

    from specs.values.lengths import LengthUnit


@click.command()
@click.argument("thickness", nargs=-1)
@UNIT
@click.option("--list", "list_", type=FILE, help="Sort a pile: a CSV file with a part a row.")
@click.option(
    "--gauge",
    default="",
    help="caliper (so unless stated), micrometer, or one that the unit names.",
)
@click.option("--seen", multiple=True, help="What is seen of it: teeth=36, kind=friction, mark=2.")
@click.option("--used", is_flag=True, help="Used parts, which may have worn.")
@click.option("--flatness", help="How far a used part is out of flat.")
@click.option("--coning", help="How far a used part is coned.")
@click.option("--found", multiple=True, help='What is seen of its wear: "hot spots".')
@click.option(
    "--sure", type=click.FloatRange(50, 100, min_open=True), default=95.0, show_default=True,
    metavar="PERCENT", help="A part is told where one size is so sure.",
)  # fmt: skip
@click.option("--count", type=FILE, help="Write what is told into this CSV file, for a shelf.")
@REPLACE
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--lengths", type=LENGTHS, help="Print lengths in this unit.")
def tell(
    thickness: tuple[str, ...], count: Path | None, lengths: LengthUnit | None, *, replace: bool,
    as_json: bool, **options: Unpack[TellOptions],
) -> int:  # fmt: skip
    """Tell which families and sizes of a unit a part of this THICKNESS can be, with how sure.

    Several make a pile, which is sorted. Without --unit the unit is taken from unit.yaml.
    A used part is held against the unit's limits of wear. Exit 0 where every part is told and
    good, 3 where some are not.
    """
    from gapwright.output.rendering import render
    from gapwright.tell.pile import tell_parts, write_counts

    pile = tell_parts(thickness, options)
    click.echo(render(pile, lengths, as_json=as_json))
    if count is not None:
        click.echo(write_counts(pile, count, replace=replace), err=as_json)
    return 0 if all(one.to_shelf for one in pile.identified) else 3
