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

from specs.findings import dotted
from specs.formats.yaml import Source
from specs.values.lengths import LengthError, Unit, parse_length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from gapwright.web.request import Fields, Visit
    from specs.errors import Problem

Path = tuple[str, ...]
UNITS: tuple[Unit, ...] = get_args(Unit)
DEEPEST = 8
MEASURED = "measured"
"""The last step but one of what a listed part measured, beside its size."""
NONE = "none"
"""What stands for no part at a place that may stay empty."""
AS_BUILT = "as built"
"""The key of what a gap measured after assembly."""
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
    """The job a form holds, as its file would; raises InputError where its base is no file."""
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
            _put(data, path, [with_unit(one, cast("Unit", typed)) for one in values]
                 if apart else values)  # fmt: skip
        _join_builds(data)
    return Source(str(file), data, {(): 0})


def lengths_in(visit: Visit) -> Unit | None:
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


def _put(data: dict[str, Any], path: Path, values: list[str]) -> None:
    """Write the values of a path, or take away what stands there where all are empty."""
    given = [value for value in values if value]
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


def _join_builds(data: dict[str, Any]) -> None:
    """Write the builds of a form as a file lists them: each part a size and what it measured."""
    gaps = data["job"].get("gaps")
    for work in gaps.values() if isinstance(gaps, dict) else ():
        for key in ("trial", "now", AS_BUILT) if isinstance(work, dict) else ():
            build = work.get(key)
            if isinstance(build, dict) and isinstance(build.get("parts"), dict):
                measured = build.pop(MEASURED, {})
                build["parts"] = _listed(build["parts"], measured)
            elif isinstance(build, dict):
                build.pop(MEASURED, None)
            if isinstance(build, dict) and not build.keys() - {"layout"}:
                del work[key]


def _listed(parts: dict[str, Any], measured: object) -> list[Any]:
    beside = measured if isinstance(measured, dict) else {}
    listed: list[Any] = []
    for place in sorted(parts, key=lambda step: (len(step), step)):
        sizes, read = parts[place], beside.get(place)
        if isinstance(sizes, list) or sizes == NONE:
            listed.append([size for size in sizes if NONE not in (size, sizes)])
        else:
            listed.append(f"{sizes} {read}" if isinstance(read, str) else sizes)
    return listed


def at_fields(problems: Sequence[Problem], fields: Fields) -> dict[str, list[str]]:
    """The sentences that belong to a field of the form, by its name; "" has the others.

    A field that comes once for each place has them under its name and the place too.
    """
    found: dict[str, list[str]] = {}
    known = _known(fields)
    for problem in problems:
        whole, _, last = problem.field.rpartition(".")
        if problem.field in known:
            name, told = known[problem.field], problem.sentence
            at = range(1, _given(name, fields) + 1)
        elif last.isdigit() and whole in known:
            name, told = known[whole], f"place {last}: {problem.sentence}"
            at = range(int(last), int(last) + 1)
        else:
            name, told, at = "", str(problem), range(0)
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


def _given(name: str, fields: Fields) -> int:
    """How many of the fields of a name hold something; the form shows those first."""
    return sum(key == name and bool(value.strip()) for key, value in fields)


def with_unit(text: str, unit: Unit) -> str:
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


def spelled(source: Source, unit: Unit) -> Source:
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


def _spell(holder: Any, key: str, unit: Unit) -> None:  # noqa: ANN401 - as written
    """Give the lengths of a mapping their unit."""
    held = holder.get(key) if isinstance(holder, dict) else None
    if isinstance(held, dict):
        held.update({name: _spelled(one, unit) for name, one in held.items()})


def _spelled(held: Any, unit: Unit, *, part: bool = False) -> Any:  # noqa: ANN401 - as written
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
