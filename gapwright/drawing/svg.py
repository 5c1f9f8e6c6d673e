"""The shapes of our own drawings as SVG, in millimetres on paper, with every text escaped.

Marks drawn as lines tell boxes apart. Colour does not, nor do tiles, which printers blur.
"""

from __future__ import annotations

from html import escape
from math import sqrt
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

FONT = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
WIDE = 0.56  # of its size, what a letter takes on average
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


class Svg(str):
    """Markup that is escaped already, so that a page takes it as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        """Return the markup itself; by this method a template knows that it needs no escaping."""
        return self


class Box(NamedTuple):
    """An upright box, by its upper left corner and its size, in millimetres."""

    x: float
    y: float
    wide: float
    high: float


def picture(width: float, height: float, title: str, *shapes: str) -> Svg:
    """Return a whole picture of some shapes, with a title for those who cannot see it."""
    return Svg(
        f"<svg xmlns='http://www.w3.org/2000/svg' role='img' width='{width:.2f}mm' "
        f"height='{height:.2f}mm' viewBox='0 0 {width:.2f} {height:.2f}' font-family=\"{FONT}\">"
        f"<title>{escape(title)}</title>{''.join(shapes)}</svg>"
    )


def words(
    at: Point, text: str, *, size: float = 2.6, anchor: Anchor = "start", most: float = 0,
    bold: bool = False,
) -> str:  # fmt: skip
    """Draw a line of text; where it would be wider than `most`, it is set narrower.

    Parameters
    ----------
    at
        Where its base line begins, ends or has its middle, by `anchor`; in millimetres.
    text
        The text.
    size
        The size of the letters in millimetres.
    anchor
        Which point of the line lies at `at`.
    most
        The greatest width in millimetres; 0 for any.
    bold
        Whether the letters are bold.
    """
    squeezed = most and len(text) * size * WIDE > most
    fit = f" textLength='{most:g}' lengthAdjust='spacingAndGlyphs'" if squeezed else ""
    weight = " font-weight='700'" if bold else ""
    place = f"x='{at[0]:.2f}' y='{at[1]:.2f}' text-anchor='{anchor}'"
    return f"<text {place} font-size='{size:g}'{weight}{fit}>{escape(text)}</text>"


def line(*points: Point, stroke: float = 0.2) -> str:
    """Draw a line through points."""
    through = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
    return f"<polyline points='{through}' fill='none' stroke='#000' stroke-width='{stroke:g}'/>"


def solid(*points: Point) -> str:
    """Draw a black polygon."""
    return f"<polygon points='{' '.join(f'{x:.2f},{y:.2f}' for x, y in points)}'/>"


def outline(box: Box, stroke: float, *, filled: bool = False) -> str:
    """Draw a box whose outline lies inside it, black where it is `filled`."""
    stroke = min(stroke, box.high / 2)
    return (
        f"<rect x='{box.x + stroke / 2:.3f}' y='{box.y + stroke / 2:.3f}' "
        f"width='{box.wide - stroke:.3f}' height='{box.high - stroke:.3f}' "
        f"fill='{'#000' if filled else 'none'}' stroke='#000' stroke-width='{stroke:.3f}'/>"
    )


def hatching(box: Box, apart: float, stroke: float, *, rising: bool) -> str:
    """Draw slanted lines across a box, rising to the right or falling."""
    wide, high, step = box.wide, box.high, apart * sqrt(2)

    def at(x: float, y: float) -> str:
        return f"{box.x + (wide - x if rising else x):.2f},{box.y + y:.2f}"

    # The slant y = x - c meets the top edge at c; each is cut off at the box's edges.
    slants = [step * nth - high for nth in range(1, int((wide + high) / step) + 1)]
    drawn = [
        f"M{at(max(c, 0), max(-c, 0))}L{at(min(wide, c + high), min(high, wide - c))}"
        for c in slants
    ]
    return _path("".join(drawn), stroke)


def rows(box: Box, apart: float, stroke: float) -> str:
    """Draw level lines across a box."""
    levels = _levels(box, apart)
    return _path("".join(f"M{box.x:.2f},{y:.2f}h{box.wide:.2f}" for y in levels), stroke)


def dots(box: Box, apart: float, stroke: float) -> str:
    """Draw dots all over a box, as the round ends of strokes of no length."""
    drawn = "".join(
        f"M{box.x + apart / 2:.2f},{y:.2f}h{box.wide - apart:.2f}" for y in _levels(box, apart)
    )
    stroke = min(stroke, box.high / 2)
    return _path(drawn, stroke, f" stroke-linecap='round' stroke-dasharray='0 {apart:g}'")


def waves(box: Box, apart: float, stroke: float) -> str:
    """Draw waves across a box."""
    rise = min(apart, box.high) * 0.7
    halves = int(box.wide / apart)
    drawn = "".join(
        f"M{box.x:.2f},{y:.2f}q{apart / 2:.2f},{-rise:.2f} {apart:.2f},0"
        + f"t{apart:.2f},0" * (halves - 1)
        for y in _levels(box, apart)
    )
    return _path(drawn, stroke)


def _levels(box: Box, apart: float) -> Iterator[float]:
    """Return heights evenly over a box, about `apart` from each other."""
    count = max(int(box.high / apart), 1)
    return (box.y + box.high * (nth + 0.5) / count for nth in range(count))


def _path(drawn: str, stroke: float, more: str = "") -> str:
    return f"<path d='{drawn}' fill='none' stroke='#000' stroke-width='{stroke:.3g}'{more}/>"
