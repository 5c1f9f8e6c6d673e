"""The chart of a cover: served values with their thin steels, the gap in its window, past drums.

It reads without colour. A box is a run of served values, the darker the more thin steels it takes,
with their number in it. Its foot is dotted where it is served only up to the limit. A hole is
hatched and numbered. Past drums are ticks, the longer the more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.cover.answer import Run, gaps_at, past, spans, thin_zones, to_the_limit
from gapwright.cover.text import head, hole_words, past_words, standing
from gapwright.drawing.figure import Chart, Column, on_axis
from gapwright.fit.gap_text import sides_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes

    from gapwright.cover.service import Covered
    from specs.values.lengths import LengthUnit

WIDE, BAR, WINDOW, DRUMS, SCALE, KEY = 240.0, 11.0, 20.0, 9.0, 9.0, 14.0
"""The width, and the heights of: the bar, the gap in its window, past drums, the axis, the key."""
SHADES = ("#ffffff", "#d4d4d4", "#b0b0b0", "#8c8c8c")
HATCH = "////"
DOTS, FOOT = "....", 0.28
"""Of what is served only up to the limit: its hatch, and how much of the bar's height it takes."""


def cover_chart(covers: tuple[Covered, ...], unit: LengthUnit | None = None) -> Chart:
    """Chart covers one below the other; lengths in `unit`, the files' own if none is given."""
    panels = [_Panel(covered, unit or covered.case.length) for covered in covers]

    def paint(column: Column) -> None:
        for panel in panels:
            panel.paint(column)
        _key(column)

    title = "which spaces are served: " + ", ".join(panel.name for panel in panels)
    return Chart(title, WIDE, sum(panel.high for panel in panels) + KEY, paint)


class _Panel:
    """The panel of one cover."""

    def __init__(self, covered: Covered, unit: LengthUnit) -> None:
        self.covered, self.unit = covered, unit
        self.name = covered.moving.name
        self.head = [f"  {words}" for words in standing(covered)]
        self.notes = list(self._notes())
        self.lines = [points for run in spans(covered) for points in self._lines(run)]
        lines = 1 + len(self.head) + len(self.notes)
        self.high = (
            4 + lines * Column.LINE + 5 + BAR + bool(self.lines) * (WINDOW + 2)
            + bool(covered.history) * (DRUMS + 2) + SCALE
        )  # fmt: skip

    def paint(self, column: Column) -> None:
        """Draw the panel; its axes share the horizontal scale."""
        column.skip(4)
        column.line(head(self.covered, self.unit), bold=True)
        for words in self.head:
            column.line(words)
        column.skip(5)
        axes = [column.axes(BAR)]
        self._bar(axes[0])
        if self.lines:
            column.skip(2)
            axes.append(column.axes(WINDOW))
            self._window(axes[-1])
        if self.covered.history:
            column.skip(2)
            axes.append(column.axes(DRUMS))
            self._drums(axes[-1])
        for one in axes:
            one.set_xlim(self._x(-0.5), self._x(self.covered.sweep.count - 0.5))
            one.tick_params(bottom=one is axes[-1], labelbottom=one is axes[-1])
        axes[-1].text(-0.02, -4 / SCALE, self.unit, transform=axes[-1].transAxes, ha="right")
        column.skip(SCALE)
        for note in self.notes:
            column.line(note)

    def _x(self, nth: float) -> float:
        first = on_axis(self.covered.at(0), self.unit)
        return first + nth * on_axis(self.covered.step, self.unit)

    def _bar(self, axes: Axes) -> None:
        axes.set(ylim=(0, 1), yticks=[0.5], yticklabels=["thin steels"])
        axes.tick_params(left=False)
        axes.axhline(0.5, color="black", linewidth=0.8, zorder=0)
        for run, thin in thin_zones(self.covered):
            shade = SHADES[min(thin, len(SHADES) - 1)]
            self._box(axes, run, shade)
            middle = self._x((run.first + run.last) / 2)
            axes.text(middle, 0.5, str(thin), ha="center", va="center", clip_on=True)
        for run in to_the_limit(self.covered):
            self._box(axes, run, hatch=DOTS, high=FOOT)
        for nth, hole in enumerate(self.covered.holes, 1):
            self._box(axes, Run(hole.first, hole.last), hatch=HATCH)
            middle = self._x((hole.first + hole.last) / 2)
            axes.text(middle, 1.08, str(nth), ha="center", va="bottom")

    def _box(
        self, axes: Axes, run: Run, shade: str = "white", hatch: str = "", high: float = 1
    ) -> None:
        left = self._x(run.first - 0.5)
        wide = self._x(run.last + 0.5) - left
        axes.broken_barh(
            [(left, wide)],
            (0, high),
            facecolor=shade,
            edgecolor="black",
            hatch=hatch,
            linewidth=0.8,
        )

    def _window(self, axes: Axes) -> None:
        low, high = self._sides()
        axes.set(ylim=(0, 1), yticks=[0, 0.5, 1], yticklabels=[low, "gap in window", high])
        axes.spines[["top", "right"]].set_visible(True)
        for points in self.lines:
            axes.plot(*zip(*points, strict=True), color="black", linewidth=1.2)

    def _sides(self) -> tuple[str, str]:
        """Name both sides of the one gap that moves; low and high where its layouts differ."""
        sweep, unit = self.covered.sweep, self.covered.case.unit
        names = [g.name for n, g in enumerate(sweep.at(0).gaps) if sweep.moves(n)]
        on = {one.window.on for name in names for one in unit.gaps[name].arrangements.values()}
        return sides_of("gap" if on == {"gap"} else "height")

    def _lines(self, run: Run) -> Iterator[list[tuple[float, float]]]:
        """Yield the gap's line over a span, broken where the build changes; none for many gaps."""
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
            points.append((self._x(nth), float(gap.height)))
        yield points

    def _drums(self, axes: Axes) -> None:
        at = past(self.covered).at
        most = max(count for _, count, _ in at)
        axes.set(ylim=(1, 0), yticks=[0.5], yticklabels=["past drums"])
        axes.tick_params(left=False)
        values = [on_axis(length, self.unit) for length, _, _ in at]
        long = [0.2 + 0.8 * count / most for _, count, _ in at]
        axes.vlines(values, 0, long, color="black", linewidth=0.8)

    def _notes(self) -> Iterator[str]:
        """List the holes by their numbers, and how many past drums are served."""
        for nth, hole in enumerate(self.covered.holes, 1):
            yield f"hole {nth}: {hole_words(self.covered, hole, self.unit)}"
        if self.covered.history:
            yield past_words(past(self.covered))


def _key(column: Column) -> None:
    """Explain the marks."""
    column.skip(4)
    axes = column.axes(6)
    axes.set_axis_off()
    marks = [
        axes.fill_between([], [], facecolor=shade, edgecolor="black",
                          label=f"{count} thin" + " or more" * (count == len(SHADES) - 1))
        for count, shade in enumerate(SHADES)
    ]  # fmt: skip
    hole = axes.fill_between(
        [], [], facecolor="white", edgecolor="black", hatch=HATCH, label="hole: nothing fits"
    )
    close = axes.fill_between(
        [], [], facecolor="white", edgecolor="black", hatch=DOTS, label="only up to the limit"
    )
    (beyond,) = axes.plot([], [], color="black", linewidth=0.8, label="not served")
    axes.legend(handles=[beyond, *marks, close, hole], ncols=7, loc="center left", frameon=False)
