"""Serves the page of a kit's cover: the spaces it serves, its holes, and what closes them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gapwright.cover.chart import cover_chart
from gapwright.cover.service import CoverOptions, cover_case
from gapwright.cover.text import (
    BUILDS,
    build_rows,
    further_words,
    head,
    hole_words,
    served_words,
    standing,
)
from gapwright.paper.job_sheet import sentences
from gapwright.record.former_units_text import uncounted_words
from gapwright.web.draft import in_unit, unit_case, units_at
from gapwright.web.forms.fields import UNITS, lengths_in
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse
from specs.errors import InputError, Problem
from specs.files.shelf_address import without_password
from specs.formats.yaml import Source
from specs.values.lengths import LengthError, parse_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gapwright.cover.service import Covered
    from gapwright.paper.job_sheet import Sentence
    from specs.files.history import History
    from specs.models.case import Case
    from specs.values.lengths import Length, LengthUnit

TYPED = ("first", "last", "step")
"""The fields that hold a length."""


@dataclass(frozen=True, slots=True)
class CoverCard:
    """One cover in words."""

    head: str
    standing: tuple[str, ...]
    holes: tuple[str, ...]
    served: tuple[Sentence, ...]
    further: tuple[Sentence, ...]
    builds: tuple[tuple[str, ...], ...]


def cover(request: PageRequest) -> PageResponse:
    """Ask for a unit and a kit."""
    return _form(request, ())


def covered(request: PageRequest) -> PageResponse:
    """Show what a kit serves, or the form again with what is wrong in it."""
    request = in_unit(request, TYPED)
    try:
        case = request.shop.case(_source(request), needs=("unit", "shelf"))
        unit = _length(request, case)
        past = _history(request, case)
        covers = cover_case(case, _wanted(request, unit), past, request.limits)
    except InputError as error:
        return _form(request, error.problems)
    page = render_page(
        "covered.html",
        request=request, unit=case.unit.name,
        shelf=without_password(request.shop.shelf) or request.one("shelf"),
        picture=cover_chart(covers, unit).image(), covers=[_card(one, unit) for one in covers],
        uncounted=sentences(uncounted_words(past.uncounted if past else ())),
        columns=BUILDS, again=request.link("/cover"), lengths=units_at(request, "/covered", unit),
    )  # fmt: skip
    return PageResponse(page)


def _form(request: PageRequest, problems: Sequence[Problem]) -> PageResponse:
    request = in_unit(request, TYPED)
    shop = request.shop
    units = shop.units()
    if units and not request.one("unit"):
        request = replace(request, fields=(*request.fields, ("unit", units[0][0])))
    gaps, length = _known(request)
    at = {name: [one.sentence for one in problems if one.field == name] for name in TYPED}
    page = render_page(
        "cover.html",
        request=request, units=units, shelves=_kits(request), gaps=gaps, length=length, wrong=at,
        past=shop.past_drums(),
        others=[str(shop.relative(one)) for one in problems if one.field not in TYPED],
        lengths=units_at(request, "/cover", length),
    )  # fmt: skip
    return PageResponse(page, 422 if problems else 200)


def _kits(request: PageRequest) -> list[str]:
    """Return the kits to choose from, and the shelves where none was named at the start."""
    kits = [held.name for held in request.shop.files() if "kit" in held.sections]
    return [] if request.shop.shelf else [*kits, *request.shop.shelves()]


def _known(request: PageRequest) -> tuple[list[str], LengthUnit]:
    """Return the gaps of the chosen unit and the unit of length; no gaps for a faulty unit."""
    try:
        case = unit_case(request, _source(request))
    except InputError:
        return [], "in"
    return [*case.unit.gaps], _length(request, case)


def _source(request: PageRequest) -> Source:
    """Return a file that names the unit and the kit, and nothing else."""
    named = {name: request.one(name) for name in ("unit", "shelf") if request.one(name)}
    for name in named.values():
        request.shop.path(name)
    return Source(str(request.shop.folder / "this cover"), named, {})


def _card(one: Covered, unit: LengthUnit) -> CoverCard:
    return CoverCard(
        head(one, unit),
        tuple(standing(one)),
        tuple(hole_words(one, hole, unit) for hole in one.holes),
        sentences(served_words(one, unit)),
        sentences(further_words(one, unit)),
        tuple(build_rows(one, unit)),
    )


def _wanted(request: PageRequest, unit: LengthUnit) -> CoverOptions:
    bounds: dict[str, Length | None] = {}
    problems = []
    for name in TYPED:
        try:
            bounds[name] = _parsed(request.one(name), unit)
        except LengthError as error:
            problems.append(Problem(str(error), field=name))
    if problems:
        raise InputError(*problems)
    return CoverOptions(
        request.one("gap"), first=bounds["first"], last=bounds["last"], step=bounds["step"]
    )


def _parsed(text: str, unit: LengthUnit) -> Length | None:
    return parse_length(text, unit) if text else None


def _history(request: PageRequest, case: Case) -> History | None:
    name = request.one("history")
    return request.shop.former_units(case, name).history(case) if name else None


def _length(request: PageRequest, case: Case) -> LengthUnit:
    """Return the unit of length of bare numbers and of the answer."""
    typed = request.one("length")
    return lengths_in(request) or (typed if typed in UNITS else case.length)
