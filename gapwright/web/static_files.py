"""Serves the style and the script of the pages, from beside the templates."""

from __future__ import annotations

from importlib.resources import files

from gapwright.web.request import Reply, Visit

KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}


def style(visit: Visit) -> Reply:  # noqa: ARG001 - the same for everybody
    """Return the style of all pages."""
    return _own("bench.css")


def script(visit: Visit) -> Reply:  # noqa: ARG001 - the same for everybody
    """Return the script of all pages, which work without it."""
    return _own("bench.js")


def _own(name: str) -> Reply:
    text = files("gapwright").joinpath("templates", "serve", name).read_text(encoding="utf-8")
    return Reply(text, kind=KINDS[name[name.rindex(".") :]])
