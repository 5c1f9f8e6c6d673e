"""From files to a case, validated together, all problems at once.

One file may hold all three sections; a section that stands elsewhere is named by its path,
relative to the file that names it. What cannot be read is set aside and the rest is still
checked, so that a person mends a file once.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast, get_args

from pydantic import Discriminator, Field, Tag, ValidationError

from specs.case import Case, Origin
from specs.checks import findings_of, worded
from specs.errors import InputError, Problem, quoted
from specs.findings import Path as Keys
from specs.findings import along, dotted, near, nearest
from specs.job import Job
from specs.job_checks import NO_READINGS
from specs.lengths import Unit as LengthUnit
from specs.shelf import Shelf
from specs.unit import Unit
from specs.written import Context, Text, Written
from specs.yaml_door import Source, read

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_PROBLEMS = 20
MOST_ROUNDS = 4
SECTIONS = ("unit", "shelf", "job")
UNKNOWN = "extra_forbidden"
_END = object()


def _form(value: Any) -> str:
    return "path" if isinstance(value, str) else "section"


class File(Written):
    """What one file holds: any of the three sections, or the path of a file that holds it."""

    length: LengthUnit | None = Field(
        None, description="The unit of bare lengths in this file: in, mm or thou.", examples=["in"]
    )
    unit: (
        Annotated[
            Annotated[Unit, Tag("section")] | Annotated[Text, Tag("path")], Discriminator(_form)
        ]
        | None
    ) = Field(None, description="The unit, or the file it stands in.", examples=["unit.yaml"])
    shelf: (
        Annotated[
            Annotated[Shelf, Tag("section")] | Annotated[Text, Tag("path")], Discriminator(_form)
        ]
        | None
    ) = Field(None, description="The shelf, or the file it stands in.", examples=["shelf.yaml"])
    job: Job | None = Field(None, description="The job.", examples=["{name: J-1042, gaps: {...}}"])


KEYS = File.keys()


@dataclass(slots=True)
class Taken:
    """A file as far as it could be read, and what is wrong with the rest."""

    source: Source
    file: File
    problems: list[Problem] = field(default_factory=list)
    aside: list[Keys] = field(default_factory=list)
    """What could not be read and was set aside."""


def read_case(job: Path, unit: Path | None = None, shelf: Path | None = None) -> Case:
    """Read a job with its unit and its shelf; raises InputError with every problem found."""
    return case_of(read(job), unit, shelf)


def read_shelf(path: Path, unit: Path | None = None, shelf: Path | None = None) -> Case:
    """Read a unit and a shelf, with the job where the file holds one.

    Raises InputError with every problem found.
    """
    return case_of(read(path), unit, shelf, needs=("unit", "shelf"))


def read_unit(path: Path) -> Case:
    """Read a unit, with shelf and job where the file holds them; raises InputError as above."""
    return case_of(read(path), needs=("unit",))


def case_of(
    source: Source,
    unit: Path | None = None,
    shelf: Path | None = None,
    *,
    needs: tuple[str, ...] = SECTIONS,
) -> Case:
    """Make a case of a parsed job file; raises InputError with every problem found.

    A section that is not among the `needs` may be absent.
    """
    taken = {"job": _take(source)}
    problems: list[Problem] = []
    for name, override in (("unit", unit), ("shelf", shelf)):
        if name not in needs and name not in source.data:
            taken[name] = taken["job"]
            continue
        try:
            taken[name] = _find(taken["job"], name, override)
        except InputError as error:
            problems += error.problems
    lacks_job = "job" in needs and "job" not in source.data
    if lacks_job:
        problems += _absent(taken["job"], "job", "")
    whole = len(taken) == len(SECTIONS) and not lacks_job
    if problems or not whole or taken["unit"].file.unit is None:
        raise _refused(problems, taken)
    case = _joined(taken)
    known = not any(path[0] == "unit" for path in taken["unit"].aside if path)
    for section, findings in findings_of(case, known=known):
        if "job" not in needs:
            findings = [one for one in findings if one.sentence != NO_READINGS]  # noqa: PLW2901 - only this is not asked
        problems += worded(case.origins[section], findings, taken[section].aside)
    if problems or any(one.problems for one in taken.values()):
        raise _refused(problems, taken)
    return case


def _joined(taken: dict[str, Taken]) -> Case:
    origins = {name: Origin(taken[name].source, name, taken[name].file.length) for name in SECTIONS}
    return Case(
        cast("Unit", taken["unit"].file.unit),
        cast("Shelf", taken["shelf"].file.shelf or {}),
        taken["job"].file.job or Job.model_validate({}),
        origins["job"].length or origins["unit"].length or "in",
        origins,
    )


def _find(job: Taken, name: str, override: Path | None) -> Taken:
    """The file that holds a section: the job's own, or the one it names."""
    path: Any = override or job.source.data.get(name)
    taken = job
    if isinstance(path, str):
        path = Path(job.source.file).parent / path
    if isinstance(path, Path):
        taken = _take(read(path))
    if not isinstance(taken.source.data.get(name), dict):
        other = f", or name the file it stands in: {name}: {name}.yaml"
        raise InputError(*_absent(taken, name, other), *taken.problems)
    return taken


