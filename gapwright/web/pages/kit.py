"""Serves the page of a kit: the cheapest that serves enough past drums, and cost against drums."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.stock.kit.chart import frontier_chart
from gapwright.stock.kit.service import kit_of_past
from gapwright.stock.kit.text import share_of, told
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit
from specs.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.errors import Problem

USUAL = "95"
SHARE = "--share"


def kit(visit: Visit) -> Reply:
    """Ask for a unit, its past drums, and the share of them to serve."""
    return _asked(visit, ())


def chosen(visit: Visit) -> Reply:
    """Show the cheapest kit, or the form again with what is wrong in it."""
    try:
        share = share_of(visit.one("share", USUAL))
        unit = visit.shop.path(visit.one("unit"))
        case = visit.shop.case(visit.shop.source(visit.one("unit")), needs=("unit",))
        history = visit.shop.path(visit.one("history"))
        report = kit_of_past(case, [history], share, visit.limits, unit=unit)
    except InputError as error:
        return _asked(visit, error.problems)
    verdict, *rest = told(report)
    page = screen(
        "kit_chosen.html",
        unit=case.unit.name, verdict=verdict, told="\n".join(rest), fits=report.kit is not None,
        picture=frontier_chart(report).image() if report.frontier else "", again=visit.link("/kit"),
    )  # fmt: skip
    return Reply(page)


def _asked(visit: Visit, problems: Sequence[Problem]) -> Reply:
    page = screen(
        "kit.html",
        visit=visit, units=visit.shop.units(), past=visit.shop.past_drums(),
        share=visit.one("share", USUAL),
        wrong=[one.sentence for one in problems if one.field == SHARE],
        others=[str(visit.shop.told(one)) for one in problems if one.field != SHARE],
    )  # fmt: skip
    return Reply(page, 422 if problems else 200)
