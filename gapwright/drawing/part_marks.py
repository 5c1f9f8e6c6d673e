"""How each kind of part is marked wherever it is drawn, so that nothing needs colour.

Thick steels are hatched close and heavy, thin ones wide and light, linings dotted, plates crossed,
rings black, cushions waved, the rest ruled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.drawing.svg import dots, hatching, outline, rows, waves

if TYPE_CHECKING:
    from gapwright.drawing.svg import Box
    from gapwright.fit.assembly import Line


def draw_part(part: Line, box: Box) -> str:
    """A part, told from others by its marks and the weight of its outline."""
    kind = part.kind
    if kind == "ring":
        return outline(box, 0.2, filled=True)
    if kind == "steel":
        return _steel(box, thick=part.grade in ("", "thick"))
    if kind in ("pressure plate", "apply plate"):
        crossed = [hatching(box, 1.7, 0.18, rising=rising) for rising in (True, False)]
        return "".join(crossed) + outline(box, 0.35)
    marks = {"friction": dots(box, 1.0, 0.4), "cushion": waves(box, 1.3, 0.3)}
    return marks.get(kind, rows(box, 0.9, 0.18)) + outline(box, 0.3)


def _steel(box: Box, *, thick: bool) -> str:
    if thick:
        return hatching(box, 0.9, 0.45, rising=True) + outline(box, 0.5)
    return hatching(box, 2.4, 0.2, rising=False) + outline(box, 0.25)
