"""The front page of a stack of sheets: its jobs, and one list of what to fetch for all of them.

Each job is solved alone, so together they may want more of a lot than there is. The front page
says so.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.fit.assembly import fetched
from gapwright.fit.gap_text import part_name, place_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from gapwright.fit.assembly import AssemblyStep
    from gapwright.fit.report import Report
    from specs.models.lot import Lot


@dataclass(frozen=True, slots=True)
class Want:
    """Parts of one name to fetch at one place, and the jobs they are for."""

    place: str
    name: str
    count: int
    jobs: str


@dataclass(frozen=True, slots=True)
class Front:
    """The contents of a front page."""

    day: str
    fetch: tuple[Want, ...]
    short: tuple[str, ...]
    """Lots of which the jobs together want more than there is."""


@dataclass(frozen=True, slots=True)
class _Taken:
    """One part that a job takes from a shelf."""

    job: str
    shelf: Path
    lot: Lot
    line: AssemblyStep


def front_of(reports: Sequence[Report], day: date) -> Front:
    """Collect the parts that several jobs take from their shelves."""
    taken = [part for report in reports for part in _taken(report)]
    several = len({part.shelf for part in taken}) > 1
    by_place: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
    by_lot: defaultdict[tuple[Path, str], list[_Taken]] = defaultdict(list)
    for part in taken:
        if not part.lot.tried:  # it lies in the drum already
            by_place[_place(part, several=several), part_name(part.line)].append(part.job)
        by_lot[part.shelf, part.lot.entry].append(part)
    on_hand = _on_hand(reports)
    fetch = (
        Want(place, name, len(jobs), _jobs(jobs))
        for (place, name), jobs in sorted(by_place.items())
    )
    short = (
        f"{_place(parts[0], several=several)}: {len(parts)} x {part_name(parts[0].line)} wanted "
        f"({_jobs([part.job for part in parts])}), {there} on hand"
        for entry, parts in by_lot.items()
        if len(parts) > (there := on_hand[entry])
    )
    return Front(day.isoformat(), tuple(fetch), tuple(sorted(short)))


def _on_hand(reports: Sequence[Report]) -> Counter[tuple[Path, str]]:
    """Count the parts of every entry of every shelf, as the jobs found them."""
    most: Counter[tuple[Path, str]] = Counter()
    for report in reports:
        found = Counter(
            (_shelf(report), lot.entry)
            for choice in report.answer.instance.choices
            for lot in choice.lots
            for _ in range(lot.count)
        )
        most |= found
    return most


def _shelf(report: Report) -> Path:
    return Path(report.case.origins["shelf"].source.file).resolve()


def _taken(report: Report) -> Iterator[_Taken]:
    shelf = _shelf(report)
    for line, lot in fetched(report.gaps):
        if not lot.own:
            yield _Taken(report.case.job.name, shelf, lot, line)


def _place(part: _Taken, *, several: bool) -> str:
    """Name the place to fetch a part from, with the shelf's file where the jobs have several."""
    place = place_of(part.lot)
    return f"{part.shelf.name}, {place}" if several else place


def _jobs(names: list[str]) -> str:
    return ", ".join(f"{job} {count}" for job, count in Counter(names).items())
