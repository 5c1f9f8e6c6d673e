"""The chart of a history of checks: a row for each gauge and hand, a ring for each gap.

A ring lies at how much more than promised its gap measured; the line is zero. The bar above the
rings is the mean with its 95 % limits, filled where they leave out zero. The two posts stand at
twice the standard uncertainty that the files give. Nothing depends on colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.check.text import seen_words
from gapwright.drawing.figure import Chart, on_axis
from gapwright.shelf.text import so_many

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gapwright.check.history import CheckHistory, GaugeOrHand
    from gapwright.drawing.figure import Column
    from specs.values.lengths import LengthUnit

WIDE, ROW, WORDS, HEAD, FOOT, LEFT = 190.0, 13.0, 6.5, 10.0, 18.0, 44.0
KEY = (
    "circle: a gap; bar: the mean with its 95 % limits, filled where zero lies outside; "
    "posts: twice the standard uncertainty the files give"
)
FAR = 8  # times what the files state: limits wider than that run off the chart


def history_chart(history: CheckHistory, unit: LengthUnit | None = None) -> Chart:
    """Chart a history; lengths in `unit`, that of the first job if none is given."""
    unit = unit or history.cases[0].length
    title = f"measured after assembly less promised ({unit})"
    half = _half(history, unit)

    def paint(column: Column) -> None:
        column.skip(1)
        column.line(title, bold=True, left=2)
        column.skip(HEAD - 1 - column.LINE)
        for seen in history.seen:
            axes = column.axes(ROW, LEFT)
            last = seen is history.seen[-1]
            axes.set(xlim=(-half, half), ylim=(0, 10))
            axes.tick_params(left=False, labelbottom=last)
            _row(axes, seen, unit)
            column.skip(WORDS if not last else WORDS + 4)
            words = ";  ".join(seen_words(seen, unit))
            axes.text(0, -0.62 if last else -0.3, words, transform=axes.transAxes, fontsize=6.5)
        column.skip(2)
        column.line(KEY, left=2)

    return Chart(title, WIDE, HEAD + (ROW + WORDS) * len(history.seen) + FOOT, paint)


def _half(history: CheckHistory, unit: LengthUnit) -> float:
    """Return how far the axis reaches to either side."""
    reaches = [seen.stated * 2 for seen in history.seen]
    reaches += [abs(one.more) for seen in history.seen for one in seen.residuals]
    reaches += [
        min(max(abs(seen.bias.low), abs(seen.bias.high)), seen.stated * FAR)
        for seen in history.seen if seen.bias
    ]  # fmt: skip
    return 1.1 * max([on_axis(reach, unit) for reach in reaches if reach], default=1.0)


def _row(axes: Axes, seen: GaugeOrHand, unit: LengthUnit) -> None:
    """Draw one gauge or hand: posts and zero, the mean with its limits, and a ring for each gap."""
    name = f"{seen.kind} {seen.name}\n{so_many(len(seen.residuals), 'gap')}"
    axes.set(yticks=[5], yticklabels=[name])
    stated = on_axis(seen.stated, unit)
    axes.axvline(0, color="black", linewidth=0.5)
    for side in (-2, 2):
        axes.axvline(side * stated, color="black", linewidth=1.2)
    if seen.bias:
        low, high = on_axis(seen.bias.low, unit), on_axis(seen.bias.high, unit)
        face = "black" if seen.is_off else "white"
        axes.broken_barh([(low, high - low)], (6.4, 2), facecolor=face, edgecolor="black")
        mean = on_axis(seen.bias.figure, unit)
        axes.plot([mean, mean], [5.4, 9.4], color="black", linewidth=1.6)
    points = [on_axis(one.more, unit) for one in seen.residuals]
    rows = [3 + (nth % 5 - 2) * 0.6 for nth in range(len(points))]  # so that none hides another
    axes.scatter(points, rows, s=14, facecolors="none", edgecolors="black", linewidths=0.6)
