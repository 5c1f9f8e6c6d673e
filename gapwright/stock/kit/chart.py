"""The chart of kits: what each costs against the drums it serves."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from gapwright.drawing.figure import Chart, Column
from gapwright.output.money import WHOLE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gapwright.stock.kit.service import KitReport

WIDE, HEAD, TALL, FOOT, LETTERS = 180.0, 12.0, 80.0, 16.0, 100
TITLE = "Cheapest kits: cost against drums served"


def frontier_chart(report: KitReport) -> Chart:
    """Chart the cheapest kits, cost to the right and drums served upward.

    The kit that was chosen is ringed; a kit that is not proved cheapest is hollow. What the kits
    serve besides, but only up to the limit, is a dotted stroke above them, up to a bar.
    """
    names = wrap(f"for {', '.join(report.gaps)}", LETTERS)

    def paint(column: Column) -> None:
        column.skip(2)
        column.line(TITLE, bold=True)
        for name in names:
            column.line(name)
        column.skip(HEAD - 2 - column.LINE)
        _kits(column.axes(TALL), report)

    return Chart(TITLE, WIDE, HEAD + len(names) * Column.LINE + TALL + FOOT, paint)


def _kits(axes: Axes, report: KitReport) -> None:
    """Draw the kits, and as steps between them what is served for a cost."""
    kits = report.frontier
    costs = [kit.cost / WHOLE for kit in kits]
    served = [kit.served for kit in kits]
    axes.step(costs, served, where="post", color="black", linewidth=1.2)
    close = [(cost, kit, report.only_to_limit(kit)) for cost, kit in zip(costs, kits, strict=True)]
    ends = [(cost, kit.served, kit.served + more) for cost, kit, more in close if more]
    if ends:
        at, low, high = zip(*ends, strict=True)
        axes.vlines(at, low, high, color="black", linewidth=1.2, linestyle=":")
        words = "bar: with those served only up to the limit"
        axes.plot(at, high, "_", color="black", markersize=9, label=words)
        axes.legend(loc="lower right", frameon=False)
    for cost, drums, kit in zip(costs, served, kits, strict=True):
        face = "black" if kit.proved else "white"
        axes.plot(cost, drums, "o", color="black", markerfacecolor=face, markersize=5)
        if kit == report.kit:
            axes.plot(cost, drums, "o", color="black", markerfacecolor="none", markersize=11)
    axes.axhline(report.wanted, color="black", linewidth=0.8, linestyle="--")
    asked = f"asked for: {report.wanted} of {report.drums}"
    axes.annotate(asked, (0.01, report.wanted), (0, 3), ("axes fraction", "data"), "offset points")
    axes.set_ylim(0, report.drums * 1.05)
    axes.locator_params("y", integer=True)
    if report.priced:
        axes.xaxis.set_major_formatter("{x:.2f}")
    else:
        axes.locator_params("x", integer=True)
    hollow = "" if all(kit.proved for kit in kits) else "   (hollow: not proved cheapest)"
    axes.set(xlabel=("cost" if report.priced else "parts") + hollow, ylabel="drums")
