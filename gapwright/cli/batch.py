"""`gapwright batch`: several rebuilds from one shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import (
    FILE,
    HISTORY,
    LENGTHS,
    SHELF,
    SpreadOptions,
    spreading,
    stop_after,
)
from gapwright.cli.shelf import WHO, author_of

if TYPE_CHECKING:
    from pathlib import Path

    from specs.values.lengths import LengthUnit


class BatchOptions(SpreadOptions):
    """What is asked of a plan besides its jobs."""

    pin: tuple[str, ...]
    hold: tuple[str, ...]
    keep: Path | None
    budget: str | None
    day: str | None
    history: str | None
    csv: Path | None
    picture: Path | None
    reserve: bool
    who: str | None
    as_json: bool
    lengths: LengthUnit | None
    seconds: float


@click.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True, metavar="JOB...")
@click.option("--unit", type=FILE, help="Take the unit of every job from this file.")
@SHELF
@click.option("--pin", multiple=True, metavar="JOB", help="Complete this job before any other.")
@click.option("--hold", multiple=True, metavar="JOB", help="Hold this job back.")
@click.option(
    "--keep-plan", "keep", type=FILE, help="Change least from this earlier plan (its JSON)."
)
@click.option("--budget", metavar="AMOUNT", help="Also find the order within it that does most.")
@click.option("--day", metavar="DATE", help="Count due dates from this day; today unless given.")
@HISTORY
@click.option("--csv", type=FILE, help="Write the plan as a table for a spreadsheet.")
@click.option("--picture", type=FILE, help="Draw jobs against sizes, as .svg, .png or .pdf.")
@click.option("--reserve", is_flag=True, help="Reserve all of its parts in the shelf's ledger.")
@WHO
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
@click.option("--lengths", type=LENGTHS, help="Print lengths in this unit.")
@spreading
@stop_after(300.0, "plan")
def batch(
    jobs: tuple[Path, ...], unit: Path | None, shelf: str | None, **options: Unpack[BatchOptions]
) -> int:
    """Plan several rebuilds from one shelf: which to complete, with which parts, what to order.

    JOB is a job file, a folder of them, or a CSV table of readings with one row for each drum.
    Where jobs name different shelves, every shelf is planned by itself.
    """
    from gapwright.batch.options import plan_options, write
    from gapwright.batch.service import by_shelf
    from gapwright.batch.several_shelves import Plans, plan_shelves
    from gapwright.cli.progress import progress_line
    from gapwright.drawing.figure import check_picture
    from gapwright.output.rendering import render
    from gapwright.record.former_units import records_of
    from gapwright.record.reading import job_cases
    from gapwright.workers import executor_of
    from solver.engines.limits import Limits

    if options["picture"] is not None:
        check_picture(options["picture"])
    limits = Limits(options["seconds"])
    chosen = plan_options(
        options["pin"], options["hold"], options["keep"], options["budget"], options["day"],
        records_of(options["history"]),
    )  # fmt: skip
    with progress_line(limits.watch):
        cases = job_cases(jobs, unit, shelf)
        author = author_of(options["who"]) if options["reserve"] else None
        with executor_of(options["workers"], options["cluster"], len(by_shelf(cases))) as executor:
            plans = plan_shelves(cases, executor, limits, chosen, author)
    click.echo(render(Plans(plans), options["lengths"], as_json=options["as_json"]))
    write(plans, options["lengths"], table=options["csv"], picture=options["picture"])
    if not all(report.plan.proved for report in plans.values()):
        return 4
    left = any(None in report.plan.builds for report in plans.values())
    unread = any(nothing for report in plans.values() for nothing in report.unread)
    return 3 if left or unread else 0
