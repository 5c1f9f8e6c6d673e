"""Serves the page of a kit: the cheapest that serves enough past drums, and cost against drums."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.stock.kit.chart import frontier_chart
from gapwright.stock.kit.service import kit_of_past
from gapwright.stock.kit.text import kit_lines, share_of
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse
from specs.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.errors import Problem

USUAL = "95"
SHARE = "--share"


def kit(request: PageRequest) -> PageResponse:
    """Ask for a unit, its past drums, and the share of them to serve."""
    return _form(request, ())


def chosen(request: PageRequest) -> PageResponse:
    """Show the cheapest kit, or the form again with what is wrong in it."""
    try:
        share = share_of(request.one("share", USUAL))
        case = request.shop.case(request.shop.source(request.one("unit")), needs=("unit",))
        former = request.shop.former_units(case, request.one("history"))
        report = kit_of_past(case, [former], share, request.limits)
    except InputError as error:
        return _form(request, error.problems)
    verdict, *rest = kit_lines(report)
    page = render_page(
        "kit_chosen.html",
        unit=case.unit.name,
        verdict=verdict,
        table="\n".join(rest),
        fits=report.kit is not None,
        picture=frontier_chart(report).image() if report.frontier else "",
        again=request.link("/kit"),
    )
    return PageResponse(page)


def _form(request: PageRequest, problems: Sequence[Problem]) -> PageResponse:
    page = render_page(
        "kit.html",
        request=request, units=request.shop.units(), past=request.shop.past_drums(),
        share=request.one("share", USUAL),
        wrong=[one.sentence for one in problems if one.field == SHARE],
        others=[str(request.shop.relative(one)) for one in problems if one.field != SHARE],
    )  # fmt: skip
    return PageResponse(page, 422 if problems else 200)
