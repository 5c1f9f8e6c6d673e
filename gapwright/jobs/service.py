"""The service of `jobs`: the state of every job of some folders, without solving anything."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.output.together import finish_in
from gapwright.record.book import Book, read_book
from gapwright.record.lots import KeptLot, LotKey, by_key, kept_lots
from gapwright.record.state import JobState, Standing, standing_of, state_of
from specs.errors import InputError, Problem, refusal
from specs.files.read import FilesRead, case_of
from specs.files.read_many import each_job, named_twice

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class ListedJob:
    """One job with its state."""

    name: str
    """The name it states, or that of its file."""
    file: str
    line: int
    """Its line in a table of jobs; 0 for a file of its own."""
    unit: str
    state: JobState
    priority: int
    due: str
    """Empty where no day is stated."""
    closed: str
    """The day it was closed; empty where it is open."""
    changed: bool
    """Whether it was changed since it was closed."""


@dataclass(frozen=True, slots=True)
class Jobs:
    """The jobs of some folders: what is due first comes first."""

    jobs: tuple[ListedJob, ...]
    unread: tuple[tuple[Problem, ...], ...]
    """What is wrong with each file or row that cannot be read."""
    twice: tuple[Problem, ...]
    """Names that two jobs have."""
    closed: int
    """How many closed jobs are left out."""
    length: LengthUnit = "in"


def list_jobs(
    paths: Sequence[Path],
    unit: Path | None = None,
    shelf: Path | str | None = None,
    *,
    closed: bool = False,
) -> Jobs:
    """Work out the state of every job of some folders.

    Parameters
    ----------
    paths
        Job files, tables of jobs, and folders that hold some.
    unit, shelf
        The files, or the address of a ledger, to read in place of those the jobs name.
    closed
        Whether closed jobs are listed too.

    Returns
    -------
    Jobs
        Each job that can be read with its state, in the order of their days, priorities and names;
        and what is wrong with the others.

    Raises
    ------
    InputError
        Where no job can be read at all.
    """
    found = [*_finished(paths), *each_job(paths)]
    reading = _Reading(unit, shelf)
    for source in found:
        if not isinstance(source, InputError):
            reading.seen.look(source, unit)
    unread: list[tuple[Problem, ...]] = []
    jobs: list[ListedJob] = []
    for source in found:
        try:
            if isinstance(source, InputError):
                raise source
            jobs.append(reading.job(source))
        except InputError as error:
            unread.append(error.problems)
    if unread and not jobs:
        raise refusal(problem for problems in unread for problem in problems)
    listed = [job for job in jobs if closed or not job.closed]
    listed.sort(key=lambda job: (not job.due, job.due, -job.priority, job.name, job.file))
    return Jobs(tuple(listed), tuple(unread), tuple(_twice(jobs)), len(jobs) - len(listed))


def _finished(paths: Sequence[Path]) -> Iterator[InputError]:
    """Finish what was begun to be written in some folders; yield what cannot be."""
    for folder in dict.fromkeys(path if path.is_dir() else path.parent for path in paths):
        try:
            finish_in(folder)
        except InputError as error:
            yield error


@dataclass(slots=True)
class _Reading:
    """What many jobs share, each read once."""

    unit: Path | None
    shelf: Path | str | None
    seen: FilesRead = field(default_factory=FilesRead)
    books: dict[str, Book] = field(default_factory=dict)
    lots: dict[tuple[object, ...], dict[LotKey, KeptLot]] = field(default_factory=dict)
    units: list[object] = field(default_factory=list)

    def job(self, source: Source) -> ListedJob:
        """Work out the state of one job; raise InputError where it cannot be read."""
        case = case_of(source, self.unit, self.shelf, self.seen)
        book = self._book(case.ledger) if case.ledger else None
        lots = self._lots(case, book)
        standing = standing_of(case, book, lots.values())
        return _listed(case, standing, state_of(case, standing, lots))

    def _book(self, address: str) -> Book:
        if address not in self.books:
            self.books[address] = read_book(address)
        return self.books[address]

    def _lots(self, case: Case, book: Book | None) -> dict[LotKey, KeptLot]:
        key = (case.ledger or id(case.shelf), id(case.unit), case.shelf_length)
        if key not in self.lots:
            self.units += [case.unit, case.shelf]  # kept, so that no other is at its address
            self.lots[key] = by_key(kept_lots(case, book.balances if book else None))
        return self.lots[key]


def _listed(case: Case, standing: Standing, state: JobState) -> ListedJob:
    origin = case.origins["job"]
    line = origin.source.line(()) if origin.source.lines.keys() == {()} else 0
    return ListedJob(
        name=origin.written(("name",)) or Path(origin.source.file).stem,
        file=origin.source.file,
        line=line,
        unit=case.unit.name,
        state=state,
        priority=case.job.priority,
        due=case.job.due or "",
        closed=standing.closed.on if standing.closed else "",
        changed=standing.changed(case),
    )


def _twice(jobs: Sequence[ListedJob]) -> list[Problem]:
    """Return a problem for each job whose name stands before."""
    first: dict[str, ListedJob] = {}
    return [
        Problem(named_twice(job.name, _place(first[job.name])), job.file, job.line)
        for job in jobs
        if first.setdefault(job.name, job) is not job
    ]


def _place(job: ListedJob) -> str:
    return f"{job.file}:{job.line}" if job.line else job.file
