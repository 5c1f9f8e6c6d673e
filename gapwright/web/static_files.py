"""Serves the style and the script of the pages, from beside the templates."""

from __future__ import annotations

from importlib.resources import files

from gapwright.web.request import PageRequest, PageResponse

KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}


def style(request: PageRequest) -> PageResponse:  # noqa: ARG001 - the same for everybody
    """Return the style of all pages."""
    return _own("bench.css")


def script(request: PageRequest) -> PageResponse:  # noqa: ARG001 - the same for everybody
    """Return the script of all pages, which work without it."""
    return _own("bench.js")


def _own(name: str) -> PageResponse:
    text = files("gapwright").joinpath("templates", "serve", name).read_text(encoding="utf-8")
    return PageResponse(text, kind=KINDS[name[name.rindex(".") :]])
