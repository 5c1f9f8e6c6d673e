"""A pack with its heat: each steel where it lies, and how far one engagement warms it.

What goes in first lies at the bottom. The length of a bar is the rise of a steel, and the open
frame beside it that of a thick one in its place; figures stand behind them. A mark on the face of
a steel is a face that a lining runs on. Where the unit file says no energy, figures are multiples
of how much the thickest steel, heated on both its faces, would warm. Nothing depends on colour.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.drawing.part_marks import draw_part
from gapwright.drawing.picture_file import draw_svg
from gapwright.drawing.svg import GROUND, Box, Svg, hatching, line, outline, picture, solid, words
from gapwright.fit.gap_text import gap_name, part_name
from gapwright.fit.heat import heat_of
from gapwright.fit.heat_text import REMARK, degrees, energy

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from gapwright.fit.assembly import GapLines
    from gapwright.fit.heat import Heat, Warmed
    from gapwright.fit.report import Report

WIDE, PARTS, NAMES, BARS, LONGEST = 186.0, 26.0, 33.0, 86.0, 56.0
"""Width of the drawing; where parts end, names and bars begin; the longest bar, in millimetres."""
ROW, HEAD, FOOT, MOST_PART = 4.5, 10.0, 9.5, 3.8
MARGIN = 2.0


def draw_heats(path: Path, report: Report) -> bool:
    """Draw every pack of an answer below the other; False where there is none with a steel."""
    heats = [(gap, heat_of(report.case, gap)) for gap in report.gaps]
    drawn = [(gap, heat) for gap, heat in heats if heat]
    if not drawn:
        return False
    shapes, top = [GROUND], MARGIN
    for gap, heat in drawn:
        shapes += _pack(gap, heat, top, gap_name(gap))
        top += _height(gap) + MARGIN
    title = f"{report.case.job.name}, {report.case.unit.name}: heat"
    draw_svg(path, picture(WIDE, top, title, *shapes))
    return True


def draw_heat(gap: GapLines, heat: Heat) -> Svg:
    """Draw one pack with its heat."""
    title = f"{gap_name(gap)}: what one engagement brings to each steel"
    return picture(WIDE, _height(gap), title, *_pack(gap, heat, 0.0, ""))


def _height(gap: GapLines) -> float:
    return HEAD + ROW * len(gap.lines) + FOOT


def _pack(gap: GapLines, heat: Heat, top: float, name: str) -> Iterator[str]:
    yield words(
        (MARGIN, top + 4), ": ".join(part for part in (name, _head(heat)) if part), bold=True
    )
    yield words((MARGIN, top + HEAD - 1.4), _end(gap, gap.last_end))
    steels = {steel.line.number: steel for steel in heat.steels}
    longest = max(
        max(_figure(heat, steel), _figure(heat, steel, thick=True)) for steel in heat.steels
    )
    thickest = max(part.thickness for part in gap.lines)
    for nth, part in enumerate(reversed(gap.lines)):
        y = top + HEAD + ROW * nth
        high = max(MOST_PART * float(part.thickness.nm / thickest.nm), 0.6)
        box = Box(MARGIN, y + (ROW - high) / 2, PARTS - MARGIN, high)
        yield draw_part(part, box)
        yield words(
            (NAMES, y + ROW / 2 + 0.9), f"{part.number} {part_name(part)}", most=BARS - NAMES - 3
        )
        if part.number in steels:
            yield from _bar(heat, steels[part.number], y, longest)
            yield from _faces(steels[part.number], box)
    bottom = top + HEAD + ROW * len(gap.lines)
    yield line((BARS, top + HEAD), (BARS, bottom), stroke=0.3)
    yield words((MARGIN, bottom + 3.4), f"{_end(gap, gap.first_end)}, goes in first")
    yield words((MARGIN, bottom + 7.4), _foot(heat), size=2.2, most=WIDE - 2 * MARGIN)


def _head(heat: Heat) -> str:
    share = f"{round(heat.share * 100)} % of the steel of thick ones alone"
    has = heat.engagement
    return f"one engagement of {energy(has.joules)}, {share}" if has else share


def _end(gap: GapLines, end: str) -> str:
    return f"{end} end" + (f" (heat end, {end} side, as stated)" if end == gap.heat_end else "")


def _bar(heat: Heat, steel: Warmed, y: float, longest: Fraction) -> Iterator[str]:
    """The bar of a steel, with the frame of a thick one below it."""
    figure, thick = _figure(heat, steel), _figure(heat, steel, thick=True)
    hottest = steel in heat.hottest
    if figure and longest:
        wide = LONGEST * float(figure / longest)
        box = Box(BARS, y + 0.5, wide, 2.2)
        yield hatching(box, 0.8 if hottest else 2.0, 0.4 if hottest else 0.2, rising=True)
        yield outline(box, 0.5 if hottest else 0.25)
        yield outline(Box(BARS, y + 2.9, LONGEST * float(thick / longest), 0.9), 0.15)
    told = f"{_told(heat, steel)}{', hottest' if hottest else ''}"
    at = BARS + LONGEST * float(figure / longest if longest else 0) + 1.5
    yield words((at, y + 2.6), told, bold=hottest, most=WIDE - at - 1)


def _faces(steel: Warmed, box: Box) -> Iterator[str]:
    """A mark at each face of a steel that a lining runs on, pointing at it."""
    x = PARTS + 2.2
    for heated, y, away in zip(steel.heated, (box.y + box.high, box.y), (1.3, -1.3), strict=True):
        if heated:
            yield solid((x - 0.9, y + away), (x + 0.9, y + away), (x, y))


def _figure(heat: Heat, steel: Warmed, *, thick: bool = False) -> Fraction:
    """The rise in kelvin; or how many times that of a thick steel heated on both faces."""
    rise = steel.rise
    if rise is None:
        rise = steel.warmth * max(other.thick.nm for other in heat.steels) / 2
    return rise / steel.beside_thick if thick else Fraction(rise)


def _told(heat: Heat, steel: Warmed) -> str:
    if steel.rise is not None:
        return degrees(steel.rise)
    return f"{float(_figure(heat, steel)):.2f} times"


def _foot(heat: Heat) -> str:
    frame = "narrow frame: a thick steel in its place; arrowhead: a heated face; "
    if heat.engagement:
        return frame + REMARK
    return frame + "times what the thickest, heated on both faces, warms"
