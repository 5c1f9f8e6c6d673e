"""The page that describes the API; its whole description is OpenAPI, for programs."""

from __future__ import annotations

from gapwright.serve.api_told import API
from gapwright.serve.refusals import ABOUT
from gapwright.serve.screen import screen
from gapwright.serve.visit import Reply, Visit


def api(visit: Visit) -> Reply:  # noqa: ARG001 - the same for everybody
    """List what may be asked."""
    return Reply(screen("api.html", routes=API, about=ABOUT))
