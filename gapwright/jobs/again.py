"""A unit that comes back: a new job from a closed record, with what was built as what is in it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gapwright.close.settlement import builds_in
from gapwright.output.files import check_folder, put
from gapwright.record.book import read_book
from gapwright.record.lots import kept_lots
from gapwright.record.state import standing_of
from specs.errors import InputError, Problem
from specs.files.read import case_of
from specs.files.read_many import each_job, stated_name
from specs.files.shelf_address import is_server
from specs.findings import near
from specs.formats.yaml_text import written
from specs.gaps.job_gap import JobGap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.models.job import Parts


def begin_again(
    paths: Sequence[Path],
    name: str,
    file: Path,
    unit: Path | None = None,
    shelf: Path | str | None = None,
) -> None:
    """Write a new job file for a unit that comes back.

    It has the unit, the shelf and the facts of the earlier job, what was built in as what is in the
    unit now, and a note that names that job; no reading is carried over. Its name is that of the
    file.

    Parameters
    ----------
    paths
        Job files, tables of jobs, and folders that hold some.
    name
        The name of the earlier job, which is closed.
    file
        The file to write.
    unit, shelf
        The files, or the address of a ledger, to read in place of those the job names.

    Raises
    ------
    InputError
        Where there is no such job, it is not closed, or the new one's name or file is there.
    """
    if file.exists():
        raise InputError(Problem("is there already and is left as it is; name another", str(file)))
    check_folder(file)
    case = case_of(_earlier(paths, name, file.stem), unit, shelf)
    book = read_book(case.ledger) if case.ledger else None
    standing = standing_of(case, book, kept_lots(case, book.balances if book else None))
    if standing.closed is None:
        sentence = f"{name} is not closed yet: gapwright close {case.origins['job'].source.file}"
        raise InputError(Problem(sentence, case.origins["job"].source.file))
    if book and file.stem in book.accounts:
        sentence = f'"{file.stem}" is the name of a job there; give the new one a name of its own'
        raise InputError(Problem(sentence, book.shelf))
    job: dict[str, Any] = {"name": file.stem}
    if case.job.facts:
        job["facts"] = case.job.facts
    builds = builds_in(case, standing.promised)
    job["gaps"] = {gap: {"now": _listed(case, gap, build)} for gap, build in builds.items()}
    job["note"] = f"comeback of {name}, closed on {standing.closed.on}"
    data = {"length": case.length, **_sections(case, file), "job": job}
    put(written(data), file, replace=False)


def _earlier(paths: Sequence[Path], name: str, new: str) -> Source:
    """Find a job by its name; raise InputError where there is none, or one of the new name."""
    found = [source for source in each_job(paths) if not isinstance(source, InputError)]
    named = {stated_name(source): source for source in found}
    places = ", ".join(map(str, paths))
    if name not in named:
        raise InputError(Problem(near(name, [*filter(None, named)], "its jobs"), places))
    if new in named:
        sentence = f'"{new}" is the name of a job already; give the new one a name of its own'
        raise InputError(Problem(sentence, named[new].file))
    if sum(stated_name(source) == name for source in found) > 1:
        sentence = f'"{name}" is the name of several jobs; name the file of the one that is meant'
        raise InputError(Problem(sentence, places))
    return named[name]


def _sections(case: Case, file: Path) -> dict[str, str]:
    """Return where the unit and the shelf stand, from the folder of the new file."""
    paths = {name: case.origins[name].source.file for name in ("unit", "shelf")}
    return {
        name: path if is_server(path) else Path(os.path.relpath(path, file.parent)).as_posix()
        for name, path in paths.items()
    }


def _listed(case: Case, gap: str, build: Parts) -> Any:  # noqa: ANN401 - a list, or a mapping
    parts = [places[0] if len(places) == 1 else [*places] for places in build.parts]
    layout = JobGap(case, gap).build(build).layout
    return parts if len(case.unit.gaps[gap].layouts) <= 1 else {"parts": parts, "layout": layout}
