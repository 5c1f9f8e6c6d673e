"""Converts a form into a job file and back: every field is named by its path in the file.

`job/gaps/low drum/gap/at` may come several times, once for each place. A last step that is a number
counts the parts of a build. An empty field is not written. A job that was read from a file keeps
everything that the form does not ask for.
"""

from __future__ import annotations

import itertools
import os
import re
from copy import deepcopy
from typing import TYPE_CHECKING, Any, cast, get_args
from urllib.parse import quote, unquote

from specs.errors import InputError, Problem, shortened
from specs.findings import dotted
from specs.formats.yaml import Source
from specs.models.job import Job, PartList
from specs.models.record import RECORD
from specs.values.fields import ANY, LengthText, paths_of
from specs.values.lengths import LengthError, LengthUnit, parse_length

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from gapwright.web.request import Fields, PageRequest

Path = tuple[str, ...]
UNITS: tuple[LengthUnit, ...] = get_args(LengthUnit)
DEEPEST = 8
MEASURED = "measured"
"""The last step but one of the path of a listed part's measurement."""
NONE = "none"
"""Stands for no part at a place that may stay empty."""
LININGS = "linings"
"""The key of what the linings of a trial build measured."""
PROUD = "proud"
"""The key of a reading that is told by how far the ring stands proud."""
TRIED = ("trial", "now")
"""The keys of a gap's builds before assembly."""
AS_BUILT = "as built"
"""The key of a gap's measurement after assembly."""
UNNAMED = "is what a part measured that is not named; choose its size beside it"
MOST_PLACES = 2
"""The most digits in the number of a build's place."""
NEW = "this job"
"""The name of a job that is not in a file yet."""


def name_of(path: Iterable[str]) -> str:
    """Return the name of the field for a path of a job file."""
    return "/".join(quote(step, safe=" .") for step in path)


def _names(paths: Iterable[Path]) -> re.Pattern[str]:
    """Return a pattern of the fields for some paths of the model of a job."""
    steps = (["[^/]+" if step == ANY else step for step in path] for path in paths)
    return re.compile(f"job/(?:{'|'.join(map('/'.join, steps))})")


BUILDS = [path for path in paths_of(Job, PartList) if path[-1] == "parts"]
PART_NAMES = _names(paths_of(Job, PartList))
"""The fields with the parts of a build, as the models of a job declare them."""
LENGTH_NAMES = _names(
    [*paths_of(Job, LengthText), *((*path[:-1], MEASURED, ANY) for path in BUILDS)]
)
"""The fields that hold a length, those of a form for what a part measured too. The script of the
page reads the pattern from `data-lengths` of the form."""


def path_of(name: str) -> Path:
    """Return the path that a field stands for; empty for a field that is not of a job."""
    steps = tuple(map(unquote, name.split("/")))
    known = steps[0] == "job" and 1 < len(steps) <= DEEPEST
    return steps if known else ()


def source_of(request: PageRequest) -> Source:
    """Return the job of a form as a file would hold it.

    Raises InputError where its base is not a file, and where a measurement has no part.
    """
    lacking = unnamed(request.fields)
    if lacking:
        raise InputError(*lacking)
    return typed_source(request, blanks=False)


def typed_source(request: PageRequest, *, blanks: bool = True) -> Source:
    """Return the job of a form as far as it is filled in.

    Parameters
    ----------
    request
        The request with the form.
    blanks
        Whether the form is to be shown again. Then a place without a reading and a part without a
        name are kept as empty texts, so that later ones keep their places.

    Raises
    ------
    InputError
        Where its base is not a file of the folder.
    """
    shop, base = request.shop, request.one("from")
    data = deepcopy(shop.source(base).data) if base else _new(request)
    data.setdefault("job", {})
    file = shop.folder / (base or NEW)
    for section in ("unit", "shelf"):
        if request.one(section):
            data[section] = os.path.relpath(shop.folder / request.one(section), file.parent)
    if isinstance(data["job"], dict):
        name, typed = data["job"].get("name"), request.one("length")
        for path, values in _grouped(request.fields):
            apart = typed in UNITS and typed != data.get("length") and is_length(path)
            told = (
                [with_unit(one, cast("LengthUnit", typed)) for one in values] if apart else values
            )
            _put(data, path, told, blanks=blanks)
        _join_builds(data, blanks=blanks)
        if data["job"].get("name") != name:  # another job, of which nothing was promised yet
            data["job"] = {key: one for key, one in data["job"].items() if key not in RECORD}
    return Source(str(file), data, {(): 0})


