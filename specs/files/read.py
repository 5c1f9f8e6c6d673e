"""From files to a case: every service reads its files here, and reports all their problems at once.

One file may hold all sections. A section in another file is named by its path, relative to the
file that names it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from specs.checks.case import findings_of, worded
from specs.checks.job import NO_READINGS, job_findings
from specs.checks.unit import unit_findings
from specs.errors import InputError, Problem, refusal
from specs.files.parse import KEYS, File, ParsedFile, parse_file
from specs.files.shelf_address import is_ledger, is_server
from specs.findings import nearest
from specs.formats.yaml import Source, parse, read
from specs.models.case import Case, Origin
from specs.models.job import Job
from specs.models.unit import Unit
from specs.parts.kit_contents import as_shelf

if TYPE_CHECKING:
    from collections.abc import Mapping

    from specs.models.shelf import Shelf

SECTIONS = ("unit", "shelf", "job")


@dataclass(slots=True)
class FilesRead:
    """The files read already, where many jobs share a unit and a shelf."""

    files: dict[Path, ParsedFile] = field(default_factory=dict)
    families: set[str] = field(default_factory=set)
    """The families of all units seen: a shelf may hold parts of units other than a job's own."""
    sound: set[tuple[object, ...]] = field(default_factory=set)
    """The units with their shelves that were checked before, and nothing was found."""

    def take(self, path: Path) -> ParsedFile:
        """Read a file, the first time only; raise InputError where it cannot be read."""
        key = path.absolute()
        if key not in self.files:
            self.files[key] = parse_file(read(path))
        return self.files[key]

    def look(self, source: Source, unit: Path | None) -> None:
        """Note the families of a job's unit, as far as it can be read."""
        held = isinstance(source.data.get("unit"), dict)
        parsed = parse_file(source) if held else ParsedFile(source, File.model_construct())
        try:
            found = _find(parsed, "unit", unit, self).file.unit
        except InputError:
            return  # reported where the case is made
        if isinstance(found, Unit):
            self.families |= {name for name, family in found.families.items() if family.sizes}

    def key(self, parsed: Mapping[str, ParsedFile], case: Case) -> tuple[object, ...]:
        """Name what the checks of a case's unit and shelf depend on; nothing to be kept: empty."""
        unit, shelf = parsed["unit"], parsed["shelf"]
        kept = [*map(id, self.files.values()), 0]
        of = id(unit), 0 if shelf.ledger else id(shelf)
        return (*of, case.length, len(self.families)) if {*of} <= {*kept} else ()


def read_case(job: Path, unit: Path | None = None, shelf: Path | str | None = None) -> Case:
    """Read a job with its unit and its shelf.

    Parameters
    ----------
    job
        The job's file, which holds or names the other sections.
    unit, shelf
        The files, or the address of a ledger, to read in place of those the job names.

    Returns
    -------
    Case
        The case. Where its shelf is a ledger, it holds the address only: nothing has opened it yet.

    Raises
    ------
    InputError
        With every problem found.
    """
    return case_of(read(job), unit, shelf)


def read_shelf(path: Path, unit: Path | None = None, shelf: Path | str | None = None) -> Case:
    """Read a unit and a shelf, with the job where the file holds one.

    Parameters and errors are those of `read_case`.
    """
    return case_of(read(path), unit, shelf, needs=("unit", "shelf"))


def read_kit(path: Path, unit: Path | None = None) -> Case:
    """Read a kit and its unit; the kit is all there is on the case's shelf.

    Parameters and errors are those of `read_case`.
    """
    return case_of(read(path), unit, needs=("unit", "kit"))


def read_unit_alone(path: Path) -> Case:
    """Read a unit as a case, with shelf and job where the file holds them.

    Errors are those of `read_case`.
    """
    return case_of(read(path), needs=("unit",))


