"""A form as a job file: every field is named by its path in the file, and back.

`job/gaps/low drum/gap/at` may come several times, once for each place; a last step that is a
number counts the parts of a build. A field left empty is not written. A job that was read from a
file keeps all the form does not ask for.
"""

from __future__ import annotations

import itertools
import os
from copy import deepcopy
from typing import TYPE_CHECKING, Any, cast, get_args
from urllib.parse import quote, unquote

from specs.errors import InputError, Problem, shortened
from specs.findings import dotted
from specs.formats.yaml import Source
from specs.values.lengths import LengthError, LengthUnit, parse_length

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from gapwright.web.request import Fields, Visit

Path = tuple[str, ...]
UNITS: tuple[LengthUnit, ...] = get_args(LengthUnit)
DEEPEST = 8
MEASURED = "measured"
"""The last step but one of what a listed part measured, beside its size."""
NONE = "none"
"""What stands for no part at a place that may stay empty."""
AS_BUILT = "as built"
"""The key of what a gap measured after assembly."""
UNNAMED = "is what a part measured that is not named; choose its size beside it"
MOST_PLACES = 2
"""Digits of the last place of a build."""
NEW = "this job"
"""What a job is called that is in no file yet."""


def name_of(path: Iterable[str]) -> str:
    """The name of the field that stands for a path of a job file."""
    return "/".join(quote(step, safe=" .") for step in path)


def path_of(name: str) -> Path:
    """The path a field stands for; empty for a field that is none of a job's."""
    steps = tuple(map(unquote, name.split("/")))
    known = steps[0] == "job" and 1 < len(steps) <= DEEPEST
    return steps if known else ()


def source_of(visit: Visit) -> Source:
    """The job a form holds, as its file would.

    Raises InputError where its base is no file, and where a part was measured that is not named.
    """
    lacking = unnamed(visit.fields)
    if lacking:
        raise InputError(*lacking)
    return typed_source(visit, blanks=False)


def typed_source(visit: Visit, *, blanks: bool = True) -> Source:
    """The job a form holds as far as it is typed; raises InputError where its base is no file.

    With `blanks` it is to be shown again: a place that was not read and a part that is not named
    are empty texts, so that what comes after them keeps its place.
    """
    shop, base = visit.shop, visit.one("from")
    data = deepcopy(shop.source(base).data) if base else _new(visit)
    data.setdefault("job", {})
    file = shop.folder / (base or NEW)
    for section in ("unit", "shelf"):
        if visit.one(section):
            data[section] = os.path.relpath(shop.folder / visit.one(section), file.parent)
    if isinstance(data["job"], dict):
        typed = visit.one("length")
        for path, values in grouped(visit.fields):
            apart = typed in UNITS and typed != data.get("length") and is_length(path)
            told = (
                [with_unit(one, cast("LengthUnit", typed)) for one in values] if apart else values
            )
            _put(data, path, told, blanks=blanks)
        _join_builds(data, blanks=blanks)
    return Source(str(file), data, {(): 0})


def unnamed(fields: Fields) -> list[Problem]:
    """What was measured of parts that are not named."""
    given = {path_of(name): value.strip() for name, value in fields if value.strip()}
    return [
        Problem(f'"{shortened(value)}" {UNNAMED}', field=dotted(path))
        for path, value in given.items()
        if path[-2:-1] == (MEASURED,) and (*path[:-2], "parts", path[-1]) not in given
    ]


def lengths_in(visit: Visit) -> LengthUnit | None:
    """The unit a visit asks to see lengths in; None where it names none."""
    wanted = visit.one("lengths")
    return wanted if wanted in UNITS else None


def _new(visit: Visit) -> dict[str, Any]:
    """A job that is in no file: its bare numbers are in the unit they are typed in."""
    return {"length": visit.one("length")} if visit.one("length") else {}


def is_length(path: Path) -> bool:
    """Whether a field of a job is a length."""
    return path[-1:] == ("at",) or MEASURED in path or path[:2] == ("job", "parts")


def grouped(fields: Fields) -> Iterator[tuple[Path, list[str]]]:
    """Each path with all its values, in the order in which they come first."""
    found: dict[Path, list[str]] = {}
    for name, value in fields:
        path = path_of(name)
        if path:
            found.setdefault(path, []).append(value.strip())
    yield from found.items()


