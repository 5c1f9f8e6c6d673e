"""Several jobs at once, for `batch`: job files, folders of them, and tables of readings.

The problems of all of them are reported together.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, refusal
from specs.files.job_table import is_job_table, read_job_table
from specs.files.read import FilesRead, case_of
from specs.formats.yaml import read

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from specs.formats.yaml import Source
    from specs.models.case import Case

FILES, TABLES = (".yaml", ".yml"), (".csv", ".tsv", ".txt")


def read_cases(
    paths: Iterable[Path], unit: Path | None = None, shelf: Path | str | None = None
) -> tuple[Case, ...]:
    """Read all jobs of some files and folders, with their units and shelves.

    Parameters
    ----------
    paths
        Job files, tables of jobs, and folders that hold some.
    unit, shelf
        The files, or the address of a ledger, to read in place of those the jobs name.

    Returns
    -------
    tuple of Case
        One for each job, in the order of the paths; within a folder, in the order of file names.

    Raises
    ------
    InputError
        With the problems of all files, and for two jobs of one name.
    """
    problems: list[Problem] = []
    sources: list[Source] = []
    for path in _files(paths, problems):
        try:
            sources += read_jobs(path)
        except InputError as error:
            problems += error.problems
    return cases_of(sources, unit, shelf, problems)


def read_jobs(path: Path) -> list[Source]:
    """Read a job file, or every row of a table of jobs; raise InputError where that fails."""
    return read_job_table(path) if path.suffix.lower() in TABLES else [read(path)]


def cases_of(
    sources: Iterable[Source],
    unit: Path | None = None,
    shelf: Path | str | None = None,
    found: Iterable[Problem] = (),
) -> tuple[Case, ...]:
    """Build the cases of parsed jobs, with their units and shelves.

    Parameters
    ----------
    sources
        The jobs, one each.
    unit, shelf
        The files, or the address of a ledger, to read in place of those the jobs name.
    found
        Problems found before, to be reported with the others.

    Returns
    -------
    tuple of Case
        One for each job, in order.

    Raises
    ------
    InputError
        With all problems, those `found` first, and for two jobs of one name.
    """
    seen = FilesRead()
    problems = [*found]
    sources = [*sources]
    for source in sources:
        seen.look(source, unit)
    cases: list[Case] = []
    for source in sources:
        try:
            cases.append(case_of(source, unit, shelf, seen))
        except InputError as error:
            problems += error.problems
    problems += _clashes(cases)
    if problems:
        raise refusal(problems)
    return tuple(cases)


def _files(paths: Iterable[Path], problems: list[Problem]) -> Iterator[Path]:
    """Yield every file named, and all that hold jobs in a folder named, in order of their names."""
    for path in paths:
        if not path.is_dir():
            yield path
            continue
        inside = sorted(p for p in path.iterdir() if p.suffix.lower() in (*FILES, *TABLES))
        jobs = [p for p in inside if _holds_jobs(p)]
        if not jobs:
            problems.append(
                Problem("this folder holds no job files and no tables of jobs", str(path))
            )
        yield from jobs


def _holds_jobs(path: Path) -> bool:
    """Say whether a file is to be planned; one that cannot be read is, so that it is reported."""
    if path.suffix.lower() in TABLES:
        return is_job_table(path)
    try:
        return "job" in read(path).data
    except InputError:
        return True


def _clashes(cases: list[Case]) -> Iterator[Problem]:
    names: dict[str, str] = {}
    for case in cases:
        source = case.origins["job"].source
        where = f"{source.file}:{source.line(('job', 'name'))}"
        if case.job.name in names:
            other = names[case.job.name]
            sentence = f'"{case.job.name}" is the name of a job in {other} too; name each once'
            yield case.origins["job"].problem(("name",), sentence)
        names.setdefault(case.job.name, where)
