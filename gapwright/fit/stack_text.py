"""A stack in characters: the part that goes in first at the bottom, longer bars for thicker parts.

Each kind has a fill of its own, so nothing depends on colour: = steel, : friction, # plate,
> ring, ~ cushion, - washer, shim and spacer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gapwright.fit.assembly import GapLines
    from specs.values.lengths import Length

WIDTH = 16
FILLS = {
    "steel": "=", "friction": ":", "pressure plate": "#", "apply plate": "#", "ring": ">",
    "cushion": "~", "washer": "-", "shim": "-", "spacer": "-",
}  # fmt: skip


def bars(gap: GapLines) -> list[str]:
    """One bar for each line of a gap, in the lines' order."""
    thickest = max((line.thickness for line in gap.lines), default=None)
    return [_bar(line.thickness, thickest, FILLS[line.kind]) for line in gap.lines]


def _bar(thickness: Length, thickest: Length | None, fill: str) -> str:
    if thickest is None or not thickest:
        return ""
    return fill * max(1, int(WIDTH * thickness.nm / thickest.nm))


def ruler(gap: GapLines, width: int = 31) -> str:
    """The window as a line from its lowest to its highest, with the aim and where the gap lies."""
    if gap.low is None or gap.high is None or gap.low == gap.high:
        return ""

    def column(length: Length) -> int:
        share = (length.nm - gap.low.nm) / (gap.high.nm - gap.low.nm)  # type: ignore[union-attr]
        return min(max(int(share * (width - 1)), 0), width - 1)

    cells = ["-"] * width
    cells[column(gap.aim)] = "+"
    cells[column(gap.gap)] = "O"
    return "tight [" + "".join(cells) + "] loose"
