"""The connection to matplotlib: a chart as SVG, PNG or PDF. It needs the extra `pictures`.

Whatever has axes is drawn here. Drawings to scale of a stack or a window are our own
(`gapwright/drawing/svg.py`). The same chart gives the same bytes.
"""

from __future__ import annotations

import logging
from base64 import b64encode
from dataclasses import dataclass
from html import escape
from io import BytesIO
from threading import Lock
from typing import TYPE_CHECKING, Any

from gapwright.drawing.svg import Svg
from gapwright.extras import check_extra
from gapwright.output.files import check_ending, write
from specs.values.lengths import NANOMETRES

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from specs.values.lengths import Length, LengthUnit

KINDS = (".svg", ".png", ".pdf")
MM = 25.4
DPI = 192
STYLE: dict[Any, Any] = {
    "axes.formatter.useoffset": False,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "font.family": "sans-serif",
    "font.size": 8.0,
    "hatch.linewidth": 0.6,
    "pdf.fonttype": 42,
    "svg.fonttype": "none",
    "svg.hashsalt": "gapwright",
    "text.parse_math": False,  # a name with two dollar signs is a name
}
UNDATED: dict[str, dict[str, Any]] = {
    "svg": {"Date": None, "Creator": None, "Format": None, "Type": None},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}
ONE_AT_A_TIME = Lock()
"""Matplotlib's settings are the whole process's, and pages are drawn in several threads."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart with its size on paper, drawn when it is asked for."""

    title: str
    """What it shows, for those who cannot see it."""
    wide: float
    high: float
    """Its size on paper, in millimetres."""
    paint: Callable[[Column], None]
    """Draws it, from the top downward."""

    def drawn(self, kind: str = "svg") -> bytes:
        """Draw the chart, and return the file's bytes; `kind` is `svg`, `png` or `pdf`."""
        from matplotlib import rc_context
        from matplotlib.figure import Figure

        logging.getLogger("matplotlib").setLevel(logging.ERROR)  # it tells of its font cache
        into = BytesIO()
        with ONE_AT_A_TIME, rc_context(STYLE):
            figure = Figure(figsize=(self.wide / MM, self.high / MM), dpi=DPI)
            self.paint(Column(figure, self.wide, self.high))
            figure.savefig(into, format=kind, metadata=UNDATED[kind])
        return into.getvalue()

    def image(self) -> Svg:
        """Draw the chart as an image element, which a page can hold whatever styles it allows."""
        data = b64encode(self.drawn()).decode()
        return Svg(f"<img alt='{escape(self.title)}' src='data:image/svg+xml;base64,{data}' />")

    def save(self, path: Path) -> None:
        """Write the chart into a file, in the format of the file's ending; see `check_picture`."""
        write(self.drawn(path.suffix.lower().removeprefix(".")), path)


class Column:
    """A figure that is filled from the top downward, with all lengths in millimetres on paper."""

    LEFT, RIGHT, LINE = 28.0, 8.0, 4.2
    """Margins beside the axes, and the height of a line of text."""

    def __init__(self, figure: Figure, wide: float, high: float) -> None:
        self.figure, self.wide, self.high = figure, wide, high
        self.top = 0.0

    def skip(self, high: float) -> None:
        """Leave `high` millimetres empty."""
        self.top += high

    def line(self, words: str, *, bold: bool = False, left: float | None = None) -> None:
        """Write a line of text, `left` millimetres from the edge, LEFT unless stated."""
        self.top += self.LINE
        x = (self.LEFT if left is None else left) / self.wide
        self.figure.text(x, 1 - self.top / self.high, words, weight="bold" if bold else "normal")

    def axes(self, high: float, left: float | None = None) -> Axes:
        """Add axes over the width, `high` millimetres high, and go on below them.

        `left` is the margin before them in millimetres, LEFT unless stated.
        """
        left = self.LEFT if left is None else left
        self.top += high
        where = (
            left / self.wide, 1 - self.top / self.high,
            (self.wide - left - self.RIGHT) / self.wide, high / self.high,
        )  # fmt: skip
        return self.figure.add_axes(where)


def check_picture(path: Path) -> None:
    """Raise InputError where the file's ending names no picture, or matplotlib is not installed."""
    check_ending(path, KINDS, "a picture .svg, .png or .pdf")
    check_extra("pictures", "a picture")


def on_axis(length: Length, unit: LengthUnit) -> float:
    """Return a length as a number of the axis's unit."""
    return float(length.nm / NANOMETRES[unit])
