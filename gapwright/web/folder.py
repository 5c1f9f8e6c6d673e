"""Reads the folder that the page was opened on: its units, shelves and jobs, nothing outside."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gapwright.output.together import finish
from gapwright.record.former_units import KeptJobs, Records, former_units
from gapwright.web.background_jobs import BackgroundJobs
from specs.errors import InputError, Problem, shortened, visible
from specs.files.job_table import is_job_table
from specs.files.read import SECTIONS, FilesRead, case_of
from specs.files.read_many import TABLES, cases_of, read_jobs
from specs.files.shelf_address import is_ledger, is_server
from specs.findings import near
from specs.formats.plain_file import Mark, mark_of
from specs.formats.yaml import Source, read

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from gapwright.record.former_units import FormerUnits
    from specs.files.parse import ParsedFile
    from specs.models.case import Case

HELD = (*SECTIONS, "kit")
"""The sections by which the content of a file is known."""
ENDINGS = (".yaml", ".yml")
KEPT = "the jobs kept here"
"""Stands for all jobs of the folder among what may hold past drums."""
MOST_FILES, DEEPEST = 2_000, 3
LONG = 300.0  # seconds a plan may take, as with the command
MISNAMED = "has a name that is not UTF-8; rename it"
OUTSIDE = "lies outside the folder this page was opened on; move it there, or serve a folder above"


@dataclass(frozen=True, slots=True)
class FolderFile:
    """One file of the folder: its name from there, and the sections it holds."""

    name: str
    sections: dict[str, str]
    """Each section with the name that it states for itself."""
    wrong: str = ""
    """The reason why it cannot be read; empty where it can."""
    job: dict[str, Any] = field(default_factory=dict)
    """The job as written, where it holds one."""


@dataclass(slots=True)
class FileCache(FilesRead):
    """Files as they were last read, as long as nobody changes them."""

    marks: dict[Path, Mark | None] = field(default_factory=dict)

    def take(self, path: Path) -> ParsedFile:
        """Read a file, again only where it changed; raises InputError where it cannot be read."""
        key, mark = path.absolute(), mark_of(path)
        if self.marks.get(key) != mark:
            self.files.pop(key, None)
        taken = FilesRead.take(self, path)
        self.marks[key] = mark
        return taken


@dataclass(frozen=True, slots=True)
class Shop:
    """The folder, shelf and limits that a server was started with."""

    folder: Path
    shelf: str = ""
    """The shelf for all jobs, where one was named at the start."""
    seconds: float = 10.0
    """The time limit of one search."""
    background_jobs: BackgroundJobs = field(default_factory=lambda: BackgroundJobs(LONG))
    """The background jobs, for searches that may take longer."""
    _looked: dict[str, tuple[Mark, FolderFile]] = field(default_factory=dict)
    _kept: FileCache = field(default_factory=FileCache)
    _former: KeptJobs = field(default_factory=KeptJobs)

    def files(self) -> list[FolderFile]:
        """Return every file of the folder that can be used, by name."""
        return [
            self._held(name) if _is_text(name) else FolderFile(visible(name), {}, MISNAMED)
            for name in self._names()
            if name.endswith(ENDINGS) or not _is_text(name)
        ]

    def names(self) -> list[str]:
        """Return the names of all files in the folder, except hidden ones and links out of it.

        Names that are not text are left out, because no page could show or ask for them.
        """
        return [name for name in self._names() if _is_text(name)]

    def _names(self) -> list[str]:
        within = cache(partial(_within, home=self.folder.resolve()))
        found = (
            path for path in _files(self.folder, DEEPEST)
            if within(path if path.is_symlink() else path.parent)
        )  # fmt: skip
        return sorted(path.relative_to(self.folder).as_posix() for path in found)

    def units(self) -> list[tuple[str, str]]:
        """Return every file that holds a unit, with the unit's name."""
        return [
            (held.name, held.sections["unit"]) for held in self.files() if "unit" in held.sections
        ]

    def shelves(self) -> list[str]:
        """Return the shelves to choose from; none where a shelf was named at the start."""
        if self.shelf:
            return []
        files = [held.name for held in self.files() if "shelf" in held.sections]
        return [*files, *self.ledgers()]

    def past_drums(self) -> list[str]:
        """Return what may hold past drums: the jobs kept in the folder, and its tables."""
        kept = [KEPT] * any("job" in held.sections for held in self.files())
        return [*kept, *(name for name in self.names() if name.lower().endswith(".csv"))]

    def former_units(self, case: Case, name: str = "") -> FormerUnits:
        """Return the former units of a case's unit.

        Parameters
        ----------
        case
            A case of the unit.
        name
            A table of the folder; all jobs that are kept in it unless given.

        Raises
        ------
        InputError
            Where the folder has no such table, or it cannot be read.
        """
        if name and name != KEPT:
            return self._beside(former_units(self.path(name), case, self.folder))
        ends = (*ENDINGS, *TABLES)
        files = [self.folder / one for one in self.names() if one.lower().endswith(ends)]
        return self._beside(self._former.read(files, case, KEPT, self.folder))

    def records(self) -> Records:
        """Return the records that readings are held against: the jobs kept here, and ledgers."""
        return Records(self.former_units)

    def _beside(self, found: FormerUnits) -> FormerUnits:
        """Return former units for a user of the page, with files named from the folder."""
        uncounted = (replace(one, problem=self.relative(one.problem)) for one in found.uncounted)
        return replace(found, uncounted=tuple(uncounted))

    def ledgers(self) -> list[str]:
        """Return the shelves of the folder that are ledgers."""
        return [name for name in self.names() if is_ledger(self.folder / name)]

    def tables(self) -> list[str]:
        """Return the tables of the folder that hold a drum in each row."""
        return [
            name for name in self.names()
            if name.lower().endswith(TABLES) and is_job_table(self.folder / name)
        ]  # fmt: skip

    def path(self, name: str) -> Path:
        """Return the path of a file by its name; raises InputError where the folder has none."""
        return self._path(name, self.names())

    def _path(self, name: str, names: Sequence[str]) -> Path:
        if name not in names:
            if name in (held.name for held in self.files() if held.wrong == MISNAMED):
                raise InputError(Problem(MISNAMED, name))
            known = [one for one in names if one.endswith(ENDINGS)]
            raise InputError(Problem(near(name, known, "the files here"), "this folder"))
        return self.folder / name

    def source(self, name: str) -> Source:
        """Read a file of the folder; raises InputError with every problem."""
        path = self.path(name)
        finish(path)
        return read(path)

    def case(self, source: Source, *, needs: tuple[str, ...] = SECTIONS) -> Case:
        """Make a case of a job, whose other files must be in the folder too.

        Parameters
        ----------
        source
            The job as written.
        needs
            The sections that must be there.

        Raises
        ------
        InputError
            With every problem found.
        """
        for section in ("unit", "shelf"):
            self._check_inside(source, section)
        return case_of(source, shelf=self.shelf or None, seen=self._kept, needs=needs)

    def cases(self, names: Iterable[str], shelf: str = "") -> tuple[Case, ...]:
        """Make cases of the jobs of several files and tables, all on one shelf.

        Parameters
        ----------
        names
            The names of the files and tables.
        shelf
            The name of the shelf; empty for the one named at the start, or those of the jobs.

        Raises
        ------
        InputError
            With every problem found.
        """
        problems: list[Problem] = []
        sources: list[Source] = []
        known = self.names()
        chosen = self.shelf or (str(self._path(shelf, known)) if shelf else "")
        for name in names:
            try:
                path = self._path(name, known)
                finish(path)
                for source in read_jobs(path):
                    self._check_inside(source, "unit")
                    if not chosen:
                        self._check_inside(source, "shelf")
                    sources.append(source)
            except InputError as error:
                problems += error.problems
        return cases_of(sources, shelf=chosen or None, found=problems)

    def relative(self, problem: Problem) -> Problem:
        """Return a problem for a user of the page, with its file named from the folder."""
        file = problem.file.removeprefix(f"{self.folder}/")
        return replace(problem, file=file.removeprefix("./"))

    def _check_inside(self, source: Source, section: str) -> None:
        """Raise InputError where a job names a unit or a shelf that is not in the folder."""
        named = source.data.get(section)
        if not isinstance(named, str) or (section == "shelf" and self.shelf):
            return
        if is_server(named):
            sentence = "a shelf on a server is named when the page is started: --shelf"
            raise InputError(Problem(sentence, source.file, field=section))
        path = Path(source.file).parent / named
        if not _within(path, self.folder.resolve()):
            raise InputError(Problem(f'"{shortened(named)}" {OUTSIDE}', source.file, field=section))

    def _held(self, name: str) -> FolderFile:
        mark = mark_of(self.folder / name)
        if mark is None:
            return FolderFile(name, {}, "cannot be read")
        if self._looked.get(name, (None,))[0] != mark:
            self._looked[name] = (mark, _look(self.folder / name, name))
        return self._looked[name][1]


