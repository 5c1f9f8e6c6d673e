"""The drawing of a gap in its window, magnified: both limits, the aim and the gap."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.drawing.svg import Svg, line, picture, solid, words
from gapwright.fit.gap_text import gap_name, gap_text, sides_of
from specs.values.lengths import Length, number

if TYPE_CHECKING:
    from gapwright.fit.assembly import GapAssembly
    from specs.values.lengths import LengthUnit

WIDE, HIGH = 62.0, 14.0
LEFT, RIGHT, AXIS = 10.0, 52.0, 6.4
NEAR = 11.0  # labels nearer than this would run into each other
MM = 1_000_000
LEAST_SPAN = Length(50_000)  # to draw a window of no width in


def draw_window(gap: GapAssembly, unit: LengthUnit, beside: LengthUnit) -> Svg:
    """Draw a gap in its window, with figures in the unit asked for and in a second one."""
    low, high = _span(gap)
    shapes = [line((LEFT, AXIS), (RIGHT, AXIS), stroke=0.7)]
    left, right = sides_of(gap.on)
    shapes += [words((LEFT - 1.5, AXIS + 0.9), left, anchor="end")]
    shapes += [words((RIGHT + 1.5, AXIS + 0.9), right)]
    shapes += _open(LEFT) * (gap.low is None) + _open(RIGHT) * (gap.high is None)
    for limit in dict.fromkeys(limit for limit in (gap.low, gap.high) if limit is not None):
        shapes += _limit(limit, _at(limit, low, high), unit, beside)
    shapes += _aim(gap, _at(gap.aim, low, high), unit, beside)
    shapes += _pointer(_at(gap.gap, low, high), gap_text(gap, unit))
    return picture(WIDE, HIGH, f"{gap_name(gap)}: the gap in its window", *shapes)


def magnified(gap: GapAssembly) -> str:
    """Say how many times larger than life the window is drawn; empty where it is not."""
    low, high = _span(gap)
    times = (RIGHT - LEFT) / float((high - low).nm / MM)
    return f"magnified {times:.0f} : 1" if times >= 1 else ""


def _span(gap: GapAssembly) -> tuple[Length, Length]:
    """Return the lengths at the ends of the line; beyond the one limit where there is but one."""
    if gap.low is not None and gap.high is not None and gap.low < gap.high:
        return gap.low, gap.high
    seen = [at for at in (gap.low, gap.high, gap.aim, gap.gap) if at is not None]
    beyond = max(max(seen) - min(seen), LEAST_SPAN)
    low = gap.low if gap.high is None and gap.low is not None else min(seen) - beyond
    high = gap.high if gap.low is None and gap.high is not None else max(seen) + beyond
    return low, high


def _at(length: Length, low: Length, high: Length) -> float:
    share = float((length - low).nm / (high - low).nm)
    return LEFT + min(max(share, 0.0), 1.0) * (RIGHT - LEFT)


def _limit(limit: Length, at: float, unit: LengthUnit, beside: LengthUnit) -> list[str]:
    tick = line((at, AXIS - 1.6), (at, AXIS + 1.6), stroke=0.7)
    return [tick, *_figures(at, number(limit, unit), number(limit, beside))]


def _open(at: float) -> list[str]:
    """Draw an open side as an arrow that leads on."""
    way = 1.6 if at == LEFT else -1.6
    return [solid((at - way / 2, AXIS), (at + way, AXIS - 1), (at + way, AXIS + 1))]


def _aim(gap: GapAssembly, at: float, unit: LengthUnit, beside: LengthUnit) -> list[str]:
    tick = line((at, AXIS - 1.1), (at, AXIS + 1.1), stroke=0.35)
    taken = [x for limit, x in ((gap.low, LEFT), (gap.high, RIGHT)) if limit is not None]
    if any(abs(at - x) < NEAR for x in taken):
        return [tick]
    return [tick, *_figures(at, f"aim {number(gap.aim, unit)}", number(gap.aim, beside))]


def _figures(at: float, first: str, second: str) -> list[str]:
    return [
        words((at, AXIS + 4.3), first, size=2.5, anchor="middle"),
        words((at, AXIS + 7.2), second, size=2.3, anchor="middle"),
    ]


def _pointer(at: float, figure: str) -> list[str]:
    beside = min(max(at, LEFT), RIGHT)
    return [
        solid((at, AXIS - 0.3), (at - 1.1, AXIS - 2.7), (at + 1.1, AXIS - 2.7)),
        words((beside, AXIS - 3.4), figure, size=2.9, anchor="middle", bold=True),
    ]
