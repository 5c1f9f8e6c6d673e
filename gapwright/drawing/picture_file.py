"""A drawing into a file, as the file's ending says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.drawing.png import check_png, png_of
from gapwright.output.files import check_ending, write

if TYPE_CHECKING:
    from pathlib import Path


def check_picture(path: Path) -> None:
    """Raise InputError where a picture of that kind cannot be drawn."""
    check_ending(path, (".svg", ".png"), "a picture .svg or .png")
    if path.suffix.lower() == ".png":
        check_png()


def draw_svg(path: Path, svg: str) -> None:
    """Put a drawing into a file."""
    write(png_of(svg) if path.suffix.lower() == ".png" else svg.encode(), path)
