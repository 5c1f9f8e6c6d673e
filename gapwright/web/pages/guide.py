"""Serves the guide on the page, without internet."""

from __future__ import annotations

from gapwright.drawing.svg import Svg
from gapwright.guide.pages import PAGES, as_html, page
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit


def contents(visit: Visit) -> Reply:  # noqa: ARG001 - the same for everybody
    """List the pages of the guide."""
    return _shown("", "")


def one(visit: Visit) -> Reply:
    """Show one page of the guide, or the list of pages where there is none of that name."""
    name = visit.names["name"]
    if name not in PAGES:
        return _shown("", "", status=404)
    return _shown(name, as_html(page(name)))


def _shown(name: str, text: str, *, status: int = 200) -> Reply:
    return Reply(screen("guide.html", pages=PAGES, name=name, text=Svg(text)), status)
