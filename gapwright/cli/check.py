"""`gapwright check`: what was built against what was promised."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import FILE, SHELF, UNIT, CommonOptions, solving

if TYPE_CHECKING:
    from pathlib import Path

    from solver.engines.limits import Limits


@click.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True)
@UNIT
@SHELF
@click.option(
    "--history",
    is_flag=True,
    help="Of many jobs (files, folders, tables): how far each gauge and hand is off.",
)
@click.option("--picture", type=FILE, help="With --history: draw it as .svg, .png or .pdf.")
@solving
def check(
    jobs: tuple[Path, ...],
    unit: Path | None,
    shelf: str | None,
    *,
    history: bool,
    picture: Path | None,
    **options: Unpack[CommonOptions],
) -> int:
    """Compare what was measured after assembly with what was promised, and say what to change."""
    from solver.engines.limits import Limits
    from specs.errors import InputError, Problem

    limits = Limits(options["seconds"], options["workers"])
    if history:
        return _look_back(jobs, unit, shelf, limits, picture, options)
    if len(jobs) > 1 or picture is not None:
        raise InputError(Problem("check takes one job; with --history many, and a picture"))
    return _check(jobs[0], unit, shelf, limits, options)


def _check(
    job: Path, unit: Path | None, shelf: str | None, limits: Limits, options: CommonOptions
) -> int:
    from gapwright.check.service import check_job
    from gapwright.cli.progress import progress_shown
    from gapwright.output.rendering import render
    from solver.problem.solution import Undecided

    with progress_shown(limits.watch):
        found = check_job(job, unit, shelf, limits)
    click.echo(render(found, options["lengths"], as_json=options["as_json"]))
    if found.change and isinstance(found.change.answer, Undecided):
        return 4
    return 0 if found.inside and found.even else 3


def _look_back(
    jobs: tuple[Path, ...], unit: Path | None, shelf: str | None, limits: Limits,
    picture: Path | None, options: CommonOptions,
) -> int:  # fmt: skip
    from gapwright.check.chart import history_chart
    from gapwright.check.history import look_back
    from gapwright.cli.progress import progress_shown
    from gapwright.drawing.figure import check_picture
    from gapwright.output.rendering import render

    if picture is not None:
        check_picture(picture)
    with progress_shown(limits.watch):
        found = look_back(jobs, unit, shelf, limits)
    click.echo(render(found, options["lengths"], as_json=options["as_json"]))
    if picture is not None:
        history_chart(found, options["lengths"]).save(picture)
    return 0
