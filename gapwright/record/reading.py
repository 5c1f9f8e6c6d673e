"""Job files read for a verb: what was begun to be written together with them is finished first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.output.together import finish, finish_in
from specs.files.read import read_case
from specs.files.read_many import read_cases

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from specs.models.case import Case


def job_case(job: Path, unit: Path | None = None, shelf: Path | str | None = None) -> Case:
    """Read a job with its unit and its shelf, as `read_case` does, after what was begun is done.

    Raises InputError also where that cannot be finished.
    """
    finish(job)
    return read_case(job, unit, shelf)


def job_cases(
    paths: Iterable[Path], unit: Path | None = None, shelf: Path | str | None = None
) -> tuple[Case, ...]:
    """Read jobs as `read_cases` does, after what was begun in their folders is done.

    Raises InputError also where that cannot be finished.
    """
    paths = [*paths]
    for folder in dict.fromkeys(path if path.is_dir() else path.parent for path in paths):
        finish_in(folder)
    return read_cases(paths, unit, shelf)
