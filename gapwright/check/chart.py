"""A history of checks as a picture: every gap a ring, each gauge and hand a row, zero a line.

Rings lie at how much more than promised a gap measured; the bar above them is the mean with its
95 % limits, filled where they leave out zero; the two posts are as far from zero as twice the
standard uncertainty the files give. Nothing depends on colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.check.history_text import seen_words
from gapwright.drawing.axis import round_marks
from gapwright.drawing.svg import GROUND, Box, Svg, line, outline, picture, ring, words
from gapwright.shelf.text import so_many
from specs.values.lengths import Length, number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.check.history import CheckHistory, Seen
    from specs.values.lengths import Unit

WIDE, LEFT, RIGHT, ROW, HEAD, FOOT = 190.0, 44.0, 184.0, 26.0, 9.0, 15.0
KEY = (
    "circle: a gap; bar: the mean with its 95 % limits, filled where zero lies outside; "
    "posts: twice the standard uncertainty the files give"
)
MOST_TICKS = 8
FINEST = 1  # thousandths of a millimetre, ten-thousandths of an inch


def history_svg(history: CheckHistory, unit: Unit | None = None) -> Svg:
    """Draw a history."""
    unit = unit or history.cases[0].length
    half = _half(history)
    title = f"measured after assembly less promised ({unit})"
    shapes = [GROUND, words((2, 5.5), title, bold=True)]
    for nth, seen in enumerate(history.seen):
        shapes += _row(seen, HEAD + ROW * nth, half, unit)
    bottom = HEAD + ROW * len(history.seen)
    shapes += _axis(half, bottom, unit)
    shapes += [words((2, bottom + FOOT - 3), KEY, size=2.2, most=WIDE - 4)]
    return picture(WIDE, bottom + FOOT, title, *shapes)


def _half(history: CheckHistory) -> Length:
    """How far the axis reaches to either side."""
    reaches = [seen.stated * 2 for seen in history.seen]
    reaches += [abs(one.more) for seen in history.seen for one in seen.residuals]
    reaches += [
        min(max(abs(seen.bias.low), abs(seen.bias.high)), seen.stated * 8)
        for seen in history.seen if seen.bias
    ]  # fmt: skip
    return max([*reaches, Length(1_000)]) * 11 / 10


def _at(length: Length, half: Length) -> float:
    share = float((length + half).nm / (half.nm * 2))
    return LEFT + min(max(share, 0.0), 1.0) * (RIGHT - LEFT)


def _row(seen: Seen, top: float, half: Length, unit: Unit) -> Iterator[str]:
    middle = top + 8
    yield words((2, middle + 1), f"{seen.kind} {seen.name}", most=LEFT - 5)
    yield words((2, middle + 5), so_many(len(seen.residuals), "gap"), size=2.2)
    yield line((LEFT, middle + 5), (RIGHT, middle + 5), stroke=0.1)
    for side in (-2, 0, 2):
        x = _at(seen.stated * side, half)
        yield line((x, middle - 4), (x, middle + 8), stroke=0.3 if side else 0.15)
    if seen.bias:
        low, high = _at(seen.bias.low, half), _at(seen.bias.high, half)
        box = Box(low, middle - 2.6, max(high - low, 0.5), 2.4)
        yield outline(box, 0.3, filled=seen.is_off)
        x = _at(seen.bias.figure, half)
        yield line((x, middle - 4), (x, middle + 1), stroke=0.6)
    for nth, one in enumerate(seen.residuals):
        y = middle + 5 + (nth % 5 - 2) * 0.9  # so that equal ones do not hide each other
        x = _at(one.more, half)
        yield ring((x, y), 0.8)
    told = ";  ".join(seen_words(seen, unit))
    yield words((LEFT, middle + 12), told, size=2.2, most=RIGHT - LEFT)


def _axis(half: Length, bottom: float, unit: Unit) -> Iterator[str]:
    yield line((LEFT, bottom), (RIGHT, bottom), stroke=0.3)
    for value in round_marks(-half, half, unit, FINEST, MOST_TICKS):
        x = _at(value, half)
        yield line((x, bottom), (x, bottom + 1.2), stroke=0.3)
        yield words((x, bottom + 4), number(value, unit), size=2.2, anchor="middle")
