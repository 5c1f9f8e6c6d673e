"""Several jobs at once, for `batch`: job files, folders of them, and tables of readings.

The problems of all of them are reported together.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, refusal
from specs.files.history import Uncounted
from specs.files.job_table import is_job_table, job_rows, read_job_table
from specs.files.read import FilesRead, case_of
from specs.formats.yaml import read

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

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
    for job in each_job(paths):
        if isinstance(job, InputError):
            problems += job.problems
        else:
            sources.append(job)
    return cases_of(sources, unit, shelf, problems)


def each_job(paths: Iterable[Path]) -> Iterator[Source | InputError]:
    """Yield the jobs of some files and folders, each by itself, whatever is wrong with another.

    Parameters
    ----------
    paths
        Job files, tables of jobs, and folders that hold some.

    Yields
    ------
    Source or InputError
        Each job, or what is wrong with a file or a row that cannot be read; in the order of the
        paths, within a folder in the order of file names.
    """
    for path in paths:
        if not path.is_dir():
            yield from jobs_of(path)
            continue
        jobs = (job for file in job_files(path) for job in jobs_of(file, inside=True))
        holds = False
        for job in jobs:
            holds = True
            yield job
        if not holds:
            sentence = "this folder holds no job files and no tables of jobs"
            yield InputError(Problem(sentence, str(path)))


def job_files(folder: Path) -> list[Path]:
    """List the files of a folder that may hold jobs, in the order of their names.

    Raises InputError where the folder cannot be listed.
    """
    try:
        inside = sorted(folder.iterdir())
    except OSError as error:
        sentence = f"cannot be listed ({error.strerror}): check its permissions"
        raise InputError(Problem(sentence, str(folder))) from None
    return [file for file in inside if file.suffix.lower() in (*FILES, *TABLES)]


def jobs_of(file: Path, *, inside: bool = False) -> Iterator[Source | InputError]:
    """Yield the jobs of one file, each by itself.

    Parameters
    ----------
    file
        A job file, or a table of jobs.
    inside
        Whether it was found in a folder, where a file that holds no jobs is passed over.

    Yields
    ------
    Source or InputError
        Each job, or what is wrong with the file or with a row of it.
    """
    try:
        if file.suffix.lower() not in TABLES:
            source = read(file)
            if "job" in source.data or not inside:
                yield source
        elif not inside or is_job_table(file):
            for row in job_rows(file):
                yield InputError(row) if isinstance(row, Problem) else row
    except InputError as error:
        yield error


def read_each(
    paths: Iterable[Path], unit: Path | None = None, shelf: Path | str | None = None
) -> tuple[tuple[Case, ...], tuple[Uncounted, ...]]:
    """Read the jobs of some files and folders as a history, in which one does not block the rest.

    Parameters are those of `read_cases`.

    Returns
    -------
    tuple of (tuple of Case, tuple of Uncounted)
        The jobs that can be read, and the others: broken, or of a name that stands before.
    """
    jobs = [*each_job(paths)]
    seen = FilesRead()
    for job in jobs:
        if not isinstance(job, InputError):
            seen.look(job, unit)
    cases: list[Case] = []
    names: dict[str, Source] = {}
    uncounted: list[Uncounted] = []
    for job in jobs:
        try:
            if isinstance(job, InputError):
                raise job
            check_first(job, names)
            cases.append(case_of(job, unit, shelf, seen))
        except InputError as error:
            uncounted.append(uncounted_for(error, job))
    return tuple(cases), tuple(uncounted)


def uncounted_for(error: InputError, job: Source | InputError) -> Uncounted:
    """Name a kept job that does not count, and say why."""
    name = "" if isinstance(job, InputError) else stated_name(job)
    file = error.problems[0].file if isinstance(job, InputError) else job.file
    return Uncounted(name or Path(file).name, error.problems[0])


def stated_name(source: Source) -> str:
    """Return the name that a job states; empty where it states none."""
    job = source.data.get("job")
    name = job.get("name") if isinstance(job, dict) else None
    return name if isinstance(name, str) else ""


def check_first(source: Source, names: dict[str, Source]) -> None:
    """Note the name that a job states; raise InputError where another job before states it too."""
    name = stated_name(source)
    first = names.setdefault(name, source) if name else source
    if first is not source:
        line = source.line(("job", "name"))
        raise InputError(Problem(named_twice(name, _place(first)), source.file, line, "job.name"))


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


def named_twice(name: str, where: str) -> str:
    """Say that a name is that of another job, and where that one stands."""
    return f'"{name}" is the name of a job in {where} too; name each once'


def _place(job: Source) -> str:
    return f"{job.file}:{job.line(('job', 'name'))}"


def _clashes(cases: list[Case]) -> Iterator[Problem]:
    names: dict[str, Source] = {}
    for case in cases:
        source = case.origins["job"].source
        first = names.setdefault(case.job.name, source)
        if first is not source:
            yield case.origins["job"].problem(("name",), named_twice(case.job.name, _place(first)))
