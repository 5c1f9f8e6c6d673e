"""`gapwright fit`: one rebuild."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.cli.options import FILE, HISTORY, SHELF, UNIT, CommonOptions, solving
from gapwright.cli.shelf import WHO, author_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from gapwright.fit.report import Report


class FitOptions(CommonOptions):
    """The options of `fit`."""

    why: bool
    promise: bool
    reserve: bool
    who: str | None
    sure: str | None
    history: str | None
    picture: Path | None


def _retired(_: click.Context, option: click.Parameter, given: str | None) -> None:
    """Refuse an option that is gone, and tell of what is asked in its place."""
    if given is not None:
        from specs.errors import InputError, Problem

        sentence = f"{option.opts[0]} is gone: ask for --sure 95, that every gap is so sure"
        raise InputError(Problem(sentence))


def _gone(name: str) -> Callable[[Callable[..., int]], Callable[..., int]]:
    """An option that was taken out, so that whoever still gives it is told."""
    return click.option(
        name, is_flag=False, flag_value="", hidden=True, expose_value=False, callback=_retired
    )


@click.command()
@click.argument("job", type=FILE)
@UNIT
@SHELF
@click.option(
    "--best", type=click.IntRange(1, 50), default=1, help="List so many best builds that differ."
)
@click.option(
    "--why",
    is_flag=True,
    help="Say what each aim costs and how far each reading may be off; or the shortest reason.",
)
@click.option("--sure", help="Only builds whose every gap is so sure, in percent: --sure 95.")
@_gone("--sure-job")
@_gone("--guard")
@HISTORY
@click.option("--picture", type=FILE, help="Draw each pack with its heat, as .svg, .png or .pdf.")
@click.option("--promise", is_flag=True, help="Keep the answer as what is promised for the job.")
@click.option("--reserve", is_flag=True, help="Reserve its parts in the shelf's ledger.")
@WHO
@solving
def fit(
    job: Path, unit: Path | None, shelf: str | None, best: int, **options: Unpack[FitOptions]
) -> int:
    """Choose the parts of one rebuild, in order, or say that nothing fits."""
    from gapwright.cli.progress import progress_shown
    from gapwright.fit.decision_rule import demand_of
    from gapwright.fit.report import exit_code
    from gapwright.fit.service import Further, fit_case, fit_promised, fit_reserved
    from gapwright.output.rendering import render
    from gapwright.record.former_units import records_of
    from gapwright.record.reading import job_case
    from solver.engines.limits import Limits

    if options["picture"] is not None:
        from gapwright.drawing.figure import check_picture

        check_picture(options["picture"])
    limits = Limits(options["seconds"], options["workers"])
    demand = demand_of(options["sure"], why=options["why"])
    with progress_shown(limits.watch):
        case = job_case(job, unit, shelf)
        further = Further(why=options["why"], demand=demand, records=records_of(options["history"]))
        if options["reserve"]:
            report = fit_reserved(case, author_of(options["who"]), limits, best, **further)
        elif options["promise"]:
            whose = author_of(options["who"]) if case.ledger else None
            report = fit_promised(case, whose, limits, best, **further)
        else:
            report = fit_case(case, limits, best, **further)
    click.echo(render(report, options["lengths"], as_json=options["as_json"]))
    if options["picture"] is not None:
        _draw(options["picture"], report)
    return exit_code(report)


def _draw(picture: Path, report: Report) -> None:
    """Draw each pack with its heat."""
    from gapwright.fit.chart import heat_chart

    chart = heat_chart(report)
    if chart is None:
        click.echo("no picture was drawn: the answer has no pack with steels", err=True)
    else:
        chart.save(picture)
