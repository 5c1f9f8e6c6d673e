"""The two units of a sheet: every length stands on it in one, and beside it in the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from specs.values.lengths import Unit


def beside(first: Unit) -> Unit:
    """The unit that stands beside the one asked for."""
    return "in" if first == "mm" else "mm"