def _absent(taken: Taken, name: str, other: str) -> list[Problem]:
    """Say that a file lacks a section, unless it stands there misspelt and that is said."""
    if nearest(name, [key for key in taken.source.data if key not in KEYS]):
        return []
    sentence = f"this file holds no {name}; write it under the key `{name}`{other}"
    return [Problem(sentence, taken.source.file)]


def _refused(problems: list[Problem], taken: dict[str, Taken]) -> InputError:
    """Put all problems together: file by file in the order of lines, each once."""
    told = [*problems, *(problem for one in taken.values() for problem in one.problems)]
    told = sorted(dict.fromkeys(told), key=lambda problem: (problem.file, problem.line))
    if len(told) > MOST_PROBLEMS:
        more = Problem(f"and {len(told) - MOST_PROBLEMS} more")
        told = [*told[:MOST_PROBLEMS], more]
    return InputError(*told)


def _take(source: Source) -> Taken:
    unit = source.data.get("length")
    context = Context(unit if unit in get_args(LengthUnit) else None)
    taken = Taken(source, File.model_construct(length=None, unit=None, shelf=None, job=None))
    data: Any = source.data
    for _ in range(MOST_ROUNDS):
        try:
            taken.file = File.model_validate(data, context=context)
            break
        except ValidationError as error:
            items = [cast("dict[str, Any]", item) for item in error.errors(include_url=False)]
            paths = [_real(item["loc"], data) for item in items]
            if not taken.aside:
                taken.problems = list(_problems(items, paths, source, context))
            taken.aside += map(_unreadable, items, paths)
            data = _without(data, taken.aside)
    return taken


def _unreadable(item: dict[str, Any], path: Keys) -> Keys:
    """What to set aside: the value itself, or the mapping that lacks a key."""
    return path[:-1] if item["type"] == "missing" else path


def _without(data: Any, paths: list[Keys]) -> Any:
    """Copy a tree without what stands at some paths; of a list, the whole is left out."""
    gone: dict[Any, Any] = {}
    for path in paths:
        node = gone
        for key in path:
            node = node.setdefault(key, {})
        node[_END] = {}
    return _pruned(data, gone)


def _pruned(data: Any, gone: dict[Any, Any]) -> Any:
    if not isinstance(data, dict) or not gone:
        return data
    return {
        key: _pruned(value, gone.get(key, {}))
        for key, value in data.items()
        if key not in gone or not (_END in gone[key] or isinstance(value, list))
    }


def _real(loc: Keys, data: Any) -> Keys:
    """Keep the steps that stand in the file: validation adds names of its own."""
    if loc[0] in ("unit", "shelf") and loc[1:2] == ("section",):
        loc = (loc[0], *loc[2:])
    steps = list(along(loc, data))
    return tuple(
        step
        for nth, (step, start, leads_on) in enumerate(steps, 1)
        if leads_on or (nth == len(steps) and isinstance(start, dict) and step != "[key]")
    )


def _problems(
    items: list[dict[str, Any]], paths: list[Keys], source: Source, context: Context
) -> Iterator[Problem]:
    """Word what validation found, without a key that is missing since it is misspelt."""
    unknown: dict[Keys, list[str]] = {}
    for item, path in zip(items, paths, strict=True):
        if item["type"] == UNKNOWN:
            unknown.setdefault(path[:-1], []).append(str(path[-1]))
    for item, path in zip(items, paths, strict=True):
        beside = unknown.get(path[:-1], [])
        if item["type"] != "missing" or not nearest(str(path[-1]), beside):
            sentence = _sentence(item, path, source, context)
            yield Problem(sentence, source.file, source.line(path), dotted(path))


def _sentence(item: dict[str, Any], path: Keys, source: Source, context: Context) -> str:
    kind, found = item["type"], item["input"]
    if kind in ("refused", "length"):
        return str(item["ctx"]["sentence"])
    if kind == "missing":
        return "this key is missing; write it with a value"
    if kind == UNKNOWN:
        allowed = _allowed(path, source, context)
        return near(str(path[-1]), allowed, "unknown key; allowed here")
    if kind == "literal_error":
        expected = item["ctx"]["expected"].replace(" or ", ",").split(",")
        return near(str(found), [word.strip("' ") for word in expected], "allowed here")
    shape = {"dict_type": "lines of `name: value`", "tuple_type": "a list: [a, b]"}
    return f"{quoted(found)}; write {shape.get(kind, 'another value')}"


def _allowed(path: Keys, source: Source, context: Context) -> tuple[str, ...]:
    node: Any = source.data
    for key in path[:-1]:
        node = node[key]
    return context.keys.get(id(node), ())
