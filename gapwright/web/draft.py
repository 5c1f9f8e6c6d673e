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

    from gapwright.web.request import PageRequest
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


def opened(request: PageRequest) -> Opened:
    """Open the job of a request; raises InputError where its unit cannot be read."""
    source = typed_source(request)
    case = unit_case(request, source)
    written = source.data.get("length") or case.origins["unit"].length or "in"
    length = next(one for one in (request.one("length"), written, "in") if one in UNITS)
    if length != written:
        source = spelled(source, written)
    asked = request.all("only") or request.all("gap")
    names = tuple(name for name in case.unit.gaps if name in asked) or (*case.unit.gaps,)
    return Opened(source, case.unit, length, names)


def unit_case(request: PageRequest, source: Source) -> Case:
    """Make a case of a job's unit alone; raises InputError where no unit can be read."""
    if not source.data.get("unit"):
        known = [name for name, _ in request.shop.units()]
        raise InputError(Problem(near("", known, "choose a unit"), "this folder"))
    alone = {key: value for key, value in source.data.items() if key in ("unit", "length")}
    return request.shop.case(replace(source, data=alone), needs=("unit",))


def in_unit(request: PageRequest, lengths: Collection[str] | None = None) -> PageRequest:
    """Switch a request to the unit of length it asks for.

    Numbers typed before are given the unit they were typed in.

    Parameters
    ----------
    request
        The request.
    lengths
        The names of the fields that hold a length; those of a job unless stated.
    """
    wanted, typed = lengths_in(request), request.one("length")
    if not wanted or typed not in UNITS or wanted == typed:
        return request
    fields = (
        (name, with_unit(value, typed) if _is_length(name, lengths) else value)
        for name, value in request.fields
        if name not in ("length", "lengths")
    )
    return replace(request, fields=(*fields, ("length", wanted)))


def _is_length(name: str, lengths: Collection[str] | None) -> bool:
    return is_length(path_of(name)) if lengths is None else name in lengths


def units_at(request: PageRequest, path: str, unit: LengthUnit) -> list[tuple[str, str, bool]]:
    """Return a link for each unit of length: its name, its address, and whether it is in use."""
    typed = {} if request.one("length") in UNITS else {"length": unit}
    return [(one, request.link(path, lengths=one, **typed), one == unit) for one in UNITS]


def kept_unseen(request: PageRequest, shown: Collection[str]) -> list[tuple[str, str]]:
    """Return the fields that a form sends along unseen, so that nothing typed is lost."""
    return [
        (name, value) for name, value in sent_along(request)
        if name not in shown and name not in ("length", "lengths", "gap", DRAFT)
    ]  # fmt: skip


def draft_name(request: PageRequest) -> str:
    """Return the name under which a browser keeps a draft; it changes with the job's file."""
    base = request.one("from")
    return f"{base} {mark_of(request.shop, base)}" if base else request.one("unit")
