"""Serves what comes with the package: the guide, and the style and the script of the pages."""

from __future__ import annotations

from importlib.resources import files

from gapwright.drawing.svg import Svg
from gapwright.guide.pages import PAGES, as_html, page
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse

KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}


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


def style(request: PageRequest) -> PageResponse:  # noqa: ARG001 - the same for everybody
    """Return the style of all pages."""
    return _own("bench.css")


def script(request: PageRequest) -> PageResponse:  # noqa: ARG001 - the same for everybody
    """Return the script of all pages, which work without it."""
    return _own("bench.js")


def _own(name: str) -> PageResponse:
    text = files("gapwright").joinpath("templates", "serve", name).read_text(encoding="utf-8")
    return PageResponse(text, kind=KINDS[name[name.rindex(".") :]])
