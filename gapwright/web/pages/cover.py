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
from gapwright.paper.job_sheet import said
from gapwright.web.draft import in_unit, unit_case, units_at
from gapwright.web.forms.fields import UNITS, lengths_in
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit
from specs.errors import InputError, Problem
from specs.files.history import read_history
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


def cover(visit: Visit) -> Reply:
    """Ask for a unit and a kit."""
    return _asked(visit, ())


def covered(visit: Visit) -> Reply:
    """Show what a kit serves, or the form again with what is wrong in it."""
    visit = in_unit(visit, TYPED)
    try:
        case = visit.shop.case(_source(visit), needs=("unit", "shelf"))
        unit = _length(visit, case)
        covers = cover_case(case, _wanted(visit, unit), _history(visit, unit), visit.limits)
    except InputError as error:
        return _asked(visit, error.problems)
    page = screen(
        "covered.html",
        visit=visit, unit=case.unit.name,
        shelf=without_password(visit.shop.shelf) or visit.one("shelf"),
        picture=cover_chart(covers, unit).image(), told=[_told(one, unit) for one in covers],
        columns=BUILDS, again=visit.link("/cover"), lengths=units_at(visit, "/covered", unit),
    )  # fmt: skip
    return Reply(page)


def _asked(visit: Visit, problems: Sequence[Problem]) -> Reply:
    visit = in_unit(visit, TYPED)
    shop = visit.shop
    units = shop.units()
    if units and not visit.one("unit"):
        visit = replace(visit, fields=(*visit.fields, ("unit", units[0][0])))
    gaps, length = _known(visit)
    at = {name: [one.sentence for one in problems if one.field == name] for name in TYPED}
    page = screen(
        "cover.html",
        visit=visit, units=units, shelves=_kits(visit), gaps=gaps, length=length, wrong=at,
        past=shop.past_drums(),
        others=[str(shop.told(one)) for one in problems if one.field not in TYPED],
        lengths=units_at(visit, "/cover", length),
    )  # fmt: skip
    return Reply(page, 422 if problems else 200)


def _kits(visit: Visit) -> list[str]:
    """Return the kits to choose from, and the shelves where none was named at the start."""
    kits = [held.name for held in visit.shop.files() if "kit" in held.sections]
    return [] if visit.shop.shelf else [*kits, *visit.shop.shelves()]


def _known(visit: Visit) -> tuple[list[str], LengthUnit]:
    """Return the gaps of the chosen unit and the unit of length; no gaps for a faulty unit."""
    try:
        case = unit_case(visit, _source(visit))
    except InputError:
        return [], "in"
    return [*case.unit.gaps], _length(visit, case)


def _source(visit: Visit) -> Source:
    """Return a file that names the unit and the kit, and nothing else."""
    named = {name: visit.one(name) for name in ("unit", "shelf") if visit.one(name)}
    for name in named.values():
        visit.shop.path(name)
    return Source(str(visit.shop.folder / "this cover"), named, {})


def _told(one: Covered, unit: LengthUnit) -> CoverCard:
    return CoverCard(
        head(one, unit), tuple(standing(one)),
        tuple(hole_words(one, hole, unit) for hole in one.holes),
        said(served_words(one, unit)), said(further_words(one, unit)), tuple(build_rows(one, unit)),
    )  # fmt: skip


def _wanted(visit: Visit, unit: LengthUnit) -> CoverOptions:
    bounds: dict[str, Length | None] = {}
    problems = []
    for name in TYPED:
        try:
            bounds[name] = _parsed(visit.one(name), unit)
        except LengthError as error:
            problems.append(Problem(str(error), field=name))
    if problems:
        raise InputError(*problems)
    return CoverOptions(
        visit.one("gap"), first=bounds["first"], last=bounds["last"], step=bounds["step"]
    )


def _parsed(text: str, unit: LengthUnit) -> Length | None:
    return parse_length(text, unit) if text else None


def _history(visit: Visit, unit: LengthUnit) -> History | None:
    name = visit.one("history")
    return read_history(visit.shop.path(name), unit) if name else None


def _length(visit: Visit, case: Case) -> LengthUnit:
    """Return the unit of length of bare numbers and of the answer."""
    typed = visit.one("length")
    return lengths_in(visit) or (typed if typed in UNITS else case.length)
