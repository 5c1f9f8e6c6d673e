"""The day it is where this machine stands."""

from __future__ import annotations

from datetime import UTC, date, datetime


def today() -> date:
    """The day it is here."""
    return datetime.now(tz=UTC).astimezone().date()
