"""The drawing of a stack as the drum stands on the bench: what goes in first is at the bottom.

All heights, the gap's too, are to one scale, which is stated; widths mean nothing. The numbers are
those of the list, and kinds of parts differ by their marks (`draw_part`).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.drawing.svg import (
    Box,
    Svg,
    dots,
    hatching,
    line,
    outline,
    picture,
    rows,
    solid,
    waves,
    words,
)
from gapwright.fit.gap_text import gap_name, gap_words
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from specs.values.lengths import Length, LengthUnit


WIDE, LEFT, RIGHT, LABELS = 56.0, 1.0, 27.0, 31.0
FACE, WORDS, APART = 1.4, 3.2, 3.2
"""Room for a face, for a line of words, and between two labels, in millimetres."""
SCALES = (
    *(Fraction(1, times) for times in (4, 3, 2)),
    *(Fraction(halves, 2) for halves in (2, 3, 4, 5, 6, 8, 10, 12, 16, 20)),
)
LEAST_SEEN = 300_000  # nm: a gap smaller than this is hard to see at its true scale
MM = 1_000_000


@dataclass(frozen=True, slots=True)
class ScaledDrawing:
    """A drawing, and its scale in words."""

    svg: Svg
    scale: str


@dataclass(frozen=True, slots=True)
class _Layer:
    """A part of the stack, or its gap where `line` is None."""

    line: AssemblyStep | None
    thickness: Length
    label: str


def draw_stack(
    gap: GapAssembly, between: Sequence[str], unit: LengthUnit, room: float, opening: str = ""
) -> ScaledDrawing:
    """Draw a stack to scale.

    Parameters
    ----------
    gap
        The assembly of the gap.
    between
        The names of the two faces between which the gap is measured; empty where none are stated.
    unit
        The unit of length for the gap's figure.
    room
        The height there is on paper, in millimetres.
    opening
        The label of the gap, in place of its figure.
    """
    layers = _layers(gap, between, opening or gap_words(gap, unit))
    height = sum((layer.thickness for layer in layers), ZERO)
    scale = scale_for(height, room)
    high = _on_paper(height, scale)
    tall = max(high, APART * len(layers))
    above, below = end_words(gap)
    head = FACE + WORDS * len(above)
    bottom = head + (tall + high) / 2
    shapes = [*_face(gap, gap.last_end, bottom - high), *_face(gap, gap.first_end, bottom)]
    shapes += _label_lines(above, WORDS - 0.6) + _label_lines(
        below, head + tall + FACE + WORDS - 0.6
    )
    edges = _edges(layers, bottom, scale)
    places = spread([(low + top) / 2 for low, top in edges], APART, head + tall - 1, head + 1)
    for layer, (low, top), at in zip(layers, edges, places, strict=True):
        shapes += [_layer(layer, low, top), *_label(layer, (low + top) / 2, at)]
    whole = head + tall + FACE + WORDS * len(below) + 0.6
    title = f"{gap_name(gap)}: the stack as it stands on the bench"
    return ScaledDrawing(picture(WIDE, whole, title, *shapes), _scale_note(gap, scale))


def end_words(gap: GapAssembly) -> tuple[list[str], list[str]]:
    """Return the lines above and below a stack, which name its ends and the heat end."""
    heat = [f"heat end ({gap.heat_end} side)"]
    above = [f"{gap.last_end} end", *heat * (gap.heat_end == gap.last_end)]
    below = [f"{gap.first_end} end, goes in first", *heat * (gap.heat_end == gap.first_end)]
    return above, below


def scale_for(height: Length, room: float) -> Fraction:
    """Return the largest usual scale at which a height fits into `room` millimetres.

    Where none fits, return the smallest.
    """
    fitting = [scale for scale in SCALES if _on_paper(height, scale) <= room]
    return fitting[-1] if fitting else SCALES[0]


def gap_at(gap: GapAssembly, between: Sequence[str]) -> int:
    """Return how many parts lie below the gap.

    The gap lies between the two faces that `between` names. Where these are not found, it lies
    under the rings at the top, or on top.
    """
    names = [{line.family, line.label} for line in gap.steps]
    below = [{gap.first_end}, *names]
    above = [*names, {gap.last_end}]
    asked = set(between)
    for index, (one, other) in enumerate(zip(below, above, strict=True)):
        if len(asked) == 2 and asked & one and asked & other and asked <= one | other:  # noqa: PLR2004 - two faces
            return index
    count = len(gap.steps)
    while count and gap.steps[count - 1].kind == "ring":
        count -= 1
    return count


def spread(wanted: Sequence[float], apart: float, first: float, last: float) -> list[float]:
    """Place labels near the wanted heights, never closer than `apart`.

    Parameters
    ----------
    wanted
        The heights wanted, from the bottom upward; a height grows downward, as on paper.
    apart
        The least distance between two labels.
    first, last
        The heights of the lowest and of the highest place there is.
    """
    # Pushed upward from the lowest, then downward from the highest: midway, none moves far.
    count = len(wanted)
    rising, falling = list(wanted), list(wanted)
    for index in range(1, count):
        rising[index] = min(wanted[index], rising[index - 1] - apart)
    for index in reversed(range(count - 1)):
        falling[index] = max(wanted[index], falling[index + 1] + apart)
    return [
        min(max((up + down) / 2, last + (count - 1 - index) * apart), first - index * apart)
        for index, (up, down) in enumerate(zip(rising, falling, strict=True))
    ]


def _layers(gap: GapAssembly, between: Sequence[str], opening: str) -> list[_Layer]:
    layers = [
        _Layer(line, line.thickness, f"{line.number} {line.kind} {line.grade}".rstrip())
        for line in gap.steps
    ]
    if gap.on == "gap":
        open_ = _Layer(None, max(gap.gap, ZERO), opening)
        layers.insert(gap_at(gap, between), open_)
    return layers


def _on_paper(height: Length, scale: Fraction) -> float:
    return float(height.nm * scale / MM)


def _edges(layers: list[_Layer], bottom: float, scale: Fraction) -> list[tuple[float, float]]:
    edges = []
    for layer in layers:
        top = bottom - _on_paper(layer.thickness, scale)
        edges.append((bottom, top))
        bottom = top
    return edges


def _layer(layer: _Layer, low: float, top: float) -> str:
    if layer.line is None:
        return _opening(low, top)
    return draw_part(layer.line, Box(LEFT, top, RIGHT - LEFT, low - top))


def _opening(low: float, top: float) -> str:
    """Draw the gap: white, with an arrow from face to face where there is room for one."""
    middle, head = (LEFT + RIGHT) / 2, min(0.9, (low - top) / 3)
    return (
        line((middle, low), (middle, top))
        + solid((middle, top), (middle - head / 2, top + head), (middle + head / 2, top + head))
        + solid((middle, low), (middle - head / 2, low - head), (middle + head / 2, low - head))
    )


def _label(layer: _Layer, at: float, label: float) -> tuple[str, str]:
    lead = line((RIGHT, at), (RIGHT + 1.5, at), (LABELS - 1.2, label), (LABELS - 0.5, label))
    bold = layer.line is None or layer.line.grade not in ("", "thick")
    return lead, words((LABELS, label + 0.9), layer.label, most=WIDE - LABELS, bold=bold)


def _face(gap: GapAssembly, end: str, y: float) -> list[str]:
    """Draw the face at an end, with a heavier line at the heat end."""
    heavy = end == gap.heat_end
    away = 0.5 if end == gap.first_end else -0.5
    return [line((LEFT - 1, y + away), (RIGHT + 1, y + away), stroke=0.9 if heavy else 0.4)]


def _label_lines(lines: list[str], y: float) -> list[str]:
    return [
        words((LEFT, y + WORDS * nth), text, most=WIDE - LEFT, bold=not nth)
        for nth, text in enumerate(lines)
    ]


def _scale_note(gap: GapAssembly, scale: Fraction) -> str:
    ratio = f"{float(scale):g} : 1" if scale >= 1 else f"1 : {float(1 / scale):g}"
    text = f"heights drawn {ratio}"
    if gap.on == "height" or gap.gap <= ZERO:
        return f"{text}; there is no gap to draw"
    if gap.gap.nm < LEAST_SEEN:
        return f"{text}, the gap too: see it magnified beside its window"
    return text


def draw_part(part: AssemblyStep, box: Box) -> str:
    """Draw a part into a box, with the marks and the outline of its kind."""
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
