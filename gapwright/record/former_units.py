"""Former units: the rooms that kept jobs were read with, and what was built in them.

Kept jobs are the job files of a folder, the rows of tables of jobs, and the promises in a ledger; a
table of past drums has rooms alone. From here comes every history that is named: of `fit` and
`batch`, and, as a `History`, of `cover`, `stock` and `kit check`. A job that cannot be read or has
not been read yet counts for nothing and blocks nothing: it is named with the reason.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import inventory
from specs.errors import InputError, Problem, listed
from specs.files.history import History, Uncounted, read_history
from specs.files.job_table import holds_jobs
from specs.files.notes import PROMISE, promised_rooms
from specs.files.read import job_of_unit
from specs.files.read_many import (
    FILES,
    TABLES,
    job_files,
    jobs_of,
    named_twice,
    stated_name,
    uncounted_for,
)
from specs.files.shelf_address import is_ledger, without_password
from specs.formats.plain_file import mark_of
from specs.formats.yaml import read
from specs.gaps.built import parts_of
from specs.gaps.job_gap import JobGap
from specs.values.codes import canonical, code_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

    from specs.formats.plain_file import Mark
    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.values.lengths import Length

Room = dict[str, "Length"]
"""The rooms of one gap of one unit, by layout."""


@dataclass(frozen=True, slots=True)
class FormerBuild:
    """What was built in one gap of a former unit, or promised for it."""

    layout: str
    parts: tuple[tuple[str, ...], ...]
    """The parts at each place whose part is chosen, in the order of the stack, as they are listed:
    a size, or a size with what it measured."""


@dataclass(frozen=True, slots=True)
class FormerUnit:
    """One unit that a kept job tells of."""

    job: str
    """The name that the job states; empty where it states none."""
    file: str
    """Where it is kept, for messages."""
    rooms: dict[str, Room]
    """The rooms of each gap that was read, in every layout that its facts allow."""
    builds: dict[str, FormerBuild] = field(default_factory=dict)
    """What was built in each gap, or else promised, where the job says so."""

    @property
    def name(self) -> str:
        """What to call it."""
        return self.job or self.name_of_file

    @property
    def name_of_file(self) -> str:
        """The name of its file, without the folder."""
        return Path(self.file).name


@dataclass(frozen=True, slots=True)
class FormerUnits:
    """The former units of one unit file, from one place."""

    where: str
    """The folder, file or ledger, for messages."""
    units: tuple[FormerUnit, ...] = ()
    table: History | None = None
    """A table of past drums, of which only the rooms are known."""
    uncounted: tuple[Uncounted, ...] = ()
    """Jobs that cannot be read, or that nothing was read of."""
    own: frozenset[int] = frozenset()
    """The numbers of those that are the record of the very job that asks."""
    grouped: dict[tuple[str, tuple[str, ...]], dict[Length, set[int]]] = field(
        default_factory=dict, repr=False, compare=False
    )
    """What `by_room` found before."""

    def joined(self, other: FormerUnits) -> FormerUnits:
        """Add the former units of another place; those of one name are one unit."""
        units = {one.job or f"/{one.file}": one for one in self.units}
        for one in other.units:
            mine = units.setdefault(one.job or f"/{one.file}", one)
            if mine is not one:
                builds = {**one.builds, **mine.builds}
                units[one.job] = replace(mine, rooms={**one.rooms, **mine.rooms}, builds=builds)
        where = ", ".join(dict.fromkeys(filter(None, (self.where, other.where))))
        uncounted = (*self.uncounted, *other.uncounted)
        return FormerUnits(where, tuple(units.values()), self.table or other.table, uncounted)

    def without(self, case: Case) -> FormerUnits:
        """Leave out the record of a job itself: that of its name or its file."""
        source = case.origins["job"].source
        name, file = stated_name(source), Path(source.file)
        alone = file.suffix.lower() not in TABLES

        def own(job: str, kept_in: str) -> bool:
            same = alone and kept_in.endswith(file.name)
            return (bool(name) and job == name) or (
                same and Path(kept_in).absolute() == file.absolute()
            )

        mine = {nth for nth, one in enumerate(self.units) if own(one.job, one.file)}
        uncounted = tuple(one for one in self.uncounted if not own(one.job, one.problem.file))
        return replace(self, own=frozenset(mine), uncounted=uncounted)

    @property
    def others(self) -> tuple[FormerUnit, ...]:
        """All but the job's own record."""
        return tuple(unit for nth, unit in enumerate(self.units) if nth not in self.own)

    @property
    def drums(self) -> int:
        """How many drums are known, the job's own not counted."""
        of_table = self.table.rows.total() if self.table else 0
        return len(self.units) - len(self.own) + of_table

    def rooms(self, gap: JobGap, layout: str) -> Counter[Length]:
        """Count the former units by their room in one layout of a gap, as `by_room` has it."""
        found = Counter(
            {room: len(units - self.own) for room, units in self.by_room(gap, layout).items()}
        )
        base = gap.written.usual_layout
        if self.table and gap.name in self.table.columns and layout in gap.written.alike(base):
            found.update(self.table.column(gap.name))
        return +found

    def by_room(self, gap: JobGap, layout: str) -> dict[Length, set[int]]:
        """Group the units that can be compared with another job's by their room.

        Parameters
        ----------
        gap
            The gap of the other job.
        layout
            One of its layouts. A room of it counts, or else of one that is read alike and that
            both jobs' facts allow.

        Returns
        -------
        dict of Length to set of int
            For each room the numbers of the units that had it, the job's own among them.
        """
        alike, allowed = gap.written.alike(layout), gap.layouts
        names = (layout, *(name for name in alike if name != layout and name in allowed))
        key = gap.name, names
        if key not in self.grouped:
            found: dict[Length, set[int]] = {}
            for nth, unit in enumerate(self.units):
                rooms = unit.rooms.get(gap.name, {})
                room = next((rooms[name] for name in names if name in rooms), None)
                if room is not None:
                    found.setdefault(room, set()).add(nth)
            self.grouped[key] = found
        return self.grouped[key]

    def history(
        self,
        case: Case,
        gaps: Iterable[str] | None = None,
        jobs: Collection[str] | None = None,
    ) -> History:
        """Return the drums of the former units, or of the table, for `cover` and for stock.

        Parameters
        ----------
        case
            The unit's files as read.
        gaps
            The packs and end plays that each drum is to have its spaces of, as far as half of the
            jobs or more have read them; a job that lacks one of these is left out. None to let
            drums lack some.
        jobs
            The names of the jobs that count; None for all.

        Raises
        ------
        InputError
            Where no pack or end play is left.
        """
        if self.table is not None:
            return self.table
        rows: dict[int, dict[str, Length]] = {
            nth: {} for nth, unit in enumerate(self.units) if jobs is None or unit.job in jobs
        }
        for name in case.unit.gaps:
            gap = JobGap(case, name)
            layout = next(iter(gap.layouts), gap.written.usual_layout)
            for room, numbers in self.by_room(gap, layout).items():
                for nth in numbers & rows.keys():
                    rows[nth][name] = room
        number = Counter(name for row in rows.values() for name in row)
        wanted = [*case.unit.gaps] if gaps is None else [*gaps]
        least = 1 if gaps is None else max(1, -(-len(rows) // 2))
        columns = tuple(name for name in wanted if number[name] >= least)
        if not columns:
            counted = "" if jobs is None else f", {len(rows)} of them with parts issued"
            found = f"found {len(self.units)} jobs of {case.unit.name} that can be read{counted}"
            sentence = f"{found}, and no pack or end play that is read in half of these"
            raise InputError(Problem(sentence, self.where))
        counts: Counter[tuple[Length | None, ...]] = Counter()
        uncounted = [*self.uncounted]
        for nth, row in rows.items():
            lacks = [name for name in columns if name not in row]
            if gaps is not None and lacks:
                unit = self.units[nth]
                problem = Problem(f"{listed(lacks)} not read", unit.file)
                uncounted.append(Uncounted(unit.name, problem))
            else:
                counts[tuple(row.get(name) for name in columns)] += 1
        return History(self.where, columns, counts, tuple(uncounted))


def former_units(address: Path | str, case: Case, home: Path | None = None) -> FormerUnits:
    """Read the former units of a case's unit from where they are kept.

    Parameters
    ----------
    address
        A folder of job files and tables of jobs, one such file, a ledger, or a table of past drums.
    case
        A case of the unit. A job counts where it names this unit, by its file or by its name, or
        none at all.
    home
        The folder outside of which no unit's file is read; None for no such limit.

    Raises
    ------
    InputError
        Where there is no such place, or a file that is named cannot be read.
    """
    if is_ledger(address):
        return promised_units(str(address), case)
    path = Path(address)
    if path.is_dir():
        return KeptJobs().read(job_files(path), case, str(path), home)
    if path.suffix.lower() in FILES:
        if "job" not in read(path).data:
            sentence = "this file holds no job; name a job file, a folder of them or a table"
            raise InputError(Problem(f"{sentence} of past drums", str(path)))
    elif not holds_jobs(path):
        return FormerUnits(str(path), table=read_history(path, case.length))
    return KeptJobs().read([path], case, str(path), home)


def promised_units(ledger: str, case: Case) -> FormerUnits:
    """Read the former units of a case's unit from the promises that a ledger keeps.

    A promise counts for the layout it was made in. Raises InputError where the ledger cannot be
    read.
    """
    where = without_password(ledger)
    units: list[FormerUnit] = []
    uncounted: list[Uncounted] = []
    with inventory.open_shelf(ledger) as shelf:
        notes = [posted.note for posted in shelf.notes(PROMISE)]
    for note in notes:
        try:
            unit, gaps = promised_rooms(note.text, where)
        except InputError as error:
            uncounted.append(Uncounted(note.about, error.problems[0]))
            continue
        known = {
            name: gap
            for name, gap in gaps.items()
            if name in case.unit.gaps and gap.layout in case.unit.gaps[name].arrangements
        }
        if unit == case.unit.name and known:
            rooms = {name: {gap.layout: gap.space} for name, gap in known.items()}
            builds = {name: FormerBuild(gap.layout, gap.parts) for name, gap in known.items()}
            units.append(FormerUnit(note.about, where, rooms, builds))
    return FormerUnits(where, tuple(units), None, tuple(uncounted))


class Records:
    """The records that the readings of jobs are held against, each place read once.

    They are those of one place, if there is one, and of the ledger of each job.

    Parameters
    ----------
    place
        Reads the former units of a case's unit; None for no place but the jobs' ledgers.
    asked
        Whether somebody named the place.
    """

    def __init__(
        self, place: Callable[[Case], FormerUnits] | None = None, *, asked: bool = False
    ) -> None:
        self.asked = asked
        self._place = place
        self._read: dict[tuple[str, str], FormerUnits] = {}

    def beside(self, case: Case) -> FormerUnits:
        """Return the former units of a job, without its own record."""
        key = case.origins["unit"].source.file, case.ledger
        if key not in self._read:
            found = self._place(case) if self._place else FormerUnits("")
            if case.ledger and case.ledger != found.where:
                found = found.joined(promised_units(case.ledger, case))
            self._read[key] = found
        return self._read[key].without(case)


def records_of(history: Path | str | None) -> Records:
    """Return the records of a history that is named, or of the jobs' own ledgers alone."""
    return Records() if history is None else Records(partial(former_units, history), asked=True)


class KeptJobs:
    """The jobs of some files, read again only where a file has changed."""

    def __init__(self) -> None:
        self._seen: dict[tuple[Path, str], tuple[dict[Path, Mark | None], tuple[Kept, ...]]] = {}

    def read(
        self, files: Iterable[Path], case: Case, where: str, home: Path | None = None
    ) -> FormerUnits:
        """Return the former units that some files tell of.

        Parameters
        ----------
        files
            Job files and tables of jobs; a file that holds none is passed over.
        case
            A case of the unit.
        where
            What to call the place in messages.
        home
            The folder outside of which no unit's file is read; None for no such limit.
        """
        reader = _Reader(case, home)
        units: dict[str, FormerUnit] = {}
        uncounted: list[Uncounted] = []
        for kept in (kept for file in files for kept in self._file(file, reader)):
            if isinstance(kept, Uncounted):
                uncounted.append(kept)
                continue
            first = units.setdefault(kept.job or f"/{kept.file}", kept)
            if first is not kept:
                problem = Problem(named_twice(kept.job, first.name_of_file), kept.file)
                uncounted.append(Uncounted(kept.job, problem))
        return FormerUnits(where, tuple(units.values()), None, tuple(uncounted))

    def _file(self, file: Path, reader: _Reader) -> tuple[Kept, ...]:
        key = file.absolute(), reader.unit
        marks, found = self._seen.get(key, ({}, ()))
        if not marks or any(mark_of(path) != mark for path, mark in marks.items()):
            jobs = [*jobs_of(file, inside=True)]
            looked_at = {file, *(named for job in jobs if (named := _unit_file(job)))}
            marks = {path: mark_of(path) for path in looked_at}
            found = tuple(filter(None, map(reader.kept, jobs)))
            self._seen[key] = marks, found
        return found


Kept = FormerUnit | Uncounted


class _Reader:
    """Reads jobs that were kept of one unit."""

    def __init__(self, case: Case, home: Path | None) -> None:
        self.case, self.home = case, home
        written = case.origins["unit"].source.data.get("unit")
        self.mine = _identity(written)
        self.unit = code_of(canonical([case.origins["unit"].length, written]))
        self.same: dict[Path, bool] = {}

    def kept(self, job: Source | InputError) -> Kept | None:
        """Return what a kept job tells, or why it tells nothing; None where of another unit."""
        try:
            if isinstance(job, InputError):
                raise job
            if not self._is_ours(job):
                return None
            case = job_of_unit(self.case, job)
        except InputError as error:
            return uncounted_for(error, job)
        unit = FormerUnit(stated_name(job), job.file, {}, {})
        for name in case.unit.gaps:
            gap = JobGap(case, name)
            rooms = _rooms(gap)
            if rooms:
                unit.rooms[name] = rooms
            build = _build(gap)
            if build:
                unit.builds[name] = build
        if not unit.rooms:
            return Uncounted(unit.name, Problem("nothing of it is read yet", unit.file))
        return unit

    def _is_ours(self, job: Source) -> bool:
        """Say whether a job is of the unit: it names no other. Raises InputError if unreadable."""
        held = job.data.get("unit")
        file = _unit_file(job)
        if file is None:
            return held is None or _identity(held) == self.mine
        if file not in self.same:
            self.same[file] = self._is_same(file)
        return self.same[file]

    def _is_same(self, file: Path) -> bool:
        there = file.resolve()
        if there == Path(self.case.origins["unit"].source.file).resolve():
            return True
        if self.home is not None and not there.is_relative_to(self.home.resolve()):
            return False
        return _identity(read(file).data.get("unit")) == self.mine


def _unit_file(job: Source | InputError) -> Path | None:
    """Return the file of the unit that a job names; None where it names none."""
    if isinstance(job, InputError):
        return None
    named = job.data.get("unit")
    return Path(job.file).parent / named if isinstance(named, str) else None


def _identity(unit: object) -> object:
    """Return by what a unit is known as written: its name, or all of it where it has none."""
    return unit.get("name", unit) if isinstance(unit, dict) else None


def _rooms(gap: JobGap) -> Room:
    """Return the rooms of a gap, in every layout that its facts allow and that is read whole."""
    layouts = gap.layouts.items()
    return {
        name: gap.room(layout)
        for name, layout in layouts
        if next(gap.missing_in(layout), None) is None
    }


def _build(gap: JobGap) -> FormerBuild | None:
    """Return what was built in a gap as the job lists it, or else what was promised."""
    as_built, promised = gap.work.as_built, gap.case.job.promised
    parts = parts_of(as_built) if as_built else None
    if parts is not None:
        built = gap.build(parts)
        return FormerBuild(built.layout, built.sizes)
    kept = promised.gaps.get(gap.name) if promised else None
    return FormerBuild(kept.layout, kept.parts) if kept else None
