"""A plan as a picture: jobs against sizes, what is drawn and what is short.

A filled square is drawn, an open one with a cross is short, each with its number; nothing depends
on colour. The picture is SVG of our own, every text escaped, without a style sheet: a page shows it
that lets none in.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from gapwright.batch.tables import of_sizes, state

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.batch.planning import PlanReport

CELL, LEFT, TOP, FOOT, LETTER = 26, 220, 150, 60, 30
TITLE = 28
FONT = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
DRAWN, OPEN = 'fill="#333"', 'fill="#fff" stroke="#000"'
NUMBER = 'font-size="12" text-anchor="middle"'


def plans_svg(reports: dict[str, PlanReport]) -> str:
    """Draw the plan of every shelf, one below the other; of one shelf just that plan."""
    if len(reports) == 1:
        return plan_svg(next(iter(reports.values())))
    drawn, top, widest = [], 0, 0
    for shelf, report in reports.items():
        width, height = _extent(report)
        drawn.append(f'<g transform="translate(0,{top + TITLE})">{plan_svg(report)}</g>')
        drawn.append(f'<text x="8" y="{top + TITLE - 6}" font-weight="bold">{_short(shelf)}</text>')
        top, widest = top + TITLE + height, max(widest, width)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {widest} {top}" '
        f'width="{widest}" height="{top}" role="img" font-family="{FONT}" font-size="13">'
    )
    ground = f'<rect width="{widest}" height="{top}" fill="#fff"/>'
    return "\n".join([head, ground, *drawn, "</svg>\n"])


def _extent(report: PlanReport) -> tuple[int, int]:
    """How wide and how high the picture of a plan is."""
    width = LEFT + CELL * len(of_sizes(report)) + 120
    return width, TOP + CELL * len(report.cases) + FOOT


def plan_svg(report: PlanReport) -> str:
    """Draw a plan."""
    sizes = [(row.family, row.size) for row in of_sizes(report)]
    width, height = _extent(report)
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
                f'width="{width}" height="{height}" role="img" font-family="{FONT}" font-size="13">'
            ),
            f"<title>{len(report.gaps)} of {len(report.cases)} jobs completed</title>",
            f'<rect width="{width}" height="{height}" fill="#fff"/>',
            *_heads(report, sizes),
            *(line for job in range(len(report.cases)) for line in _row(report, job, sizes)),
            *_legend(height),
            "</svg>\n",
        ]
    )


def _heads(report: PlanReport, sizes: list[tuple[str, str]]) -> Iterator[str]:
    bottom = TOP + CELL * len(report.cases)
    for nth, (family, size) in enumerate(sizes):
        x = LEFT + CELL * nth + CELL // 2 + 4
        name = _short(f"{family} {size}")
        yield f'<text transform="translate({x},{TOP - 8}) rotate(-60)">{name}</text>'
        yield f'<line stroke="#ccc" x1="{x - 4}" y1="{TOP}" x2="{x - 4}" y2="{bottom}"/>'


def _row(report: PlanReport, job: int, sizes: list[tuple[str, str]]) -> Iterator[str]:
    y = TOP + CELL * job
    name = _short(report.plan.batch.jobs[job].name)
    yield f'<text x="8" y="{y + 18}">{name}</text>'
    yield f'<text x="{LEFT + CELL * len(sizes) + 10}" y="{y + 18}">{state(report, job)}</text>'
    drawn, short = _drawn(report, job), _short_of(report, job)
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


def _drawn(report: PlanReport, job: int) -> Counter[tuple[str, str]]:
    found: Counter[tuple[str, str]] = Counter()
    for draw in report.draws:
        if draw.job == job:
            item = report.plan.batch.items[draw.item]
            found[item.family, item.size] += draw.count
    return found


def _short_of(report: PlanReport, job: int) -> Counter[tuple[str, str]]:
    found: Counter[tuple[str, str]] = Counter()
    if job in report.around.lacking:
        for choice, count in report.around.lacking[job].short:
            spec = report.plan.batch.jobs[job].task.choices[choice]
            found[spec.family, spec.size] += count
    return found


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
