"""SVG by templates of our own, in millimetres on paper; every text is escaped here.

Kinds of parts differ by fill, not by colour: thick steels are hatched close and heavy, thin ones
wide and light, linings are dotted, plates crossed, rings black, the rest ruled.
"""

from __future__ import annotations

from html import escape
from typing import Literal

FONT = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
WIDE = 0.56  # of its size, what a letter takes on average
Anchor = Literal["start", "middle", "end"]

_TILES = {
    "thick": (1.0, "<path d='M0,0V1' stroke='#000' stroke-width='.9'/>", 45),
    "thin": (2.4, "<path d='M0,0V2.4' stroke='#000' stroke-width='.3'/>", -45),
    "lining": (1.2, "<circle cx='.6' cy='.6' r='.28'/>", 0),
    "plate": (1.8, "<path d='M0,0V1.8M0,0H1.8' stroke='#000' stroke-width='.3'/>", 45),
    "wave": (2.4, "<path d='M0,1.2Q.6,.2 1.2,1.2T2.4,1.2' fill='none' stroke='#000'/>", 0),
    "ruled": (0.9, "<path d='M0,.45H.9' stroke='#000' stroke-width='.22'/>", 0),
}  # fmt: skip


class Svg(str):
    """Markup that is escaped already, as a page may take it."""

    __slots__ = ()

    def __html__(self) -> str:
        """Give the markup itself, which is how a page knows it needs no escaping."""
        return self


def picture(width: float, height: float, title: str, *shapes: str) -> Svg:
    """A picture of its own, with a title for those who cannot see it."""
    return Svg(
        f"<svg xmlns='http://www.w3.org/2000/svg' role='img' width='{width:g}mm' "
        f"height='{height:g}mm' viewBox='0 0 {width:g} {height:g}' font-family=\"{FONT}\">"
        f"<title>{escape(title)}</title>{''.join(shapes)}</svg>"
    )


def fills() -> Svg:
    """The fills all pictures of a page share, to be put on it once."""
    tiles = (
        f"<pattern id='{name}' width='{size:g}' height='{size:g}' patternUnits='userSpaceOnUse' "
        f"patternTransform='rotate({turn})'>{tile}</pattern>"
        for name, (size, tile, turn) in _TILES.items()
    )
    return Svg(
        "<svg xmlns='http://www.w3.org/2000/svg' width='0' height='0' aria-hidden='true' "
        f"style='position:absolute'><defs>{''.join(tiles)}</defs></svg>"
    )


def words(
    at: tuple[float, float], text: str, *, size: float = 2.6, anchor: Anchor = "start",
    most: float = 0, bold: bool = False,
) -> str:  # fmt: skip
    """A line of text; where it would be wider than `most` it is set narrower."""
    squeezed = most and len(text) * size * WIDE > most
    fit = f" textLength='{most:g}' lengthAdjust='spacingAndGlyphs'" if squeezed else ""
    weight = " font-weight='700'" if bold else ""
    place = f"x='{at[0]:.2f}' y='{at[1]:.2f}' text-anchor='{anchor}'"
    return f"<text {place} font-size='{size:g}'{weight}{fit}>{escape(text)}</text>"


def box(x: float, y: float, wide: float, high: float, fill: str, stroke: float) -> str:
    """A part: a box with a fill and an outline that lies within it."""
    inset = min(stroke, high) / 2
    return (
        f"<rect x='{x + inset:.3f}' y='{y + inset:.3f}' width='{wide - 2 * inset:.3f}' "
        f"height='{max(high - 2 * inset, 0.01):.3f}' fill='{fill}' stroke='#000' "
        f"stroke-width='{2 * inset:.3f}'/>"
    )


def line(*points: tuple[float, float], stroke: float = 0.2) -> str:
    """A line through points."""
    through = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
    return f"<polyline points='{through}' fill='none' stroke='#000' stroke-width='{stroke:g}'/>"


def solid(*points: tuple[float, float]) -> str:
    """A black shape."""
    return f"<polygon points='{' '.join(f'{x:.2f},{y:.2f}' for x, y in points)}'/>"
