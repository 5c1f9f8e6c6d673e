"""Pictures of a cover: an SVG by templates of our own, and a PNG of the same.

Read without colour: what is served is a box, filled the darker the more thin steels it takes and
told by a number; a hole is hatched and numbered; past drums are ticks below, the longer the more.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from gapwright.cover.answer import Run, gaps_at, past, spans, thin_zones
from gapwright.cover.text import head, hole_words, standing
from gapwright.drawing.axis import round_marks
from gapwright.drawing.picture_file import draw_svg
from specs.values.lengths import number

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from gapwright.cover.service import Covered
    from specs.values.lengths import Unit

WIDTH, LEFT, RIGHT = 1000, 110, 970
BAR, GAP, TICKS = 46, 76, 34
"""Heights of the bar, of the gap's course in its window, and of the past drums."""
LINE = 18
MOST_MARKS = 10
FINEST = 10  # hundredths of a millimetre, thousandths of an inch
FONT = "Arial, Helvetica, DejaVu Sans, Liberation Sans, sans-serif"
SHADES = ("#ffffff", "#d4d4d4", "#b0b0b0", "#8c8c8c")
STYLE = (
    "<defs><pattern id='hole' width='7' height='7' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(45)'><rect width='7' height='7' fill='#fff'/>"
    "<rect width='2.4' height='7' fill='#000'/></pattern></defs>"
)


def draw(path: Path, covers: tuple[Covered, ...], unit: Unit | None = None) -> None:
    """Draw covers below each other into a file."""
    draw_svg(path, svg_of(covers, unit))


def svg_of(covers: tuple[Covered, ...], unit: Unit | None = None) -> str:
    """Covers below each other as SVG."""
    body: list[str] = []
    top = 0
    for covered in covers:
        panel = _Panel(covered, unit or covered.case.length, top)
        body += panel.drawn()
        top = panel.top
    top += 2 * LINE
    return opened(WIDTH, top, [STYLE, *body, *_key(top - 14)])


def opened(width: int, height: int, drawn: list[str]) -> str:
    """A whole drawing on white ground."""
    head = (
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}' "
        f"viewBox='0 0 {width} {height}' font-family='{FONT}' font-size='13'>"
    )
    ground = f"<rect width='{width}' height='{height}' fill='#fff'/>"
    return "\n".join([head, ground, *drawn, "</svg>\n"])


def _key(y: int) -> list[str]:
    """What the marks mean."""
    marks = [
        *((shade, f"{count} thin" + " or more" * (count == len(SHADES) - 1))
          for count, shade in enumerate(SHADES)),
        ("url(#hole)", "hole: nothing fits"),
    ]  # fmt: skip
    drawn = [line(LEFT - 60, y - 4, LEFT - 42, y - 4), text(LEFT - 36, y, "not served")]
    x = LEFT + 60
    for fill, words in marks:
        drawn.append(box(x, y - 10, 18, 12, fill))
        drawn.append(text(x + 24, y, words))
        x += 50 + 7 * len(words)
    return drawn


def text(x: float, y: float, words: str, *, anchor: str = "start", more: str = "") -> str:
    """Words at a point."""
    return f"<text x='{x:.1f}' y='{y:.1f}' text-anchor='{anchor}'{more}>{escape(words)}</text>"


def box(x: float, y: float, width: float, height: float, fill: str) -> str:
    """A framed box."""
    return (
        f"<rect x='{x:.1f}' y='{y:.1f}' width='{width:.1f}' height='{height:.1f}' "
        f"fill='{fill}' stroke='#000'/>"
    )


def line(x: float, y: float, to_x: float, to_y: float, more: str = "") -> str:
    """A line between two points."""
    return f"<line x1='{x:.1f}' y1='{y:.1f}' x2='{to_x:.1f}' y2='{to_y:.1f}' stroke='#000'{more}/>"