def unnamed(fields: Fields) -> list[Problem]:
    """Return a problem for each measurement of a part that is not named."""
    given = {path_of(name): value.strip() for name, value in fields if value.strip()}
    return [
        Problem(f'"{shortened(value)}" {UNNAMED}', field=dotted(path))
        for path, value in given.items()
        if path[-2:-1] == (MEASURED,) and (*path[:-2], "parts", path[-1]) not in given
    ]


def lengths_in(request: PageRequest) -> LengthUnit | None:
    """Return the unit of length that a request asks for; None where it names none."""
    wanted = request.one("lengths")
    return wanted if wanted in UNITS else None


def _new(request: PageRequest) -> dict[str, Any]:
    """Return a job that is in no file yet, with the unit of length of its bare numbers."""
    return {"length": request.one("length")} if request.one("length") else {}


def is_length(path: Path) -> bool:
    """Return whether a field of a job holds a length."""
    return LENGTH_NAMES.fullmatch(name_of(path)) is not None


def _grouped(fields: Fields) -> Iterator[tuple[Path, list[str]]]:
    """Yield each path with all its values, in the order in which the paths first come."""
    found: dict[Path, list[str]] = {}
    for name, value in fields:
        path = path_of(name)
        if path:
            found.setdefault(path, []).append(value.strip())
    yield from found.items()


def _put(data: dict[str, Any], path: Path, values: list[str], *, blanks: bool) -> None:
    """Write the values of a path, or remove the present ones where all are empty."""
    given = values if blanks and any(values) else [value for value in values if value]
    node: Any = data
    above: dict[str, Any] = data
    for step, after in itertools.pairwise(path):
        if not isinstance(node.get(step), dict):
            if not given and not _emptied(node.get(step), step, after):
                return
            node[step] = {} if step not in node else _opened(node[step], after)
        above, node = node, node[step]
    if given:
        node[path[-1]] = given if len(given) > 1 else given[0]
    else:
        node.pop(path[-1], None)
        if path[-1] == PROUD and not node:  # a reading that nothing is told of any more
            del above[path[-2]]


def _emptied(short: object, step: str, after: str) -> bool:
    """Say whether a field left empty is a part of a build that the file lists."""
    return isinstance(short, list) and (after.isdigit() or (step in TRIED and after == "parts"))


def _opened(short: object, key: str) -> dict[str, Any]:
    """Return the long form of a short entry: a reading's `at`, a build's `parts`.

    A build that the form lists part by part starts empty.
    """
    if key in ("parts", MEASURED) or key.isdigit():
        return {}
    return {"parts" if key in ("layout", LININGS) else "at": short}


def _join_builds(data: dict[str, Any], *, blanks: bool) -> None:
    """Write the builds of a form as a file lists them: each part's size and its measurement."""
    gaps = data["job"].get("gaps")
    for work in gaps.values() if isinstance(gaps, dict) else ():
        for key in (*TRIED, AS_BUILT) if isinstance(work, dict) else ():
            build = work.get(key)
            if not isinstance(build, dict):
                continue
            measured = build.pop(MEASURED, {}) if MEASURED in build else {}
            parts = build.get("parts", {})
            if isinstance(parts, dict) and (parts or (blanks and measured)):
                build["parts"] = _listed(parts, measured, blanks=blanks)
            elif parts == {}:
                build.pop("parts", None)
            if not build.keys() - {"layout"}:
                del work[key]


