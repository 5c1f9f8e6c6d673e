"""A plan as a picture: jobs against sizes, what is drawn and what is short.

A filled square is drawn, an open one with a cross is short, each with its number; nothing depends
on colour. The picture is SVG of our own, every text escaped, without a style sheet: a page shows it
that lets none in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from gapwright.batch.tables import drawn_by_job, of_sizes, short_of, state
from gapwright.drawing.svg import FONT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.batch.service import PlanReport
    from specs.parts.kit_contents import Sizes

CELL, LEFT, TOP, FOOT, LETTER = 26, 220, 150, 60, 30
DRAWN, OPEN = 'fill="#333"', 'fill="#fff" stroke="#000"'
NUMBER = 'font-size="12" text-anchor="middle"'
TITLE = 28


def plans_svg(reports: dict[str, PlanReport]) -> str:
    """Draw the plan of every shelf, one below the other; of one shelf just that plan."""
    if len(reports) == 1:
        return plan_svg(next(iter(reports.values())))
    drawn, top, widest = [], 0, 0
    for shelf, report in reports.items():
        one, width, height = _plan(report)
        drawn.append(f'<g transform="translate(0,{top + TITLE})">{one}</g>')
        drawn.append(f'<text x="8" y="{top + TITLE - 6}" font-weight="bold">{_short(shelf)}</text>')
        top, widest = top + TITLE + height, max(widest, width)
    return _picture(widest, top, drawn)


def plan_svg(report: PlanReport) -> str:
    """Draw a plan."""
    return _plan(report)[0]


def _plan(report: PlanReport) -> tuple[str, int, int]:
    """The picture of a plan, how wide and how high it is."""
    sizes = [(row.family, row.size) for row in of_sizes(report)]
    width = LEFT + CELL * len(sizes) + 120
    height = TOP + CELL * len(report.cases) + FOOT
    title = f"<title>{len(report.gaps)} of {len(report.cases)} jobs completed</title>"
    shapes = [*_heads(report, sizes)]
    for job, drawn in enumerate(drawn_by_job(report)):
        shapes += _row(report, job, drawn, sizes)
    return _picture(width, height, [*shapes, *_legend(height)], title), width, height


def _picture(width: int, height: int, shapes: list[str], *titles: str) -> str:
    """Shapes on a white ground, as a picture of its own."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" font-family="{FONT}" font-size="13">'
    )
    ground = f'<rect width="{width}" height="{height}" fill="#fff"/>'
    return "\n".join([head, *titles, ground, *shapes, "</svg>\n"])


def _heads(report: PlanReport, sizes: list[tuple[str, str]]) -> Iterator[str]:
    bottom = TOP + CELL * len(report.cases)
    for nth, (family, size) in enumerate(sizes):
        x = LEFT + CELL * nth + CELL // 2 + 4
        name = _short(f"{family} {size}")
        yield f'<text transform="translate({x},{TOP - 8}) rotate(-60)">{name}</text>'
        yield f'<line stroke="#ccc" x1="{x - 4}" y1="{TOP}" x2="{x - 4}" y2="{bottom}"/>'


def _row(report: PlanReport, job: int, drawn: Sizes, sizes: list[tuple[str, str]]) -> Iterator[str]:
    y = TOP + CELL * job
    name = _short(report.plan.batch.jobs[job].name)
    yield f'<text x="8" y="{y + 18}">{name}</text>'
    yield f'<text x="{LEFT + CELL * len(sizes) + 10}" y="{y + 18}">{state(report, job)}</text>'
    short = short_of(report, job)
    for nth, size in enumerate(sizes):
        x = LEFT + CELL * nth
        if drawn[size]:
            yield f'<rect {DRAWN} x="{x + 2}" y="{y + 2}" width="22" height="22"/>'
            yield f'<text {NUMBER} fill="#fff" x="{x + 13}" y="{y + 18}">{drawn[size]}</text>'
        elif short[size]:
            yield from _crossed(x, y, short[size])


def _crossed(x: int, y: int, count: int) -> Iterator[str]:
    yield f'<rect {OPEN} x="{x + 2}" y="{y + 2}" width="22" height="22"/>'
    yield f'<line stroke="#999" x1="{x + 2}" y1="{y + 2}" x2="{x + 24}" y2="{y + 24}"/>'
    yield f'<line stroke="#999" x1="{x + 24}" y1="{y + 2}" x2="{x + 2}" y2="{y + 24}"/>'
    yield f'<text {NUMBER} x="{x + 13}" y="{y + 18}">{count}</text>'


def _legend(height: int) -> Iterator[str]:
    y = height - 40
    yield f'<rect {DRAWN} x="8" y="{y}" width="22" height="22"/>'
    yield f'<text {NUMBER} fill="#fff" x="19" y="{y + 16}">2</text>'
    yield f'<text x="38" y="{y + 16}">drawn from the shelf</text>'
    yield from _crossed(198, y - 2, 1)
    yield f'<text x="230" y="{y + 16}">short: to be bought for this job</text>'


def _short(text: str) -> str:
    """Cut a name to what there is room for, and make it safe to print."""
    seen = "".join(sign for sign in text if sign.isprintable())
    return escape(seen if len(seen) <= LETTER else f"{seen[: LETTER - 1]}\u2026")
