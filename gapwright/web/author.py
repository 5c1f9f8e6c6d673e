"""Names the author of a change to a ledger, as typed or as this machine is set up."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from gapwright.web.request import PageRequest

NOBODY = Problem("say who you are, for the shelf's history", field="who")


def who_of(request: PageRequest) -> str:
    """Return the name that was typed; raises InputError where there is none."""
    who = request.one("who")
    if not who:
        raise InputError(NOBODY)
    return who


def usual_who() -> str:
    """Return the name that forms are filled in with: that of the environment, or empty."""
    return os.environ.get("GAPWRIGHT_WHO", "")
