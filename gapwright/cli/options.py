"""The options that verbs share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

import click

if TYPE_CHECKING:
    from collections.abc import Callable

    from specs.values.lengths import LengthUnit

    Command = Callable[..., int]

FILE = click.Path(path_type=Path)
LENGTHS = click.Choice(["in", "mm", "thou"])
UNIT = click.option("--unit", type=FILE, help="Take the unit from this file.")
SHELF = click.option(
    "--shelf", help="Take the shelf from this file, kit or ledger: shop.db, postgresql://..."
)

HISTORY = click.option(
    "--history", metavar="PLACE",
    help="Past drums: a folder of job files, a ledger, or a CSV file of spaces.",
)  # fmt: skip
REPLACE = click.option("--replace", is_flag=True, help="Write over a file that is there.")


def stop_after(seconds: float, what: str) -> Callable[[Command], Command]:
    """The option that ends a search with what was found so far."""
    return click.option(
        "--time", "seconds", type=click.FloatRange(min=0), default=seconds, show_default=True,
        help=f"Stop after so many seconds with the best {what} so far.",
    )  # fmt: skip


OUT_SHEET = click.option(
    "-o", "--out", type=FILE, metavar="FILE.html|.pdf",
    help="Write it here; else beside the file it is of, as .html.",
)  # fmt: skip
PAPER = click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True,
    help="Lay it out for this paper.",
)  # fmt: skip
BOTH_LENGTHS = click.option(
    "--lengths", type=LENGTHS,
    help="Print lengths in this unit first; the other stands beside it.",
)  # fmt: skip


class SpreadOptions(TypedDict):
    """Who does independent work: `gapwright.workers_of` takes it."""

    workers: int | None
    cluster: str | None


def spreading(command: Command) -> Command:
    """Add the options of verbs whose work is spread over cores or a cluster."""
    for option in (
        click.option(
            "--cluster", metavar="ADDRESS",
            help="Let a Dask cluster do the work: tcp://HOST:8786. The answer is the same.",
        ),
        click.option(
            "--workers", type=click.IntRange(1, 64),
            help="Work on so many cores; all of this machine unless given. The answer is the same.",
        ),
    ):  # fmt: skip
        command = option(command)
    return command


class CommonOptions(TypedDict):
    """The options every solving verb takes."""

    as_json: bool
    lengths: LengthUnit | None
    seconds: float
    workers: int


def solving(command: Command) -> Command:
    """Add the options every solving verb takes."""
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON."),
        click.option("--lengths", type=LENGTHS, help="Print lengths in this unit."),
        stop_after(60.0, "build"),
        click.option(
            "--workers", type=click.IntRange(1, 64), default=1, show_default=True,
            help="Search on so many cores; the proved answer is the same.",
        ),
    ):  # fmt: skip
        command = option(command)
    return command
