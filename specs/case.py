"""From files to a case: a unit, a shelf and a job, validated together, all problems at once.

One file may hold all three sections; a section that stands elsewhere is named by its path,
relative to the file that names it.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, TypeVar, cast, get_args

from pydantic import Discriminator, Field, Tag, ValidationError

from specs.errors import InputError, Problem
from specs.job import Job
from specs.lengths import Unit as LengthUnit
from specs.shelf import Shelf
from specs.unit import Unit
from specs.written import Context, Text, Written
from specs.yaml_door import Source, read

AT_MOST = 20
Section = TypeVar("Section")


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


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a section was written, so that a problem found later still names its line."""

    source: Source
    section: str
    length: LengthUnit | None

    def problem(self, path: tuple[str | int, ...], sentence: str) -> Problem:
        """Word a problem at a path within the section."""
        full = (self.section, *path)
        return Problem(sentence, self.source.file, self.source.line(full), dotted(full))

    def written(self, path: tuple[str | int, ...]) -> str:
        """The text as it stands in the file, or nothing where a short form stands for the path."""
        node: Any = self.source.data.get(self.section)
        for key in path:
            if isinstance(node, dict) and key in node:
                node = node[key]
            elif isinstance(node, list) and isinstance(key, int) and key < len(node):
                node = node[key]
        return node if isinstance(node, str) else ""


@dataclass(frozen=True, slots=True)
class Case:
    """One rebuild as written: what the unit is, what is on the shelf, what was read."""

    unit: Unit
    shelf: Shelf
    job: Job
    length: LengthUnit
    origins: dict[str, Origin]

    @property
    def shelf_length(self) -> LengthUnit:
        """The unit of bare sizes on the shelf."""
        return self.origins["shelf"].length or self.length


def dotted(path: tuple[str | int, ...]) -> str:
    """Write a path into a file as people read it: unit.packs.low drum.window."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def near(found: str, allowed: tuple[str, ...] | list[str], what: str) -> str:
    """Say what is allowed instead of `found`, the nearest first if one is near."""
    close = difflib.get_close_matches(found, allowed, n=1, cutoff=0.6)
    if close:
        return f'found "{found}"; did you mean "{close[0]}"?'
    known = ", ".join(allowed) or "none"
    return f'found "{found}"; {what}: {known}'


def read_case(job: Path, unit: Path | None = None, shelf: Path | None = None) -> Case:
    """Read a job with its unit and its shelf; raises InputError with every problem found."""
    return case_of(read(job), unit, shelf)


def case_of(source: Source, unit: Path | None = None, shelf: Path | None = None) -> Case:
    """Make a case of a parsed job file; raises InputError with every problem found."""
    from specs.checks import check_case

    file = _validate(source)
    parts: dict[str, Any] = {}
    origins: dict[str, Origin] = {}
    problems: list[Problem] = []
    for name, override in (("unit", unit), ("shelf", shelf), ("job", None)):
        try:
            parts[name], origins[name] = _section(source, file, name, override)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    length = origins["job"].length or origins["unit"].length or "in"
    case = Case(parts["unit"], parts["shelf"], parts["job"], length, origins)
    check_case(case)
    return case


def _section(source: Source, file: File, name: str, override: Path | None) -> tuple[Any, Origin]:
    found = override or getattr(file, name)
    if isinstance(found, str):
        found = Path(source.file).parent / found
    if isinstance(found, Path):
        source = read(found)
        file = _validate(source)
        found = getattr(file, name)
    if found is None or isinstance(found, str):
        what = f"this file holds no {name}; write it under the key `{name}`"
        more = "" if name == "job" else f", or name its file: {name}: {name}.yaml"
        raise InputError(Problem(what + more, source.file))
    return found, Origin(source, name, file.length)


def _validate(source: Source) -> File:
    unit = source.data.get("length")
    known = unit in get_args(LengthUnit)
    context = Context(cast("LengthUnit", unit) if known else None)
    try:
        return File.model_validate(source.data, context=context)
    except ValidationError as error:
        raise InputError(*_problems(error, source, context)) from None


def _problems(error: ValidationError, source: Source, context: Context) -> list[Problem]:
    found = [_problem(cast("dict[str, Any]", item), source, context) for item in error.errors()]
    found.sort(key=lambda problem: problem.line)
    more = len(found) - AT_MOST
    if more > 0:
        found = [*found[:AT_MOST], Problem(f"and {more} more", source.file)]
    return found


def _problem(item: dict[str, Any], source: Source, context: Context) -> Problem:
    path = _real(item["loc"], source.data)
    sentence = _sentence(item, path, source, context)
    return Problem(sentence, source.file, source.line(path), dotted(path))


def _real(loc: tuple[str | int, ...], data: Any) -> tuple[str | int, ...]:
    """Keep the steps that stand in the file: validation adds names of its own."""
    path: list[str | int] = []
    node = data
    for position, key in enumerate(loc):
        inside = (isinstance(node, dict) and key in node) or (
            isinstance(node, list) and isinstance(key, int) and key < len(node)
        )
        if inside:
            node = node[key]
            path.append(key)
        elif position == len(loc) - 1 and isinstance(node, dict) and isinstance(key, str):
            path.append(key)
    return tuple(path)


def _sentence(
    item: dict[str, Any], path: tuple[str | int, ...], source: Source, context: Context
) -> str:
    kind, found = item["type"], item["input"]
    if kind in ("refused", "length"):
        return str(item["ctx"]["sentence"])
    if kind == "missing":
        return "this key is missing; write it with a value"
    if kind == "extra_forbidden":
        return near(str(path[-1]), _allowed(path, source, context), "unknown key; allowed here")
    if kind == "literal_error":
        allowed = [
            word.strip("' ") for word in item["ctx"]["expected"].replace(" or ", ",").split(",")
        ]
        return near(str(found), allowed, "allowed here")
    if kind in ("too_short", "too_long"):
        return "write between 1 and 24 values"
    shape = {"dict_type": "a mapping: `name: value` lines", "tuple_type": "a list: [a, b]"}
    return f'found "{found}"; write {shape.get(kind, "another value (" + str(item["msg"]) + ")")}'


def _allowed(path: tuple[str | int, ...], source: Source, context: Context) -> tuple[str, ...]:
    node: Any = source.data
    for key in path[:-1]:
        node = node[key]
    return context.keys.get(id(node), ())
