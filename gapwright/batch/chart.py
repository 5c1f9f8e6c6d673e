"""The chart of a plan: jobs against sizes, with the parts drawn and the parts short.

A filled square is drawn from the shelf. An open one with a cross is short. Each bears its number of
parts. Nothing depends on colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.batch.tables import drawn_by_job, of_sizes, short_of, state
from gapwright.drawing.figure import Chart

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gapwright.batch.service import PlanReport
    from gapwright.drawing.figure import Column

CELL, LEFT, STATE, HEAD, FOOT, LETTERS = 7.0, 56.0, 34.0, 42.0, 12.0, 30
"""In millimetres: a cell, names of jobs, states, names of sizes, the key; letters of a name."""
DRAWN, SHORT = "#333333", "#ffffff"


def plans_chart(reports: dict[str, PlanReport]) -> Chart:
    """Chart the plan of every shelf, one below the other; of one shelf, just that plan."""
    panels = [
        _Panel(report, shelf if len(reports) > 1 else "") for shelf, report in reports.items()
    ]
    done = sum(len(report.gaps) for report in reports.values())
    jobs = sum(len(report.cases) for report in reports.values())

    def paint(column: Column) -> None:
        for panel in panels:
            panel.paint(column)
        _key(column)

    wide = max(panel.wide for panel in panels)
    high = sum(panel.high for panel in panels) + FOOT
    return Chart(f"{done} of {jobs} jobs completed", wide, high, paint)


class _Panel:
    """The panel of one shelf's plan."""

    def __init__(self, report: PlanReport, shelf: str) -> None:
        self.report, self.shelf = report, _printable(shelf)
        self.sizes = [(row.family, row.size) for row in of_sizes(report)]
        self.across, self.down = CELL * max(len(self.sizes), 1), CELL * len(report.cases)
        self.wide = max(LEFT + self.across + STATE, 130)
        self.high = HEAD + self.down + bool(shelf) * 6

    def paint(self, column: Column) -> None:
        """Draw the panel."""
        if self.shelf:
            column.skip(2)
            column.line(self.shelf, bold=True, left=2)
        column.skip(HEAD)
        axes = column.axes(self.down, LEFT)
        box = axes.get_position()
        axes.set_position((box.x0, box.y0, self.across / column.wide, box.height))
        axes.set(xlim=(0, len(self.sizes) or 1), ylim=(len(self.report.cases), 0))
        self._names(axes)
        for job, drawn in enumerate(drawn_by_job(self.report)):
            short = short_of(self.report, job)
            for nth, size in enumerate(self.sizes):
                if drawn[size]:
                    _square(axes, nth, job, drawn[size], filled=True)
                elif short[size]:
                    _square(axes, nth, job, short[size], filled=False)
            words = state(self.report, job)
            axes.text(len(self.sizes) + 0.4, job + 0.5, words, va="center")

    def _names(self, axes: Axes) -> None:
        names = [_short(f"{family} {size}") for family, size in self.sizes]
        middles = [nth + 0.5 for nth in range(len(names))]
        axes.xaxis.tick_top()
        axes.set_xticks(middles, names, rotation=60, ha="left", rotation_mode="anchor")
        jobs = [_short(job.name) for job in self.report.plan.batch.jobs]
        axes.set_yticks([nth + 0.5 for nth in range(len(jobs))], jobs)
        axes.tick_params(length=0)
        axes.spines[:].set_visible(False)
        axes.vlines(middles, 0, len(jobs), color="#cccccc", linewidth=0.6, zorder=0)


def _square(axes: Axes, across: float, down: float, count: int, *, filled: bool) -> None:
    """Draw one cell with its number of parts: filled for drawn, open for short."""
    left, right, top, low = across + 0.08, across + 0.92, down + 0.08, down + 0.92
    axes.fill(
        [left, right, right, left], [top, top, low, low], facecolor=DRAWN if filled else SHORT,
        edgecolor="black", linewidth=0.6,
    )  # fmt: skip
    if not filled:
        axes.plot([left, right], [top, low], color="#999999", linewidth=0.6)
        axes.plot([left, right], [low, top], color="#999999", linewidth=0.6)
    ink = "white" if filled else "black"
    axes.text(across + 0.5, down + 0.5, str(count), ha="center", va="center", color=ink)


def _key(column: Column) -> None:
    """Explain the squares."""
    column.skip(3)
    axes = column.axes(CELL, 2)
    box = axes.get_position()
    axes.set_position((box.x0, box.y0, 110 / column.wide, box.height))
    axes.set(xlim=(0, 110 / CELL), ylim=(1, 0))
    axes.set_axis_off()
    _square(axes, 0, 0, 2, filled=True)
    axes.text(1.3, 0.5, "drawn from the shelf", va="center")
    _square(axes, 6, 0, 1, filled=False)
    axes.text(7.3, 0.5, "short: to be bought for this job", va="center")


def _printable(text: str) -> str:
    """Return a text without the signs that cannot be printed."""
    return "".join(sign for sign in text if sign.isprintable())


def _short(text: str) -> str:
    """Cut a name to LETTERS letters."""
    seen = _printable(text)
    return seen if len(seen) <= LETTERS else f"{seen[: LETTERS - 1]}\u2026"
