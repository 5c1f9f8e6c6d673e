"""The chart of a pack's heat: each steel at its place, and how far one engagement warms it.

The part that goes in first lies at the bottom. The length of a bar is the rise of a steel. The
narrow frame below it is the rise of a thick steel in its place; the figures stand behind them. An
arrowhead marks a face that a lining runs on. Where the unit file states no energy, the figures are
multiples of the rise of the thickest steel heated on both faces. Nothing depends on colour.
"""

from __future__ import annotations

from fractions import Fraction
from textwrap import wrap
from typing import TYPE_CHECKING

from gapwright.drawing.figure import Chart
from gapwright.fit.gap_text import gap_name, part_name
from gapwright.fit.heat import heat_of
from gapwright.fit.heat_text import REMARK, degrees, energy

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gapwright.drawing.figure import Column
    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.heat import Heat, HeatedSteel
    from gapwright.fit.report import Report

WIDE, ROW, HEAD, FOOT, LEFT, LETTERS = 186.0, 4.0, 10.4, 14.0, 56.0, 116
ROOM = 1.45
"""How far the axis reaches, in longest bars, so that figures stand behind them."""


def heat_chart(report: Report) -> Chart | None:
    """Chart the heat of every pack of an answer; None where no pack has a steel."""
    heats = [(gap, heat_of(report.case, gap)) for gap in report.gaps]
    shown = [(gap, heat) for gap, heat in heats if heat]
    title = f"{report.case.job.name}, {report.case.unit.name}: heat"
    return _chart(title, shown) if shown else None


def pack_heat_chart(gap: GapAssembly, heat: Heat) -> Chart:
    """Chart the heat of one pack."""
    return _chart(f"{gap_name(gap)}: what one engagement brings to each steel", [(gap, heat)])


def _chart(title: str, shown: list[tuple[GapAssembly, Heat]]) -> Chart:
    def paint(column: Column) -> None:
        for gap, heat in shown:
            column.skip(1)
            column.line(f"{gap_name(gap)}: {_head(heat)}", bold=True, left=2)
            column.line(_end(gap, gap.last_end), left=2)
            column.skip(HEAD - 1 - 2 * column.LINE)
            _pack(column.axes(ROW * len(gap.steps), LEFT), gap, heat)
            column.line(f"{_end(gap, gap.first_end)}, goes in first", left=2)
            foot = wrap(_foot(heat), LETTERS)
            for words in foot:
                column.line(words, left=2)
            column.skip(FOOT - (1 + len(foot)) * column.LINE)

    high = sum(HEAD + ROW * len(gap.steps) + FOOT for gap, _ in shown)
    return Chart(title, WIDE, high, paint)


def _pack(axes: Axes, gap: GapAssembly, heat: Heat) -> None:
    """Draw each part as a row, part 1 at the bottom, and the steels with their bars."""
    steels = {steel.step.number: steel for steel in heat.steels}
    longest = max(
        max(_figure(heat, steel), _figure(heat, steel, thick=True)) for steel in heat.steels
    )
    names = [f"{part.number} {part_name(part)}" for part in gap.steps]
    axes.set_yticks(range(len(names)), names)
    axes.set(ylim=(-0.5, len(names) - 0.5), xlim=(0, float(longest or 1) * ROOM), xticks=[])
    axes.spines["bottom"].set_visible(False)
    axes.tick_params(left=False)
    for row, part in enumerate(gap.steps):
        if part.number in steels:
            _bar(axes, heat, steels[part.number], row)


def _bar(axes: Axes, heat: Heat, steel: HeatedSteel, row: int) -> None:
    """Draw the bar of a steel, the frame of a thick one below it, and its heated faces."""
    figure, thick = _figure(heat, steel), _figure(heat, steel, thick=True)
    hottest = steel in heat.hottest
    hatch, edge = ("//////", 1.2) if hottest else ("//", 0.7)
    for at, long, high, marks, line in (
        (row + 0.12, figure, 0.5, hatch, edge),
        (row - 0.29, thick, 0.18, "", 0.5),
    ):
        axes.barh(
            at, float(long), high, color="white", edgecolor="black", hatch=marks, linewidth=line
        )
    label = f"{_steel_label(heat, steel)}{', hottest' if hottest else ''}"
    weight = "bold" if hottest else "normal"
    end = float(max(figure, thick)) + 0.01 * axes.get_xlim()[1]
    axes.text(end, row, label, va="center", weight=weight)
    for heated, at, mark in zip(steel.heated, (row - 0.42, row + 0.42), "^v", strict=True):
        if heated:
            axes.plot(0, at, mark, color="black", markersize=3, clip_on=False)


def _head(heat: Heat) -> str:
    share = f"{round(heat.share * 100)} % of the steel of thick ones alone"
    has = heat.engagement
    return f"one engagement of {energy(has.joules)}, {share}" if has else share


def _end(gap: GapAssembly, end: str) -> str:
    return f"{end} end" + (f" (heat end, {end} side, as stated)" if end == gap.heat_end else "")


def _figure(heat: Heat, steel: HeatedSteel, *, thick: bool = False) -> Fraction:
    """Return the rise in kelvin, or as a multiple of a thick steel's, heated on both faces."""
    rise = steel.rise
    if rise is None:
        rise = steel.warmth * max(other.thick.nm for other in heat.steels) / 2
    return rise / steel.beside_thick if thick else Fraction(rise)


def _steel_label(heat: Heat, steel: HeatedSteel) -> str:
    if steel.rise is not None:
        return degrees(steel.rise)
    return f"{float(_figure(heat, steel)):.2f} times"


def _foot(heat: Heat) -> str:
    frame = "narrow frame: a thick steel in its place; arrowhead: a heated face; "
    if heat.engagement:
        return frame + REMARK
    return frame + "times what the thickest, heated on both faces, warms"
