"""Facts that are amounts: a number with the word for what it counts, and limits on it.

line pressure: {number of: psi, default: 110}          at most 125    at least 90    90 to 125
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

_NUMBER = r"([0-9]{1,7}(?:\.[0-9]{1,4})?)"
_LIMIT = re.compile(rf"at (most|least) {_NUMBER}")
_BETWEEN = re.compile(rf"{_NUMBER} ?(?:to|-|–) ?{_NUMBER}")
LIMITS = "write at most 125, at least 90 or 90 to 125"

Limits = tuple[Fraction | None, Fraction | None]


def amount(text: str, of: str) -> Fraction | None:
    """A number as written, with or without what it counts; nothing where it is none."""
    found = re.fullmatch(_NUMBER, _bare(text, of))
    return Fraction(found[1]) if found else None


def limits(text: str, of: str) -> Limits | None:
    """The lowest and highest an amount may be, None for an open end; nothing where it is none."""
    plain = _bare(text, of)
    if limit := _LIMIT.fullmatch(plain):
        end = Fraction(limit[2])
        return (None, end) if limit[1] == "most" else (end, None)
    if between := _BETWEEN.fullmatch(plain):
        low, high = Fraction(between[1]), Fraction(between[2])
        return (low, high) if low <= high else None
    return None


def within(text: str | None, of: str, allowed: Iterable[str]) -> bool:
    """Whether an amount lies in one of some limits, its ends included."""
    found = None if text is None else amount(text, of)
    if found is None:
        return False
    ends = [end for end in (limits(one, of) for one in allowed) if end]
    return any(
        (low is None or low <= found) and (high is None or found <= high) for low, high in ends
    )


def _bare(text: str, of: str) -> str:
    return " ".join(text.split()).removesuffix(of).strip()