def _put(data: dict[str, Any], path: Path, values: list[str], *, blanks: bool) -> None:
    """Write the values of a path, or take away what stands there where all are empty."""
    given = values if blanks and any(values) else [value for value in values if value]
    node: Any = data
    for step, after in itertools.pairwise(path):
        if not isinstance(node.get(step), dict):
            if not given:
                return
            node[step] = {} if step not in node else _opened(node[step], after)
        node = node[step]
    if given:
        node[path[-1]] = given if len(given) > 1 else given[0]
    else:
        node.pop(path[-1], None)


def _opened(short: object, key: str) -> dict[str, Any]:
    """The long form of what a file has in short: a reading is its `at`, a build its `parts`.

    A build that is listed part by part in the form is told anew.
    """
    if key in ("parts", MEASURED) or key.isdigit():
        return {}
    return {"parts" if key == "layout" else "at": short}


def _join_builds(data: dict[str, Any], *, blanks: bool) -> None:
    """Write the builds of a form as a file lists them: each part a size and what it measured."""
    gaps = data["job"].get("gaps")
    for work in gaps.values() if isinstance(gaps, dict) else ():
        for key in ("trial", "now", AS_BUILT) if isinstance(work, dict) else ():
            build = work.get(key)
            if not isinstance(build, dict):
                continue
            measured = build.pop(MEASURED, {}) if MEASURED in build else {}
            parts = build.get("parts", {})
            if isinstance(parts, dict) and (parts or (blanks and measured)):
                build["parts"] = _listed(parts, measured, blanks=blanks)
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
    """All places up to the last that is given, so that each part keeps its own."""
    steps = _in_order(given)
    last = steps[-1]
    counted = last.isascii() and last.isdigit() and len(last) <= MOST_PLACES
    return [str(nth) for nth in range(int(last) + 1)] if counted else steps


def at_fields(
    problems: Sequence[Problem], fields: Fields, shown: Collection[str]
) -> dict[str, list[str]]:
    """The sentences that belong to a field that the form shows, by its name; "" has the others.

    A field that comes once for each place has them under its name and the place too.
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
    """Which field a path of a job's file stands in; a build's path stands for all of its parts."""
    paths = {path_of(name): name for name, _ in fields if path_of(name)}
    short = {path[:-1]: name for path, name in paths.items() if path[-1] == "at"}
    builds = {path[: path.index("parts")] for path in paths if "parts" in path}
    told = short | paths | {path: name_of(path) for path in builds}
    return {dotted(path): name for path, name in told.items()}


def _given(name: str, fields: Fields) -> list[int]:
    """Which of the places of a name hold something, 1 the first."""
    values = [value.strip() for key, value in fields if key == name]
    return [place for place, value in enumerate(values, 1) if value]


def with_unit(text: str, unit: LengthUnit) -> str:
    """What was typed as a bare number, with the unit it was typed in; the rest as it is."""
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
    """A job whose readings say the unit they are in, to be shown beside another."""
    job = source.data.get("job")
    if isinstance(job, dict):
        _spell(job, "readings", unit)
        _spell(job, "parts", unit)
        gaps = job.get("gaps")
        for work in gaps.values() if isinstance(gaps, dict) else ():
            _spell(work, "readings", unit)
            for key in ("gap", AS_BUILT, "trial", "now") if isinstance(work, dict) else ():
                if key in work:
                    work[key] = _spelled(work[key], unit, part=key in ("trial", "now"))
    return source


def _spell(holder: Any, key: str, unit: LengthUnit) -> None:  # noqa: ANN401 - as written
    """Give the lengths of a mapping their unit."""
    held = holder.get(key) if isinstance(holder, dict) else None
    if isinstance(held, dict):
        held.update({name: _spelled(one, unit) for name, one in held.items()})


def _spelled(held: Any, unit: LengthUnit, *, part: bool = False) -> Any:  # noqa: ANN401 - as written
    """A reading, or a part with what it measured, whose bare numbers are given their unit."""
    if isinstance(held, dict):
        return {
            key: _spelled(one, unit, part=key == "parts") if key in ("at", "parts") else one
            for key, one in held.items()
        }
    if isinstance(held, list):
        return [_spelled(one, unit, part=part) for one in held]
    if not isinstance(held, str):
        return held
    size, blank, measured = held.rpartition(" ") if part else ("", "", held)
    return size + blank + with_unit(measured, unit) if blank or not part else held
