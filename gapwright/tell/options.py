"""The options of `tell` as written on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from pathlib import Path


class TellOptions(TypedDict):
    """The options of `tell` as written."""

    unit: Path | None
    list_: Path | None
    gauge: str
    seen: tuple[str, ...]
    used: bool
    flatness: str | None
    coning: str | None
    found: tuple[str, ...]
    sure: float
