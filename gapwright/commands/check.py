"""`gapwright check`: what was built against what was promised."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

import click

from gapwright.commands.options import FILE, SHELF, UNIT, Asked, solving

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@click.argument("job", type=FILE)
@UNIT
@SHELF
@solving
def check(job: Path, unit: Path | None, shelf: str | None, **asked: Unpack[Asked]) -> int:
    """Compare what was measured after assembly with what was promised, and say what to change."""
    from gapwright.check.as_json import dump_check
    from gapwright.check.checking import check_job
    from gapwright.check.words import tell_check
    from gapwright.patience import patience
    from solver.answer import Undecided
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        found = check_job(job, unit, shelf, limits)
    click.echo((dump_check if asked["as_json"] else tell_check)(found, asked["lengths"]))
    if found.change and isinstance(found.change.answer, Undecided):
        return 4
    return 0 if found.inside else 3
