"""Exact figures as JSON: whole numbers, or fractions as text; lengths also as shown."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from specs.lengths import show

if TYPE_CHECKING:
    from fractions import Fraction

    from specs.lengths import Length, Unit


def exact_length(length: Length | None, unit: Unit) -> dict[str, Any] | None:
    """A length in nanometres and as shown; null where there is none."""
    return None if length is None else {"nm": exact(length.nm), "shown": show(length, unit)}


def exact(value: Fraction | int) -> int | str:
    """A whole number, or a fraction as text."""
    return int(value) if value == int(value) else str(value)
