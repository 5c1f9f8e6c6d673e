"""Former units: the rooms that kept jobs were read with, and what was built in them.

Kept jobs are the job files of a folder and the rows of tables of jobs; a table of past drums has
rooms alone. From here comes every history that is named: of `fit` and `batch`, and, as a `History`,
of `cover`, `stock` and `kit check`. A job that cannot be read or has not been read yet counts for
nothing and blocks nothing: it is named with the reason.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, listed
from specs.files.history import History, Uncounted, read_history
from specs.files.job_table import holds_jobs
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
from specs.formats.plain_file import mark_of
from specs.formats.yaml import read
from specs.gaps.built import parts_of
from specs.gaps.job_gap import JobGap

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from specs.formats.plain_file import Mark
    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.values.lengths import Length

Room = dict[str, "Length"]
"""The rooms of one gap of one unit, by layout."""


@dataclass(frozen=True, slots=True)
class FormerBuild:
    """What was built in one gap of a former unit."""

    layout: str
    parts: tuple[tuple[str, ...], ...]
    """The sizes at each place whose part is chosen, in the order of the stack."""


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
    """What was built in each gap, where the job says so."""

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

    def without(self, case: Case) -> FormerUnits:
        """Leave out the record of a job itself: that of its name or its file."""
        source = case.origins["job"].source
        name, file = stated_name(source), Path(source.file)
        alone = file.suffix.lower() not in TABLES

        def own(job: str, kept_in: str) -> bool:
            if name and job == name:
                return True
            same = alone and Path(kept_in).name == file.name
            return same and Path(kept_in).absolute() == file.absolute()

        return replace(
            self,
            units=tuple(one for one in self.units if not own(one.job, one.file)),
            uncounted=tuple(one for one in self.uncounted if not own(one.job, one.problem.file)),
        )

    def rooms(self, gap: JobGap, layout: str) -> Counter[Length]:
        """Count the former units by their room in one layout of a gap of another job."""
        found = Counter(room for _, room in self.with_room(gap, layout))
        base = gap.written.usual_layout
        if self.table and gap.name in self.table.columns and layout in gap.written.alike(base):
            found += self.table.column(gap.name)
        return found

    def with_room(self, gap: JobGap, layout: str) -> Iterator[tuple[int, Length]]:
        """Yield the numbers of the units that can be compared with another job's, with their rooms.

        Parameters
        ----------
        gap
            The gap of the other job.
        layout
            One of its layouts. A room of it counts, or else of one that is read alike and that
            both jobs' facts allow.
        """
        alike, allowed = gap.written.alike(layout), gap.layouts
        names = [layout, *(name for name in alike if name != layout and name in allowed)]
        for nth, unit in enumerate(self.units):
            rooms = unit.rooms.get(gap.name, {})
            room = next((rooms[name] for name in names if name in rooms), None)
            if room is not None:
                yield nth, room

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
            for nth, room in self.with_room(gap, layout):
                if nth in rows:
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
        A folder of job files and tables of jobs, one such file, or a table of past drums.
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


class KeptJobs:
    """The jobs of some files, read again only where a file has changed."""

    def __init__(self) -> None:
        self._seen: dict[tuple[Path, Path], tuple[dict[Path, Mark | None], tuple[Kept, ...]]] = {}

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
        unit = Path(reader.case.origins["unit"].source.file)
        key = file.absolute(), unit.absolute()
        marks, found = self._seen.get(key, ({}, ()))
        if not marks or any(mark_of(path) != mark for path, mark in marks.items()):
            jobs = [*jobs_of(file, inside=True)]
            looked_at = {file, unit, *(named for job in jobs if (named := _unit_file(job)))}
            marks = {path: mark_of(path) for path in looked_at}
            found = tuple(filter(None, map(reader.kept, jobs)))
            self._seen[key] = marks, found
        return found


Kept = FormerUnit | Uncounted


class _Reader:
    """Reads jobs that were kept of one unit."""

    def __init__(self, case: Case, home: Path | None) -> None:
        self.case, self.home = case, home
        self.mine = _identity(case.origins["unit"].source.data["unit"])
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
        name: gap.space(name).length
        for name, layout in layouts
        if next(gap.missing_in(layout), None) is None
    }


def _build(gap: JobGap) -> FormerBuild | None:
    """Return what was built in a gap as the job lists it; None where it does not."""
    as_built = gap.work.as_built
    parts = parts_of(as_built) if as_built else None
    if parts is None:
        return None
    listed = gap.build(parts)
    sizes = tuple(tuple(part.size for part in place) for place in listed.parts.values())
    return FormerBuild(listed.layout, sizes)
