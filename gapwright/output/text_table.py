"""Rows set under each other, as a person reads a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Set rows under each other; columns with nothing in them are left out."""
    columns = [column for column in zip(*rows, strict=True) if any(column)]
    widths = [max(map(len, column)) for column in columns]
    return [
        "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in zip(*columns, strict=True)
    ]
