"""`gapwright demo`: something to begin with."""

from __future__ import annotations

from pathlib import Path

import click

from gapwright.cli.options import FILE
from gapwright.tell.options import TellOptions


@click.command()
@click.argument("folder", type=FILE, default=Path("gapwright-demo"))
def demo(folder: Path) -> int:
    """Write the demo's files into a new FOLDER and go through its jobs."""
    from gapwright.check.service import check_job
    from gapwright.demo import BUILT, KIT, write_demo
    from gapwright.fit.service import fit_job
    from gapwright.kit.service import check_kit
    from gapwright.output.rendering import render

    jobs = write_demo(folder)
    click.echo(f"The demo's files are in {folder}/: change them and run the commands again.\n")
    for job in jobs:
        click.echo(f"$ gapwright fit {job}")
        click.echo(render(fit_job(job)) + "\n")
    click.echo(f"$ gapwright check {folder / BUILT}")
    click.echo(render(check_job(folder / BUILT)) + "\n")
    click.echo(f"$ gapwright kit check {folder / KIT} --job {jobs[0]}")
    click.echo(render(check_kit(folder / KIT, job=jobs[0])) + "\n")
    _identified(folder)
    return 0


def _identified(folder: Path) -> None:
    """Sort the demo's pile, and be refused a piston with the other piston's spring."""
    from gapwright.demo import MIXED, PILE
    from gapwright.output.rendering import render
    from gapwright.tell.pile import tell_parts
    from specs.errors import InputError

    options: TellOptions = {
        "unit": folder / "unit.yaml", "list_": folder / PILE, "gauge": "", "seen": (),
        "used": False, "flatness": None, "coning": None, "found": (), "sure": 95.0,
    }  # fmt: skip
    unit = f"--unit {folder / 'unit.yaml'}"
    click.echo(f"$ gapwright tell --list {folder / PILE} {unit}")
    click.echo(render(tell_parts((), options)) + "\n")
    piston, spring = MIXED
    click.echo(f'$ gapwright tell {piston} {unit} --seen "{spring}"')
    try:
        tell_parts((piston,), {**options, "list_": None, "seen": (spring,)})
    except InputError as refused:
        click.echo(f"{refused}\n")
