"""One table for all cases: how many times as long as its peer ours takes.

A ratio is worked out for each job from times taken in turns; the table gives the median and the
worst over the jobs. The seconds beside it belong to this machine and promise nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

HEAD = ("case", "ours", "against", "jobs", "ours ms", "peer ms", "median", "worst", "aim", "note")


@dataclass(frozen=True, slots=True)
class Row:
    """One comparison over the jobs of a case."""

    case: str
    ours: str
    peer: str
    our_seconds: tuple[float, ...]
    peer_seconds: tuple[float, ...]
    aim: float | None = None
    """The median ratio that is aimed at; None where the row is only shown."""
    note: str = ""

    @property
    def ratios(self) -> list[float]:
        """Ours over peer, job by job."""
        pairs = zip(self.our_seconds, self.peer_seconds, strict=True)
        return [ours / peer for ours, peer in pairs]

    def cells(self) -> tuple[str, ...]:
        """The row as it is printed."""
        middle = median(self.ratios)
        aim = "" if self.aim is None else f"{self.aim:.1f} {self._verdict(middle)}"
        return (
            self.case,
            self.ours,
            self.peer,
            str(len(self.ratios)),
            f"{1000 * median(self.our_seconds):.1f}",
            f"{1000 * median(self.peer_seconds):.1f}",
            f"{middle:.2f}",
            f"{max(self.ratios):.2f}",
            aim,
            self.note,
        )

    def _verdict(self, middle: float) -> str:
        return "met" if self.aim is not None and middle <= self.aim else "missed"


@dataclass(frozen=True, slots=True)
class Skipped:
    """A comparison that could not be made here, and why."""

    case: str
    why: str


def print_table(rows: Sequence[Row]) -> None:
    """Print all comparisons, the columns lined up."""
    lines = [HEAD, *(row.cells() for row in rows)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    for line in lines:
        cells = (cell.ljust(width) for cell, width in zip(line, widths, strict=True))
        print("  ".join(cells).rstrip())