def _look(path: Path, name: str) -> FolderFile:
    try:
        data = read(path).data
    except InputError as error:
        return FolderFile(name, {}, error.problems[0].sentence)
    called = {part: _called(data[part], name) for part in HELD if _is(data, part)}
    return FolderFile(name, called, job=data["job"] if "job" in called else {})


def _is(data: dict[str, Any], section: str) -> bool:
    return isinstance(data.get(section), dict)


def _called(section: dict[str, Any], name: str) -> str:
    named = section.get("name")
    return named if isinstance(named, str) else Path(name).stem


def _is_text(name: str) -> bool:
    """Return whether a file's name is UTF-8; Python keeps other bytes of it as surrogates."""
    return not any("\ud800" <= sign <= "\udfff" for sign in name)


def _within(path: Path, home: Path) -> bool:
    try:
        return path.resolve().is_relative_to(home)
    except (OSError, ValueError, RuntimeError):  # a name with a NUL, links in a ring
        return False


def _files(folder: Path, deep: int) -> Iterator[Path]:
    """Yield the files below a folder, without hidden ones, up to MOST_FILES."""
    count = 0
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return
    for path in entries:
        if path.name.startswith("."):
            continue
        if path.is_dir() and deep > 1 and not path.is_symlink():
            for below in _files(path, deep - 1):
                yield below
                count += 1
        elif path.is_file():
            yield path
            count += 1
        if count >= MOST_FILES:
            return
