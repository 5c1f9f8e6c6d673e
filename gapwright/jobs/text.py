"""The sentences of `jobs`: each job in a line, and under it what it waits for."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from gapwright.output.text_table import table
from gapwright.record.text import taken_words
from gapwright.shelf.text import so_many

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.jobs.service import Jobs, ListedJob
    from gapwright.record.state import JobState, StateName
    from specs.values.lengths import LengthUnit

WIDTH, FEW = 80, 4
HEAD = ("job", "unit", "state", "due", "priority")


def jobs_text(found: Jobs, unit: LengthUnit) -> Iterator[str]:
    """Write the jobs line by line, then what could not be read."""
    rows = [(job.name, job.unit, job.state.name, job.due, str(job.priority)) for job in found.jobs]
    if rows:
        head, *lines = table([HEAD, *rows])
        yield head
        for line, job in zip(lines, found.jobs, strict=True):
            yield line
            yield from _indented(waits(job, unit))
    else:
        yield "no open job"
    if found.closed:
        verb = "is" if found.closed == 1 else "are"
        yield f"{so_many(found.closed, 'closed job')} {verb} left out; --all lists them"
    for problem in found.twice:
        yield from ("", str(problem))
    if found.unread:
        yield from ("", "cannot be read, and left out:")
        yield from (f"  {problem}" for problems in found.unread for problem in problems)


def _indented(words: str) -> list[str]:
    return wrap(
        words, WIDTH, initial_indent="  ", subsequent_indent="  ", break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip


def waits(job: ListedJob, unit: LengthUnit) -> str:
    """Say what a job waits for; of a closed one, since when it is."""
    state = job.state
    parts = _some([taken_words(taken, unit) for taken in state.parts], "lots")
    gaps = _some([f"{gap} ({', '.join(names)})" for gap, names in state.unread.items()], "gaps")
    changed = f", and changed since: gapwright close {job.file} --correct" * job.changed
    words: dict[StateName, str] = {
        "measuring": f"read {gaps}",
        "to choose": f"choose: gapwright fit {job.file}",
        "waiting for parts": f"not on hand: {parts}",
        "chosen": f"fetch {parts}" if parts else "assemble it: nothing is fetched",
        "reserved": f"fetch {parts}" if parts else "issue what is reserved for it",
        "taken": "assemble it, and measure every gap",
        "built": _after_assembly(state),
        "checked": f"close it: gapwright close {job.file}",
        "closed": f"on {job.closed}{changed}",
    }
    return words[state.name]


def _some(words: list[str], what: str) -> str:
    """List a few, and how many more there are."""
    more = [f"{len(words) - FEW} more {what}"] if len(words) > FEW + 1 else words[FEW:]
    return ", ".join([*words[:FEW], *more])


def _after_assembly(state: JobState) -> str:
    off = [f"not as promised: {', '.join(state.off)}"] if state.off else []
    left = [f"measure {', '.join(state.unbuilt)}"] if state.unbuilt else []
    return "; ".join([*off, *left]) or "nothing was promised"
