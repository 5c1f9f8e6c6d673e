"""Opens the job of a form: what was typed so far, its unit, and the unit of length."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from gapwright.web.forms.fields import (
    LENGTH_NAMES,
    UNITS,
    is_length,
    lengths_in,
    path_of,
    spelled,
    typed_source,
    with_unit,
)
from gapwright.web.job_actions import DRAFT, sent_along
from gapwright.web.saved_files import mark_of
from specs.errors import InputError, Problem
from specs.findings import near

if TYPE_CHECKING:
    from collections.abc import Collection

    from gapwright.web.request import Visit
    from specs.formats.yaml import Source
    from specs.models.case import Case
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class Opened:
    """A job that is open in a form."""

    source: Source
    unit: Unit
    length: LengthUnit
    """The unit of bare numbers that are typed into the form."""
    names: tuple[str, ...]
    """The gaps that are shown, in the unit's order."""

    @property
    def data(self) -> dict[str, Any]:
        """The job's file as filled in so far; bare numbers are in the form's unit of length."""
        return self.source.data

    @property
    def length_names(self) -> str:
        """A pattern of the names of all fields that hold a length, for the script of the page."""
        return LENGTH_NAMES.pattern


def opened(visit: Visit) -> Opened:
    """Open the job of a request; raises InputError where its unit cannot be read."""
    source = typed_source(visit)
    case = unit_case(visit, source)
    written = source.data.get("length") or case.origins["unit"].length or "in"
    length = next(one for one in (visit.one("length"), written, "in") if one in UNITS)
    if length != written:
        source = spelled(source, written)
    asked = visit.all("only") or visit.all("gap")
    names = tuple(name for name in case.unit.gaps if name in asked) or (*case.unit.gaps,)
    return Opened(source, case.unit, length, names)


def unit_case(visit: Visit, source: Source) -> Case:
    """Make a case of a job's unit alone; raises InputError where no unit can be read."""
    if not source.data.get("unit"):
        known = [name for name, _ in visit.shop.units()]
        raise InputError(Problem(near("", known, "choose a unit"), "this folder"))
    alone = {key: value for key, value in source.data.items() if key in ("unit", "length")}
    return visit.shop.case(replace(source, data=alone), needs=("unit",))


def in_unit(visit: Visit, lengths: Collection[str] | None = None) -> Visit:
    """Switch a request to the unit of length it asks for.

    Numbers typed before are given the unit they were typed in.

    Parameters
    ----------
    visit
        The request.
    lengths
        The names of the fields that hold a length; those of a job unless stated.
    """
    wanted, typed = lengths_in(visit), visit.one("length")
    if not wanted or typed not in UNITS or wanted == typed:
        return visit
    fields = (
        (name, with_unit(value, typed) if _is_length(name, lengths) else value)
        for name, value in visit.fields
        if name not in ("length", "lengths")
    )
    return replace(visit, fields=(*fields, ("length", wanted)))


def _is_length(name: str, lengths: Collection[str] | None) -> bool:
    return is_length(path_of(name)) if lengths is None else name in lengths


def units_at(visit: Visit, path: str, unit: LengthUnit) -> list[tuple[str, str, bool]]:
    """Return a link for each unit of length: its name, its address, and whether it is in use."""
    typed = {} if visit.one("length") in UNITS else {"length": unit}
    return [(one, visit.link(path, lengths=one, **typed), one == unit) for one in UNITS]


def kept_unseen(visit: Visit, shown: Collection[str]) -> list[tuple[str, str]]:
    """Return the fields that a form sends along unseen, so that nothing typed is lost."""
    return [
        (name, value) for name, value in sent_along(visit)
        if name not in shown and name not in ("length", "lengths", "gap", DRAFT)
    ]  # fmt: skip


def draft_name(visit: Visit) -> str:
    """Return the name under which a browser keeps a draft; it changes with the job's file."""
    base = visit.one("from")
    return f"{base} {mark_of(visit.shop, base)}" if base else visit.one("unit")
