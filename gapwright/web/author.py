"""Who changes a ledger, for its history: what was typed, or what this machine is usually told."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from gapwright.web.request import Visit

NOBODY = Problem("say who you are, for the shelf's history", field="who")


def who_of(visit: Visit) -> str:
    """The name that was typed; raises InputError where there is none."""
    who = visit.one("who")
    if not who:
        raise InputError(NOBODY)
    return who


def usual_who() -> str:
    """The name a form begins with."""
    return os.environ.get("GAPWRIGHT_WHO", "")