def case_of(
    source: Source,
    unit: Path | None = None,
    shelf: Path | str | None = None,
    seen: FilesRead | None = None,
    *,
    needs: tuple[str, ...] = SECTIONS,
) -> Case:
    """Build the case of a parsed job file.

    Parameters
    ----------
    source
        The job's file, or a row of a table of jobs.
    unit, shelf
        The files, or the address of a ledger, to read in place of those the job names.
    seen
        The files read already; none unless given.
    needs
        The sections that must be there; another of unit, shelf and job may be absent.

    Returns
    -------
    Case
        The case, checked whole.

    Raises
    ------
    InputError
        With every problem found in any of its files.
    """
    seen = seen or FilesRead()
    parsed = {"job": parse_file(source)}
    problems: list[Problem] = []
    for name, override in (("unit", unit), ("shelf", shelf)):
        if name not in needs and name not in source.data:
            parsed[name] = parsed["job"]
            continue
        try:
            parsed[name] = _find(parsed["job"], name, override, seen)
        except InputError as error:
            problems += error.problems
    lacking = [name for name in ("job", "kit") if name in needs and name not in source.data]
    for name in lacking:
        problems += _absent(parsed["job"], name, "")
    whole = len(parsed) == len(SECTIONS) and not lacking
    if problems or not whole or parsed["unit"].file.unit is None:
        raise _refused(problems, parsed)
    if "kit" in needs or not _holds(parsed["shelf"], "shelf"):
        parsed["kit"] = parsed["job" if "kit" in needs else "shelf"]
    case = _joined(parsed)
    problems = _checked(case, parsed, seen, needs)
    if problems or any(one.problems for one in parsed.values()):
        raise _refused(problems, parsed)
    return as_shelf(case) if case.kit else case


def job_of_unit(case: Case, source: Source) -> Case:
    """Build the case of another job of a unit, as it was read at the bench: without a shelf.

    Parameters
    ----------
    case
        A case of the unit.
    source
        The other job's file, or a row of a table of jobs; its sections on unit and shelf are not
        looked at.

    Raises
    ------
    InputError
        With every problem found in the job.
    """
    own = {key: value for key, value in source.data.items() if key in ("length", "job")}
    parsed = parse_file(replace(source, data=own))
    if "job" not in own or parsed.file.job is None:
        problems = parsed.problems or _absent(parsed, "job", "")
        raise refusal(problems)
    origin = _origin(parsed, "job")
    origins = {**case.origins, "job": origin}
    length = origin.length or origins["unit"].length or "in"
    other = replace(
        case, shelf={}, kit=None, ledger="", job=parsed.file.job, length=length, origins=origins,
        as_written=None, kept_new=frozenset(),
    )  # fmt: skip
    problems = parsed.problems + worded(origin, [*job_findings(other)], parsed.aside)
    if problems:
        raise refusal(problems)
    return other


def _checked(
    case: Case, parsed: dict[str, ParsedFile], seen: FilesRead, needs: tuple[str, ...]
) -> list[Problem]:
    """Check what no single value shows; a unit and a shelf that many jobs share but once."""
    problems: list[Problem] = []
    key = seen.key(parsed, case)
    known = not any(path[0] == "unit" for path in parsed["unit"].aside if path)
    sound = key in seen.sound
    for section, findings in findings_of(case, seen.families, known=known, sound=sound):
        if "job" not in needs:
            findings = [one for one in findings if one.sentence != NO_READINGS]  # noqa: PLW2901 - only this is not asked
        found = worded(case.origins[section], findings, parsed[section].aside)
        if not found and section == "shelf" and key:
            seen.sound.add(key)
        problems += found
    return problems


def _joined(parsed: dict[str, ParsedFile]) -> Case:
    origins = {name: Origin(one.source, name, one.file.length) for name, one in parsed.items()}
    return Case(
        cast("Unit", parsed["unit"].file.unit),
        cast("Shelf", parsed["shelf"].file.shelf or {}),
        parsed["job"].file.job or Job.model_validate({}),
        origins["job"].length or origins["unit"].length or "in",
        origins,
        parsed["shelf"].ledger,
        parsed["kit"].file.kit if "kit" in parsed else None,
    )


