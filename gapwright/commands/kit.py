"""`gapwright kit`: a kit checked, handed over on paper, drawn from the shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.commands.options import FILE, UNIT, Asked, solving

if TYPE_CHECKING:
    from pathlib import Path

KIT = click.argument("file", type=FILE, metavar="KIT")
WITH = click.option(
    "--with", "options", multiple=True, metavar="OPTION", help="Take this option of the kit too."
)


class CheckAsked(Asked):
    """The options of `kit check`."""

    unit: Path | None
    job: Path | None
    options: tuple[str, ...]


@click.group()
def kit() -> None:
    """What is handed over for one overhaul: check it, print its sheet, draw it from the shelf.

    KIT is a file that holds a kit, and holds or names its unit.
    """


@kit.command()
@KIT
@UNIT
@click.option("--job", type=FILE, help="Also build this job from the kit; list what is left over.")
@WITH
@solving
def check(file: Path, **asked: Unpack[CheckAsked]) -> int:
    """Say what a kit covers, what it lacks, and what a job would leave over.

    Every pack and end play is gone through, each alone, drawing on the whole kit.
    """
    from gapwright.kit.checking import check_kit, exit_code
    from gapwright.patience import patience
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        found = check_kit(file, asked["unit"], asked["job"], asked["options"], limits)
    if asked["as_json"]:
        from gapwright.kit.as_json import dump_kit as tell
    else:
        from gapwright.kit.words import tell_kit as tell
    click.echo(tell(found, asked["lengths"]))
    return exit_code(found)
