"""The page of readings: what to measure, how, and fields to type it into."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gapwright.serve.asked import form_of
from gapwright.serve.form import (
    UNITS,
    at_fields,
    is_length,
    name_of,
    path_of,
    source_of,
    spelled,
    with_unit,
)
from gapwright.serve.screen import screen
from gapwright.serve.visit import Reply, Visit
from specs.addresses import is_server
from specs.errors import InputError, Problem
from specs.findings import near

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.case import Case
    from specs.lengths import Unit as LengthUnit
    from specs.unit import Unit
    from specs.yaml_door import Source

JOB_FIELDS = {key: name_of(("job", key)) for key in ("name", "due", "note")}


def measure(visit: Visit) -> Reply:
    """Show the form of a unit, or of a job that is in a file."""
    return measured(in_unit(visit), ())


def measured(visit: Visit, problems: Sequence[Problem]) -> Reply:
    """The form with what was typed so far, and what is wrong with it at its fields."""
    source = source_of(visit)
    unit, own = unit_of(visit, source)
    written = source.data.get("length") or own
    length = next(one for one in (visit.one("length"), written, "in") if one in UNITS)
    if length != written:
        source = spelled(source, written)
    asked = visit.all("gap")
    names = tuple(name for name in unit.gaps if name in asked) or (*unit.gaps,)
    form = form_of(unit, source.data, names, length)
    told = at_fields(problems, _asked(visit))
    page = screen(
        "measure.html",
        visit=visit, unit=unit, form=form, length=length, lengths=_lengths(visit, length),
        job=_job(source.data), fields=JOB_FIELDS, names=names, wrong=told,
        shelf=_shelf(visit, source), shelf_inside=isinstance(source.data.get("shelf"), dict),
        shelves=_shelves(visit), kept=_kept(visit, source),
    )  # fmt: skip
    return Reply(page, 422 if problems else 200)


def in_unit(visit: Visit) -> Visit:
    """Change over to another unit of length, and say of what was typed which it was typed in."""
    wanted, length = visit.one("lengths"), visit.one("length")
    if wanted not in UNITS or not length or wanted == length or length not in UNITS:
        return visit
    typed = length
    fields = (
        (name, with_unit(value, typed) if _is_length(name) else value)
        for name, value in visit.fields
        if name not in ("length", "lengths")
    )
    return replace(visit, fields=(*fields, ("length", wanted)))


def _is_length(name: str) -> bool:
    path = path_of(name)
    return bool(path) and is_length(path)


def unit_of(visit: Visit, source: Source) -> tuple[Unit, LengthUnit]:
    """The unit of a job, and the unit of length its file is written in."""
    case = unit_case(visit, source)
    return case.unit, case.origins["unit"].length or "in"


def unit_case(visit: Visit, source: Source) -> Case:
    """The case of a job's unit alone; raises InputError where there is none to be read."""
    if not source.data.get("unit"):
        known = [held.name for held in visit.shop.files() if "unit" in held.sections]
        raise InputError(Problem(near("", known, "choose a unit"), "this folder"))
    alone = {key: value for key, value in source.data.items() if key in ("unit", "length")}
    return visit.shop.case(replace(source, data=alone), needs=("unit",))


def _lengths(visit: Visit, length: LengthUnit) -> list[tuple[str, str, bool]]:
    """One touch for each unit of length: its name, where it leads, whether it is the one."""
    return [
        (unit, visit.link("/measure", length=length, lengths=unit), unit == length)
        for unit in UNITS
    ]


def _asked(visit: Visit) -> list[str]:
    """The names of all fields of a job that were sent, and of the builds they belong to."""
    names = [name for name, _ in visit.fields if path_of(name)]
    paths = [path_of(name) for name in names]
    builds = {path[: path.index(key)] for path in paths for key in ("parts",) if key in path}
    return [*dict.fromkeys(names), *(name_of(path) for path in builds)]


def _job(data: dict[str, Any]) -> dict[str, str]:
    job = data.get("job")
    held = job if isinstance(job, dict) else {}
    return {key: str(held.get(key) or "") for key in JOB_FIELDS}


def _shelf(visit: Visit, source: Source) -> str:
    """The shelf a job names, as it is called from the folder."""
    named = source.data.get("shelf")
    if not isinstance(named, str) or is_server(named):
        return ""
    return os.path.relpath(Path(source.file).parent / named, visit.shop.folder)


def _shelves(visit: Visit) -> list[str]:
    """The shelves to choose from; none where one was named at the start."""
    if visit.shop.shelf:
        return []
    files = [held.name for held in visit.shop.files() if "shelf" in held.sections]
    return [*files, *visit.shop.ledgers()]


def _kept(visit: Visit, source: Source) -> list[tuple[str, str]]:
    """What the form sends along unseen."""
    unit = source.data.get("unit")
    kept = [("from", visit.one("from"))] if visit.one("from") else []
    if not kept and isinstance(unit, str):
        kept.append(("unit", unit))
    return kept
