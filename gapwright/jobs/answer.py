"""What `jobs` prints as JSON and as a table for a spreadsheet, each key declared once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.output.answers import Answer, Words, key
from gapwright.record.answer import TakenAnswer
from gapwright.record.state import StateName
from specs.formats.table import defused, write_table

if TYPE_CHECKING:
    from gapwright.jobs.service import Jobs, ListedJob
    from specs.values.lengths import LengthUnit

HEAD = ("name", "unit", "state", "waits", "priority", "due", "closed", "file")
"""Without a column `job`, so that the table is none of jobs to be read."""


def _waits(job: ListedJob) -> Words:
    from gapwright.jobs.text import waits

    return lambda unit: waits(job, unit)


class UnmeasuredAnswer(Answer):
    """A gap that lacks readings."""

    gap: str
    """Its name."""
    readings: list[str]
    """The readings that are missing."""


class ListedJobAnswer(Answer):
    """One job with its state."""

    name: str
    """The name it states, or that of its file."""
    file: str
    """The file it stands in."""
    line: int | None = key(lambda job: job.line or None)
    """Its line in a table of jobs; null for a file of its own."""
    unit: str
    """Its unit."""
    state: StateName = key(lambda job: job.state.name)
    """Where it is."""
    waits: Words = key(_waits)
    """What it waits for, in words."""
    unread: list[UnmeasuredAnswer] = key(
        lambda job: [
            UnmeasuredAnswer(gap=gap, readings=list(names))
            for gap, names in job.state.unread.items()
        ]
    )
    """While it is measured: the gaps that lack readings."""
    unbuilt: list[str] = key(lambda job: list(job.state.unbuilt))
    """Once it is built: the promised gaps that were not measured after assembly."""
    off: list[str] = key(lambda job: list(job.state.off))
    """Once it is built: the gaps that are not as promised, or not within their windows."""
    parts: list[TakenAnswer] = key(lambda job: [TakenAnswer(one) for one in job.state.parts])
    """What is to be fetched from the shelf; while it waits for parts, what of it is not on hand."""
    priority: int
    """How much it counts among several."""
    due: str | None
    """The day it is due."""
    closed: str | None
    """The day it was closed."""
    changed: bool
    """Whether it was changed since it was closed."""


class JobsAnswer(Answer, shape="gapwright jobs 1"):
    """The jobs of some folders."""

    jobs: list[ListedJobAnswer] = key(lambda found: [ListedJobAnswer(job) for job in found.jobs])
    """Each job: what is due first comes first, then what counts more."""
    unread: list[str] = key(
        lambda found: [str(problem) for problems in found.unread for problem in problems]
    )
    """What is wrong with files and rows that cannot be read, each with its file and line."""
    twice: list[str] = key(lambda found: [str(problem) for problem in found.twice])
    """Jobs whose name another one has, each with its file and line."""
    closed: int
    """How many closed jobs are left out."""


ANSWERS = {"jobs": (JobsAnswer,)}


def jobs_table(found: Jobs, unit: LengthUnit) -> str:
    """Write the jobs as a table for a spreadsheet."""
    from gapwright.jobs.text import waits

    rows = [
        (
            defused(job.name), defused(job.unit), job.state.name, defused(waits(job, unit)),
            job.priority, job.due, job.closed, defused(job.file),
        )
        for job in found.jobs
    ]  # fmt: skip
    return write_table([HEAD, *rows])