def _find(job: ParsedFile, name: str, override: Path | str | None, seen: FilesRead) -> ParsedFile:
    """Return the file that holds a section: the job's own, or the one it names."""
    path: Any = override or job.source.data.get(name)
    parsed = job
    if isinstance(path, str) and not is_server(path):
        path = Path(path) if override else Path(job.source.file).parent / path
    if name == "shelf" and isinstance(path, Path | str) and is_ledger(path):
        return ParsedFile(
            Source(str(path), {}, {}), File.model_construct(shelf={}), ledger=str(path)
        )
    if isinstance(path, Path):
        parsed = seen.take(path)
    if not _holds(parsed, name) and not (name == "shelf" and _holds(parsed, "kit")):
        other = f", or name the file it stands in: {name}: {name}.yaml"
        raise InputError(*_absent(parsed, name, other), *parsed.problems)
    return parsed


def _holds(parsed: ParsedFile, name: str) -> bool:
    """Whether a section stands in a file itself; a ledger is a shelf."""
    return bool(parsed.ledger) or isinstance(parsed.source.data.get(name), dict)


def _absent(parsed: ParsedFile, name: str, other: str) -> list[Problem]:
    """Report that a file lacks a section, unless it stands there misspelt and that is reported."""
    if nearest(name, [key for key in parsed.source.data if key not in KEYS]):
        return []
    return [_no_section(parsed, name, other)]


def _no_section(parsed: ParsedFile, name: str, other: str) -> Problem:
    sentence = f"this file holds no {name}; write it under the key `{name}`{other}"
    return Problem(sentence, parsed.source.file)


def _refused(problems: list[Problem], parsed: dict[str, ParsedFile]) -> InputError:
    """Put all problems together: file by file in the order of lines, each once."""
    all_problems = [*problems, *(problem for one in parsed.values() for problem in one.problems)]
    return refusal(sorted(all_problems, key=lambda problem: (problem.file, problem.line)))


def read_unit(path: Path) -> tuple[Unit, Origin]:
    """Read a unit by itself.

    Returns
    -------
    tuple of (Unit, Origin)
        The unit, and where it stands, for problems found later.

    Raises
    ------
    InputError
        With every problem found in it.
    """
    parsed = parse_file(read(path))
    origin = _origin(parsed, "unit")
    unit = parsed.file.unit
    if isinstance(unit, Unit) and not parsed.problems:
        parsed.problems += worded(origin, list(unit_findings(unit)), [])
    _check(parsed, "unit")
    if not isinstance(unit, Unit):
        raise InputError(_no_section(parsed, "unit", ", or name another"))
    return unit, origin


def shelf_of(raw: bytes, file: str) -> tuple[Shelf, Origin]:
    """Read a shelf from the text of its file, without a unit to check it against.

    Parameters
    ----------
    raw
        The file's bytes.
    file
        Its name, for messages.

    Returns
    -------
    tuple of (Shelf, Origin)
        The shelf, and where it stands, for problems found later.

    Raises
    ------
    InputError
        With every problem found in it.
    """
    parsed = parse_file(parse(raw, file))
    _check(parsed, "shelf")
    if not isinstance(parsed.file.shelf, dict):
        raise InputError(_no_section(parsed, "shelf", ", or name another"))
    return parsed.file.shelf, _origin(parsed, "shelf")


def _origin(parsed: ParsedFile, section: str) -> Origin:
    return Origin(parsed.source, section, parsed.file.length)


def _check(parsed: ParsedFile, section: str) -> None:
    problems = [one for one in parsed.problems if not one.field or one.field.startswith(section)]
    if problems:
        raise refusal(problems)
