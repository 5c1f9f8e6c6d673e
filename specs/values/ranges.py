"""Ranges of lengths as a person writes them: two ends, a middle with its tolerance, or one limit.

    .060 to .080    1.7 - 2.1 mm    0.05..0.25 mm    1.7 ± 0.1 mm    at most 0.030 in

The unit after the second number holds for both.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from specs.values.lengths import (
    BRACKETS,
    FRACTION,
    NUMBER,
    UNIT,
    ZERO,
    Figure,
    check_agreement,
    read_figure,
    refusal,
    show,
    split_two,
    tidy,
)

if TYPE_CHECKING:
    from specs.values.lengths import Length, LengthUnit, Scale

# "to" is spelled like a unit, so that "-0.10 to -0.05" would else be "-0.10 to" less 0.05.
_ONE = rf"((?:{FRACTION}|{NUMBER})(?: ?(?!to\b)(?:{UNIT}))?(?: ?{BRACKETS})?)"
_LIMIT = re.compile(r"at (most|least) (.+)", re.IGNORECASE)
_AROUND = re.compile(rf"{_ONE} ?(?:±|\+/-|\+-) ?{_ONE}")
_BETWEEN = re.compile(rf"{_ONE} ?(?:to|-|\.\.(?!\.)) ?{_ONE}", re.IGNORECASE)
_SHAPES = "write one like 0.060 to 0.080 in, 1.7 ± 0.1 mm, at least 0.010 in or at most 0.25 mm"


def parse_range(text: str, unit: LengthUnit | None = None) -> tuple[Length | None, Length | None]:
    """Read a range of signed lengths as a person writes it.

    Parameters
    ----------
    text
        A range such as `0.060 to 0.080 in`, `1.7 ± 0.1 mm` or `at most 0.25 mm`, or the same range
        in two units.
    unit
        The unit of bare numbers; None to refuse them.

    Returns
    -------
    tuple of (Length or None, Length or None)
        The lowest and the highest length; None for an end that is open.

    Raises
    ------
    LengthError
        Where it is no range, is upside down, has one unit too few, or where its two units disagree.
    """
    plain = tidy(text)
    if limit := _LIMIT.fullmatch(plain):
        length = read_figure(limit[2], unit).length
        return (None, length) if limit[1].lower() == "most" else (length, None)
    first, second = split_two(plain)
    low, high = _ends(first, unit)
    if second is not None:
        for taken, beside in zip((low, high), _ends(second, unit), strict=True):
            check_agreement(plain, taken, beside)
    return low.length, high.length


def _ends(text: str, unit: Scale | None) -> tuple[Figure, Figure]:
    if around := _AROUND.fullmatch(text):
        return _spread(text, *_pair(text, around[1], around[3], unit))
    if between := _BETWEEN.fullmatch(text):
        return _upward(text, *_pair(text, between[1], between[3], unit))
    if re.fullmatch(_ONE, text):
        digits = re.split(f" ?(?:{UNIT})", text)[0]
        advice = f"for a window without width write {digits} to {text}"
        raise refusal(text, f"is one length, not a range: {advice}")
    raise refusal(text, f"is no range: {_SHAPES}")


def _pair(text: str, former: str, latter: str, unit: Scale | None) -> tuple[Figure, Figure]:
    last = read_figure(latter, unit)
    first = read_figure(former, last.scale)
    if first.scale != last.scale and not last.stated:
        raise refusal(text, "has a unit after the first number only: write it after the second")
    return first, last


def _spread(text: str, middle: Figure, tolerance: Figure) -> tuple[Figure, Figure]:
    if tolerance.length < ZERO:
        raise refusal(text, "has a tolerance below zero: write it without its sign")
    half = middle.half + tolerance.half
    ends = (middle.length - tolerance.length, middle.length + tolerance.length)
    low, high = (
        replace(middle, length=end, text=show(end, middle.scale), half=half) for end in ends
    )
    return low, high


def _upward(text: str, low: Figure, high: Figure) -> tuple[Figure, Figure]:
    if low.length > high.length:
        advice = f"write {high.text} to {low.text}"
        raise refusal(text, f"is upside down, {low.text} is more than {high.text}: {advice}")
    return low, high
