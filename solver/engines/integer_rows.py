"""Holds the rows of a program in integers, and proves lower bounds beside HiGHS.

For any y over the rows, any x within its bounds has

    c x = y (A x) + (c - y A) x  >=  sum of y times the row's bound + sum of d times the column's

where d = c - y A. HiGHS gives good y in floating point. Here they are rounded to integer multiples
of a power of two and everything else is integer, so that no error of the engine can make the bound
too high. A column whose d raises the bound above the best value known is 0 in every plan as good.

This module imports numpy, as HiGHS's own module does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Whole = NDArray[np.int64]
    Real = NDArray[np.float64]

BITS = 59  # of exact 64-bit arithmetic, with a margin
FINEST = 40
Row = tuple["Mapping[int, int]", int | None, int | None]


@dataclass(frozen=True, slots=True)
class IntegerBound:
    """A lower bound in integers, and the rise of it with each column."""

    total: int
    """In parts of 2^bits: the bound is total / 2^bits."""
    slope: Whole
    bits: int

    @property
    def value(self) -> int:
        """The bound, rounded up to an integer."""
        return -(-self.total >> self.bits)


@dataclass(frozen=True, slots=True)
class Entries:
    """Some rows in the form that the engine accepts: one array after the other, by rows."""

    low: Real
    high: Real
    starts: NDArray[np.int32]
    columns: NDArray[np.int32]
    factors: Whole


def entries(rows: list[Row]) -> Entries:
    """Put rows of integers into arrays."""
    return Entries(
        np.array([-math.inf if low is None else low for _, low, _ in rows], dtype=np.float64),
        np.array([math.inf if high is None else high for _, _, high in rows], dtype=np.float64),
        np.cumsum([0, *(len(terms) for terms, _, _ in rows)], dtype=np.int32),
        np.fromiter((v for terms, _, _ in rows for v in terms), dtype=np.int32),
        np.fromiter((f for terms, _, _ in rows for f in terms.values()), dtype=np.int64),
    )


class Matrix:
    """All rows so far, with their entries sorted by column."""

    def __init__(self) -> None:
        self.low = self.high = np.zeros(0)
        self.rows = np.zeros(0, dtype=np.int64)
        self.columns = np.zeros(0, dtype=np.int64)
        self.factors = np.zeros(0, dtype=np.int64)

    def add(self, more: Entries) -> None:
        """Add rows below those known."""
        rows = np.repeat(np.arange(len(more.low)), np.diff(more.starts)) + len(self.low)
        columns = np.append(self.columns, more.columns.astype(np.int64))
        order = np.argsort(columns, kind="stable")
        self.columns = columns[order]
        self.rows = np.append(self.rows, rows)[order]
        self.factors = np.append(self.factors, more.factors)[order]
        self.low, self.high = np.append(self.low, more.low), np.append(self.high, more.high)

    def holds(self, values: Whole) -> bool:
        """Return whether integer values satisfy every row."""
        sums = np.zeros(len(self.low), dtype=np.int64)
        np.add.at(sums, self.rows, self.factors * values[self.columns])
        return bool((sums >= self.low).all() and (sums <= self.high).all())

    def beside(self, marked: NDArray[np.bool_], most: int, every: int) -> NDArray[np.bool_]:
        """Return which columns share a short row with a marked column.

        Parameters
        ----------
        marked : array of bool, shape (columns,)
            The columns marked.
        most
            The most entries of a short row.
        every
            Where above 0, every n-th row counts too if it is short.

        Returns
        -------
        array of bool, shape (columns,)
            Whether each column is in such a row.
        """
        short = np.bincount(self.rows, minlength=len(self.low)) <= most
        touched = np.zeros(len(self.low), dtype=bool)
        touched[self.rows[marked[self.columns]]] = True
        if every:
            touched[::every] = True
        near = np.zeros(len(marked), dtype=bool)
        near[self.columns[(touched & short)[self.rows]]] = True
        return near

    def bound(
        self, cost: Whole, low: Whole, high: Whole, duals: Sequence[float]
    ) -> IntegerBound | None:
        """Return the lower bound on the cost that some duals prove.

        Parameters
        ----------
        cost : array of int, shape (columns,)
            The coefficients of the objective.
        low, high : array of int, shape (columns,)
            The bounds of each column.
        duals
            A dual value for each row, in floating point; all 0 where the length is another.

        Returns
        -------
        IntegerBound, or None
            None where the duals are too large for exact arithmetic in 64 bits.
        """
        known = len(duals) == len(self.low)
        y = np.array(duals) if known else np.zeros(len(self.low))
        side = np.where(y > 0, self.low, self.high)
        y = np.where(np.isfinite(side), y, 0.0)
        side = np.where(np.isfinite(side), side, 0.0)
        slope = cost - np.bincount(self.columns, self.factors * y[self.rows], len(cost))
        far = np.maximum(np.abs(low), np.abs(high))
        size = np.abs(y * side).sum() + (np.abs(slope) * far).sum() + np.abs(y).sum() + 1
        bits = min(FINEST, BITS - math.ceil(math.log2(size)))
        return None if bits < 0 else self._exact(cost, low, high, y, bits)

    def _exact(self, cost: Whole, low: Whole, high: Whole, duals: Real, bits: int) -> IntegerBound:
        whole = np.rint(duals * 2.0**bits).astype(np.int64)
        side = np.where(whole > 0, self.low, self.high)
        whole = np.where(np.isfinite(side), whole, 0)
        side = np.where(np.isfinite(side), side, 0).astype(np.int64)
        # The sums may overflow; the differences of them below are right all the same.
        ends = np.append(0, np.cumsum(self.factors * whole[self.rows]))
        starts = np.searchsorted(self.columns, np.arange(len(cost) + 1))
        slope = (cost << bits) - (ends[starts[1:]] - ends[starts[:-1]])
        least = np.where(slope > 0, low, high)
        return IntegerBound(int((whole * side).sum()) + int((slope * least).sum()), slope, bits)
