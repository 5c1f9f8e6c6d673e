"""One parsed file, validated as far as it can be read, with a problem for each value that cannot.

A value that cannot be read is set aside and the rest is still checked, so that a person mends a
file once.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, cast, get_args

from pydantic import Discriminator, Field, Tag, ValidationError

from specs.errors import Problem, quoted
from specs.findings import Path as Keys
from specs.findings import along, dotted, near, nearest
from specs.models.job import Job
from specs.models.kit import Kit
from specs.models.shelf import Shelf
from specs.models.unit import Unit
from specs.values.fields import Context, Text, Written
from specs.values.lengths import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.formats.yaml import Source

MOST_ROUNDS = 4
"""How often validation is tried again without the values that failed."""
UNKNOWN = "extra_forbidden"
_END = object()


def _form(value: Any) -> str:
    return "path" if isinstance(value, str) else "section"


class File(Written):
    """What one file holds: any of the sections, or the path of a file that holds it."""

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
    ) = Field(
        None,
        description="The shelf, or the file it stands in: a shelf file, or a ledger (`shop.db`, "
        "`postgresql://...`).",
        examples=["shelf.yaml"],
    )
    job: Job | None = Field(None, description="The job.", examples=["{name: J-1042, gaps: {...}}"])
    kit: Kit | None = Field(
        None,
        description="The kit. It serves as the shelf where the file holds none.",
        examples=["{name: overhaul kit, contents: {...}}"],
    )


KEYS = File.keys()


@dataclass(slots=True)
class ParsedFile:
    """A file as far as it can be read, and the problems of the rest."""

    source: Source
    file: File
    problems: list[Problem] = field(default_factory=list)
    aside: list[Keys] = field(default_factory=list)
    """The paths of the values that could not be read and were set aside."""
    ledger: str = ""
    """The address of the ledger that stands in the file's place; empty for a file."""


def parse_file(source: Source) -> ParsedFile:
    """Validate a parsed file as far as it can be read.

    Parameters
    ----------
    source
        The file's maps, lists and texts.

    Returns
    -------
    ParsedFile
        Its sections, without the values that failed, and a problem for each of these.
    """
    unit = source.data.get("length")
    context = Context(unit if unit in get_args(LengthUnit) else None)
    parsed = ParsedFile(
        source, File.model_construct(length=None, unit=None, shelf=None, job=None, kit=None)
    )
    data: Any = source.data
    for _ in range(MOST_ROUNDS):
        try:
            parsed.file = File.model_validate(data, context=context)
            break
        except ValidationError as error:
            items = [cast("dict[str, Any]", item) for item in error.errors(include_url=False)]
            paths = [_real(item["loc"], data) for item in items]
            if not parsed.aside:
                parsed.problems = list(_problems(items, paths, source, context))
            parsed.aside += map(_unreadable, items, paths)
            data = _without(data, parsed.aside)
    return parsed


def _unreadable(item: dict[str, Any], path: Keys) -> Keys:
    """Return the path to set aside: the value's own, or that of the mapping that lacks a key."""
    return path[:-1] if item["type"] == "missing" else path


def _without(data: Any, paths: list[Keys]) -> Any:
    """Copy a tree without the values at some paths; a list with such a value is left out whole."""
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
    """Keep the steps of a path that stand in the file: validation adds names of its own."""
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
    """Word the errors of validation, except for a missing key that stands there misspelt."""
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
