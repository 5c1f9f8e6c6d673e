"""The page that describes the API; its whole description is OpenAPI, for programs."""

from __future__ import annotations

from gapwright.web.error_pages import ABOUT
from gapwright.web.openapi import API
from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit


def api(visit: Visit) -> Reply:  # noqa: ARG001 - the same for everybody
    """List what may be asked."""
    return Reply(screen("api.html", routes=API, about=ABOUT))
