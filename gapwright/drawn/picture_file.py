"""A drawing into a file, as the file's ending says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.drawn.png import check_png, png_of
from gapwright.paper import write
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from pathlib import Path


def check_picture(path: Path) -> None:
    """Raise InputError where a picture of that kind cannot be drawn."""
    if path.suffix.lower() == ".png":
        check_png()
    elif path.suffix.lower() != ".svg":
        found = f'found "{path.suffix}"' if path.suffix else "found no ending"
        raise InputError(Problem(f"{found}; name a picture .svg or .png", str(path)))


def draw_svg(path: Path, svg: str) -> None:
    """Put a drawing into a file."""
    write(png_of(svg) if path.suffix.lower() == ".png" else svg.encode(), path)
