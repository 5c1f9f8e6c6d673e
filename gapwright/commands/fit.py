"""`gapwright fit`: one rebuild."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.commands.options import FILE, SHELF, UNIT, Asked, solving
from gapwright.commands.shelf import WHO, said_by

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.report import Report
    from specs.lengths import Unit


class AskedOfFit(Asked):
    """The options of `fit`."""

    why: bool
    reserve: bool
    who: str | None


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
@click.option("--reserve", is_flag=True, help="Reserve its parts in the shelf's ledger.")
@WHO
@solving
def fit(
    job: Path, unit: Path | None, shelf: str | None, best: int, **asked: Unpack[AskedOfFit]
) -> int:
    """Choose the parts of one rebuild, in order, or say that nothing fits."""
    from gapwright.desk import fit_job, fit_reserved
    from gapwright.patience import patience
    from gapwright.report import exit_code
    from solver.engine import Limits
    from specs.files import read_case

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        if asked["reserve"]:
            case, said = read_case(job, unit, shelf), said_by(asked["who"])
            report = fit_reserved(case, said, limits, best, why=asked["why"])
        else:
            report = fit_job(job, unit, shelf, limits, best, why=asked["why"])
    click.echo(told(report, asked["lengths"], as_json=asked["as_json"]))
    return exit_code(report)


def told(report: Report, lengths: Unit | None, *, as_json: bool) -> str:
    """A report in words or as JSON."""
    if as_json:
        from gapwright.as_json import dump

        return dump(report, lengths)
    from gapwright.words import tell

    return tell(report, lengths)
