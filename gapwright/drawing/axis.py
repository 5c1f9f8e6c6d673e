"""Where the figures of an axis stand: at round numbers, no more of them than there is room for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.values.lengths import Length

if TYPE_CHECKING:
    from fractions import Fraction

    from specs.values.lengths import Unit


def round_marks(first: Length, last: Length, unit: Unit, finest: int, most: int) -> list[Length]:
    """Round lengths from one to another, in steps of 1, 2 or 5 of which no more than `most` fit.

    No step is finer than so many thousandths of a millimetre, or ten-thousandths of an inch.
    """
    base = finest * (1_000 if unit == "mm" else 2_540)
    return [Length(number) for number in round_numbers(first.nm, last.nm, base, most)]


def round_numbers(first: Fraction | int, last: Fraction | int, finest: int, most: int) -> list[int]:
    """Round numbers from one to another, in steps of 1, 2 or 5 of which no more than `most` fit."""
    sizes = (finest * digit * 10**zeros for zeros in range(20) for digit in (1, 2, 5))
    step = next(size for size in sizes if (last - first) / size <= most)
    return [step * nth for nth in range(-(-first // step), last // step + 1)]
