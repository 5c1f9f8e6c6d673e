"""`gapwright kit`: a kit checked, handed over on paper, drawn from the shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from gapwright.cli.options import (
    BOTH_LENGTHS,
    FILE,
    HISTORY,
    OUT_SHEET,
    PAPER,
    UNIT,
    CommonOptions,
    solving,
)
from gapwright.cli.shelf import PostingOptions, author_of, posting
from gapwright.today import today

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.paper.job_sheet import Paper
    from specs.values.lengths import LengthUnit

KIT = click.argument("file", type=FILE, metavar="KIT")
WITH = click.option(
    "--with", "options", multiple=True, metavar="OPTION", help="Take this option of the kit too."
)


class KitCheckArguments(CommonOptions):
    """The options of `kit check`."""

    unit: Path | None
    job: Path | None
    history: str | None
    options: tuple[str, ...]


class KitPackArguments(PostingOptions):
    """The options of `kit pack` that say what is packed."""

    unit: Path | None
    count: int


class KitSheetArguments(TypedDict):
    """The options of `kit sheet`."""

    unit: Path | None
    out: Path | None
    paper: Paper
    lengths: LengthUnit | None


@click.group()
def kit() -> None:
    """What is handed over for one overhaul: check it, print its sheet, draw it from the shelf.

    KIT is a file that holds a kit, and holds or names its unit.
    """


@kit.command()
@KIT
@UNIT
@click.option("--job", type=FILE, help="Also build this job from the kit; list what is left over.")
@HISTORY
@WITH
@solving
def check(file: Path, **arguments: Unpack[KitCheckArguments]) -> int:
    """Say what a kit covers, what it lacks, and what a job would leave over.

    Every pack and end play is gone through, each alone, drawing on the whole kit.
    """
    from gapwright.cli.progress import progress_shown
    from gapwright.kit.service import check_kit, exit_code
    from gapwright.output.rendering import render
    from solver.engines.limits import Limits

    limits = Limits(arguments["seconds"], arguments["workers"])
    with progress_shown(limits.watch):
        found = check_kit(
            file,
            arguments["unit"],
            arguments["job"],
            arguments["history"],
            arguments["options"],
            limits,
        )
    click.echo(render(found, arguments["lengths"], as_json=arguments["as_json"]))
    return exit_code(found)


@kit.command()
@KIT
@UNIT
@OUT_SHEET
@PAPER
@BOTH_LENGTHS
def sheet(file: Path, **arguments: Unpack[KitSheetArguments]) -> int:
    """Write the sheet that goes with a kit: what is in it, what to measure, how to set bands."""
    from gapwright.output.template import fill_in
    from gapwright.paper.kit_sheet import TITLE, kit_sheet
    from gapwright.paper.sheet_file import check_sheet_file, print_page
    from specs.files.read import read_kit

    out = arguments["out"] or file.parent / f"{file.stem}.html"
    if (
        arguments["out"] or out.parent.is_dir()
    ):  # else the kit is not there either, and is what to name
        check_sheet_file(out, TITLE)
    laid = kit_sheet(read_kit(file, arguments["unit"]), today(), arguments["lengths"])
    page = fill_in("kit_sheet.html", sheet=laid, paper=arguments["paper"], title=TITLE)
    print_page(page, out, TITLE)
    click.echo(f"{out}: kit sheet of {laid.kit}, {laid.unit}")
    return 0


@kit.command()
@KIT
@click.option(
    "--shelf", "address", required=True, help="The ledger to draw from: shop.db, postgresql://..."
)
@UNIT
@click.option(
    "--count", type=click.IntRange(1, 1000), default=1, show_default=True, help="So many kits."
)
@WITH
@click.option(
    "--by-hand", multiple=True, metavar="PART",
    help="This part is put in by hand: the shelf does not keep it.",
)  # fmt: skip
@click.option("--job", default="", help="Under which name the parts leave; the kit's unless said.")
@posting
def pack(
    file: Path, address: str, options: tuple[str, ...], by_hand: tuple[str, ...], job: str,
    **arguments: Unpack[KitPackArguments],
) -> int:  # fmt: skip
    """Draw a kit from the shelf's ledger: all of its parts in one request, or nothing."""
    from gapwright.kit.packing import Packing, pack_kits
    from gapwright.output.rendering import render
    from specs.files.read import read_kit

    case = read_kit(file, arguments["unit"])
    packing = Packing(case, arguments["count"], options, by_hand, job)
    packed = pack_kits(
        packing, address, author_of(arguments["who"], arguments["why"], arguments["key"])
    )
    click.echo(render(packed, arguments["lengths"], as_json=arguments["as_json"]))
    return 0