def _listed(parts: dict[str, Any], measured: object, *, blanks: bool) -> list[Any]:
    beside = measured if isinstance(measured, dict) else {}
    listed: list[Any] = []
    for place in _places({**parts, **beside}) if blanks else _in_order(parts):
        sizes, read = parts.get(place, ""), beside.get(place)
        if isinstance(sizes, list) or sizes == NONE:
            given = [NONE] if sizes == NONE else sizes
            bare = NONE in given  # then what is left open beside it is none as well
            listed.append([size for size in given if size != NONE and (size or not bare)])
        else:
            listed.append(f"{sizes} {read}" if isinstance(read, str) else sizes)
    return listed


def _in_order(places: Iterable[str]) -> list[str]:
    return sorted(places, key=lambda step: (len(step), step))


def _places(given: Iterable[str]) -> list[str]:
    """Return all places up to the last given one, so that each part keeps its own."""
    steps = _in_order(given)
    last = steps[-1]
    counted = last.isascii() and last.isdigit() and len(last) <= MOST_PLACES
    return [str(nth) for nth in range(int(last) + 1)] if counted else steps


def at_fields(
    problems: Sequence[Problem], fields: Fields, shown: Collection[str]
) -> dict[str, list[str]]:
    """Assign the sentences of problems to the fields that the form shows.

    Parameters
    ----------
    problems
        The problems of the job.
    fields
        The fields that were sent.
    shown
        The names of the fields that the form shows.

    Returns
    -------
    dict of list of str
        The sentences by the name of their field; "" has those of no field shown. For a field that
        comes once for each place they are also under its name and the place.
    """
    found: dict[str, list[str]] = {}
    known = _known(fields)
    for problem in problems:
        whole, _, last = problem.field.rpartition(".")
        if problem.field in known:
            name, told = known[problem.field], problem.sentence
            at = _given(name, fields)
        elif last.isdigit() and whole in known:
            name = known[whole]
            at = _given(name, fields)[int(last) - 1 : int(last)]
            told = f"place {at[0] if at else last}: {problem.sentence}"
        else:
            name, told, at = "", "", []
        if not any(one == name or one.startswith(f"{name}/") for one in shown if name):
            name, told, at = "", str(problem), []
        found.setdefault(name, []).append(told)
        for place in at:
            found.setdefault(f"{name} {place}", []).append(problem.sentence)
    return found


def _known(fields: Fields) -> dict[str, str]:
    """Return the field for each path of a job's file; a build's path stands for all its parts."""
    paths = {path_of(name): name for name, _ in fields if path_of(name)}
    short = {path[:-1]: name for path, name in paths.items() if path[-1] == "at"}
    builds = {path[: path.index("parts")] for path in paths if "parts" in path}
    told = short | paths
    told |= {(*path, *key): name_of(path) for path in builds for key in ((), ("parts",))}
    return {dotted(path): name for path, name in told.items()}


def _given(name: str, fields: Fields) -> list[int]:
    """Return the numbers of the places, from 1, where a field has a value."""
    values = [value.strip() for key, value in fields if key == name]
    return [place for place, value in enumerate(values, 1) if value]


def with_unit(text: str, unit: LengthUnit) -> str:
    """Return a bare number with the unit of length it was typed in; other text as it is."""
    try:
        parse_length(text)
    except LengthError:
        try:
            parse_length(text, unit)
        except LengthError:
            return text
        return f"{text} {unit}"
    return text


def spelled(source: Source, unit: LengthUnit) -> Source:
    """Add the unit of length to the bare lengths of a job, to show it in another unit."""
    if isinstance(source.data.get("job"), dict):
        source.data["job"] = _spelled(source.data["job"], ("job",), unit)
    return source


def _spelled(held: Any, path: Path, unit: LengthUnit) -> Any:  # noqa: ANN401 - as written
    if isinstance(held, dict):
        return {key: _spelled(one, (*path, key), unit) for key, one in held.items()}
    if isinstance(held, list):
        return [_spelled(one, path, unit) for one in held]
    if not isinstance(held, str):
        return held
    if PART_NAMES.fullmatch(name_of(path)):
        size, blank, measured = held.rpartition(" ")
        return size + blank + with_unit(measured, unit) if blank else held
    return with_unit(held, unit) if is_length(path) else held