class _Panel:
    """One cover, drawn from `top` downward."""

    def __init__(self, covered: Covered, unit: Unit, top: int) -> None:
        self.covered, self.unit, self.top = covered, unit, top

    def drawn(self) -> list[str]:
        return [*self._head(), *self._bar(), *self._course(), *self._axis(), *self._notes()]

    def _x(self, nth: float) -> float:
        return LEFT + (RIGHT - LEFT) * nth / self.covered.course.count

    def _named(self, words: str, middle: float) -> str:
        return text(LEFT - 10, middle + 4, words, anchor="end")

    def _head(self) -> Iterator[str]:
        self.top += 2 * LINE
        yield text(LEFT, self.top, head(self.covered, self.unit), more=" font-weight='bold'")
        for words in standing(self.covered):
            self.top += LINE
            yield text(LEFT, self.top, words)
        self.top += LINE + 4

    def _bar(self) -> Iterator[str]:
        yield self._named("thin steels", self.top + BAR / 2)
        yield line(LEFT, self.top + BAR / 2, RIGHT, self.top + BAR / 2)
        for run, thin in thin_zones(self.covered):
            x, width = self._across(run)
            yield box(x, self.top, width, BAR, SHADES[min(thin, len(SHADES) - 1)])
            if width > 8 * len(str(thin)) + 2:
                yield text(x + width / 2, self.top + BAR / 2 + 4, str(thin), anchor="middle")
        for nth, hole in enumerate(self.covered.holes, 1):
            x, width = self._across(Run(hole.first, hole.last))
            yield box(x, self.top, width, BAR, "url(#hole)")
            yield text(x + width / 2, self.top - 5, str(nth), anchor="middle")
        self.top += BAR

    def _across(self, run: Run) -> tuple[float, float]:
        return self._x(run.first), self._x(run.last + 1) - self._x(run.first)

    def _course(self) -> Iterator[str]:
        """Where in its window the gap lies; of several gaps, or without a window, nothing."""
        lines = [points for run in spans(self.covered) for points in self._lines(run)]
        if not lines:
            return
        self.top += 12
        bottom = self.top + GAP
        yield box(LEFT, self.top, RIGHT - LEFT, GAP, "none")
        yield self._named("loose", self.top + 5)
        yield self._named("gap in window", self.top + GAP / 2)
        yield self._named("tight", bottom - 5)
        for points in lines:
            drawn = " ".join(f"{x:.1f},{bottom - GAP * height:.1f}" for x, height in points)
            yield f"<polyline points='{drawn}' fill='none' stroke='#000' stroke-width='1.6'/>"
        self.top = bottom

    def _lines(self, run: Run) -> Iterator[list[tuple[float, float]]]:
        """The gap's course over one span, broken where another build takes over."""
        points: list[tuple[float, float]] = []
        before: object = None
        for nth in range(run.first, run.last + 1):
            gap, *others = gaps_at(self.covered, nth)
            if others or gap.height is None:
                return
            if points and (gap.layout, gap.parts) != before:
                yield points
                points = []
            before = gap.layout, gap.parts
            points.append((self._x(nth + 0.5), float(gap.height)))
        yield points

    def _axis(self) -> Iterator[str]:
        if self.covered.history:
            yield from self._drums()
        yield line(LEFT, self.top + 4, RIGHT, self.top + 4)
        first, last = self.covered.at(0), self.covered.last
        for value in round_marks(first, last, self.unit, FINEST, MOST_MARKS):
            x = self._x(float((value - self.covered.first).nm / self.covered.step.nm) + 0.5)
            yield line(x, self.top + 4, x, self.top + 9)
            yield text(x, self.top + 22, number(value, self.unit), anchor="middle")
        yield text(LEFT - 40, self.top + 22, self.unit, anchor="end")
        self.top += 24

    def _drums(self) -> Iterator[str]:
        told = past(self.covered)
        most = max(count for _, count, _ in told.at)
        self.top += 10
        yield self._named("past drums", self.top + TICKS / 2)
        for length, count, _ in told.at:
            nth = float((length - self.covered.first).nm / self.covered.step.nm)
            if 0 <= nth < self.covered.course.count:
                long = 6 + (TICKS - 6) * count / most
                yield line(self._x(nth + 0.5), self.top, self._x(nth + 0.5), self.top + long)
        self.top += TICKS

    def _notes(self) -> Iterator[str]:
        """The holes by their numbers, and how many past drums are served."""
        for nth, hole in enumerate(self.covered.holes, 1):
            self.top += LINE
            yield text(LEFT, self.top, f"hole {nth}: {hole_words(self.covered, hole, self.unit)}")
        if self.covered.history:
            told = past(self.covered)
            self.top += LINE
            yield text(LEFT, self.top, f"past drums: {told.served} of {told.seen} are served")
