"""Serves the guide on the page, without internet."""

from __future__ import annotations

from gapwright.drawing.svg import Svg
from gapwright.guide.pages import PAGES, as_html, page
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse


def contents(request: PageRequest) -> PageResponse:  # noqa: ARG001 - the same for everybody
    """List the pages of the guide."""
    return _shown("", "")


def one(request: PageRequest) -> PageResponse:
    """Show one page of the guide, or the list of pages where there is none of that name."""
    name = request.names["name"]
    if name not in PAGES:
        return _shown("", "", status=404)
    return _shown(name, as_html(page(name)))


def _shown(name: str, text: str, *, status: int = 200) -> PageResponse:
    return PageResponse(render_page("guide.html", pages=PAGES, name=name, text=Svg(text)), status)
