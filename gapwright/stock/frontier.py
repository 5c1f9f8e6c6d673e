"""The picture of a frontier: what a kit costs against the drums it serves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.cover.drawing import box, line, opened, text
from gapwright.money import WHOLE, money

if TYPE_CHECKING:
    from gapwright.stock.kit_case import KitReport

WIDTH, HEIGHT = 760, 420
LEFT, RIGHT, TOP, BOTTOM = 110, 730, 50, 350


def frontier_svg(report: KitReport) -> str:
    """Cost to the right, drums upward; the kit chosen is ringed."""
    kits = report.frontier
    dearest = max((kit.cost for kit in kits), default=0) or 1

    def at(cost: int, drums: int) -> tuple[float, float]:
        x = LEFT + (RIGHT - LEFT) * cost / dearest
        return x, BOTTOM - (BOTTOM - TOP) * drums / report.drums

    title = f"Cheapest kits for {', '.join(report.gaps)}: cost against drums served"
    drawn = [text(LEFT, TOP - 20, title, more=" font-weight='bold'")]
    drawn.append(box(LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP, "none"))
    for quarter in range(5):
        drums, cost = report.drums * quarter // 4, dearest * quarter // 4
        told = money(cost) if report.priced else str(cost // WHOLE)
        drawn.append(text(LEFT - 10, at(0, drums)[1] + 4, str(drums), anchor="end"))
        drawn.append(text(at(cost, 0)[0], BOTTOM + 20, told, anchor="middle"))
    _, goal = at(0, report.wanted)
    drawn.append(line(LEFT, goal, RIGHT, goal, " stroke-dasharray='5 4'"))
    drawn.append(text(LEFT + 6, goal - 5, f"asked for: {report.wanted} of {report.drums}"))
    corners = []
    for kit, following in zip(kits, [*kits[1:], None], strict=True):
        corners.append(at(kit.cost, kit.served))
        if following:
            corners.append(at(following.cost, kit.served))
        x, y = corners[-2 if following else -1]
        drawn.append(f"<circle cx='{x:.1f}' cy='{y:.1f}' r='3.5'/>")
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    drawn.append(f"<polyline points='{path}' fill='none' stroke='#000' stroke-width='1.6'/>")
    if report.kit:
        x, y = at(report.kit.cost, report.kit.served)
        drawn.append(f"<circle cx='{x:.1f}' cy='{y:.1f}' r='8' fill='none' stroke='#000'/>")
    unit = "cost" if report.priced else "parts"
    drawn.append(text((LEFT + RIGHT) / 2, BOTTOM + 44, unit, anchor="middle"))
    drawn.append(text(LEFT - 50, (TOP + BOTTOM) / 2, "drums", anchor="end"))
    return opened(WIDTH, HEIGHT, drawn)
