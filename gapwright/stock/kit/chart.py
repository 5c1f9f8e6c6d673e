"""The picture of a frontier: what a kit costs against the drums it serves."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from gapwright.cover.chart import box, line, opened, text
from gapwright.drawing.axis import round_numbers
from gapwright.output.money import WHOLE, money

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gapwright.stock.kit.service import KitReport

WIDTH, LEFT, RIGHT, TALL = 760, 110, 730, 300
LINE, TO_A_LINE = 18, 84  # letters
MOST_MARKS = 8
FINEST = WHOLE // 100  # of the currency


def frontier_svg(report: KitReport) -> str:
    """Cost to the right, drums upward; the kit chosen is ringed, one that is not proved hollow."""
    kits = report.frontier
    names = wrap(f"for {', '.join(report.gaps)}", TO_A_LINE)
    top = 44 + LINE * len(names)
    bottom = top + TALL
    drawn = [text(LEFT, 26, "Cheapest kits: cost against drums served", more=" font-weight='bold'")]
    drawn += [text(LEFT, 26 + LINE * nth, name) for nth, name in enumerate(names, 1)]
    drawn.append(box(LEFT, top, RIGHT - LEFT, TALL, "none"))
    dearest = max((kit.cost for kit in kits), default=0) or 1
    cheapest = min((kit.cost for kit in kits), default=0)
    first = max(0, cheapest - (dearest - cheapest) // 4) if cheapest < dearest else 0

    def at(cost: int, drums: int) -> tuple[float, float]:
        x = LEFT + (RIGHT - LEFT) * (cost - first) / (dearest - first)
        return x, bottom - TALL * drums / report.drums

    finest = FINEST if report.priced else WHOLE
    for cost in round_numbers(first, dearest, finest, MOST_MARKS):
        told = money(cost) if report.priced else str(cost // WHOLE)
        drawn.append(text(at(cost, 0)[0], bottom + 20, told, anchor="middle"))
    for drums in round_numbers(0, report.drums, 1, MOST_MARKS):
        drawn.append(text(LEFT - 10, at(first, drums)[1] + 4, str(drums), anchor="end"))
    _, goal = at(first, report.wanted)
    drawn.append(line(LEFT, goal, RIGHT, goal, " stroke-dasharray='5 4'"))
    drawn.append(text(LEFT + 6, goal - 5, f"asked for: {report.wanted} of {report.drums}"))
    drawn += _points(report, at)
    unit = "cost" if report.priced else "parts"
    drawn.append(text((LEFT + RIGHT) / 2, bottom + 44, unit, anchor="middle"))
    drawn.append(text(LEFT - 50, top + TALL / 2, "drums", anchor="end"))
    if not all(kit.proved for kit in kits):
        drawn.append(text(RIGHT, bottom + 44, "hollow: not proved cheapest", anchor="end"))
    return opened(WIDTH, bottom + 60, drawn)


def _points(report: KitReport, at: Callable[[int, int], tuple[float, float]]) -> Iterator[str]:
    """The kits, and the steps between them: what is served for a cost, up to the next."""
    corners = []
    dots = []
    for kit, following in zip(report.frontier, [*report.frontier[1:], None], strict=True):
        x, y = at(kit.cost, kit.served)
        corners.append((x, y))
        if following:
            corners.append(at(following.cost, kit.served))
        fill = "#000" if kit.proved else "#fff"
        dots.append(f"<circle cx='{x:.1f}' cy='{y:.1f}' r='3.5' fill='{fill}' stroke='#000'/>")
        if kit == report.kit:
            dots.append(f"<circle cx='{x:.1f}' cy='{y:.1f}' r='8' fill='none' stroke='#000'/>")
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    yield f"<polyline points='{path}' fill='none' stroke='#000' stroke-width='1.6'/>"
    yield from dots
