"""The guard band of a gap: how far the aim `safe` keeps it from the limits of its window.

    guard band = z * u, no more than a quarter of the window's width

u is the standard uncertainty of the readings and gauges together with the exchange of one part as
sold: one out, one in. z is the one-sided factor of a normal, 1.645 at 95 % (ISO 14253-1:2017). It
is one length for each layout, known before any part is chosen, whatever the trial build, the shelf
and what was measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import ceil, isqrt
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import as_sold, space_terms
from specs.parts.lookup import selective
from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import one_sided, variance_of
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.stacks import Place
    from specs.models.unit import Unit

KEPT = 128  # layouts of units: the jobs of a batch often have one unit


def guard_band(case: Case, name: str, layout: str) -> Length | None:
    """Return how far the gap of a layout is kept from the limits of its window.

    Parameters
    ----------
    case
        The case. Where a reading or space is varied, the readings count as they were written.
    name
        The gap.
    layout
        The layout.

    Returns
    -------
    Length or None
        The guard band; zero for a window of no width, None where no part of the gap is chosen or
        `certainty: none` asks for no distance from the limits.
    """
    gap = JobGap(case.as_written or case, name)
    if gap.settled or case.certainty == "none":
        return None
    arranged = gap.written.arrangements[layout]
    low, high = arranged.window.gap.low, arranged.window.gap.high
    if low is not None and low == high:
        return ZERO
    exchanged = _most_exchanged(_Itself(case.unit), name, layout)
    variance = variance_of(space_terms(gap, layout)) + 2 * exchanged
    band = Length(ceil(one_sided(case.certainty) * _root(variance)))
    return min(band, arranged.window.width / 4)


@dataclass(frozen=True, slots=True, eq=False)
class _Itself:
    """A unit that is like no other, which spares comparing all of its file."""

    unit: Unit

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and self.unit is other.unit

    def __hash__(self) -> int:
        return id(self.unit)


@lru_cache(maxsize=KEPT)
def _most_exchanged(itself: _Itself, name: str, layout: str) -> Fraction:
    """Return the most variance that one part as sold brings to a gap; jobs of a unit share it."""
    arranged = itself.unit.gaps[name].arrangements[layout]
    return max(_exchanged(itself.unit, arranged), default=Fraction(0))


def _exchanged(unit: Unit, layout: Arrangement) -> Iterator[Fraction]:
    """Yield the variance that one part as sold brings to the gap, for each place and size."""
    for index, _ in selective(unit, layout):
        place = layout.stack[index]
        family = unit.family_name(place.part)
        widest = max(
            (as_sold(unit, family, size).size for size in _sizes(unit, place)), default=ZERO
        )
        yield place.factor**2 * Doubt("rectangular", widest).variance


def _sizes(unit: Unit, place: Place) -> list[str]:
    """List the sizes that the unit file allows at a place."""
    family = unit.family_of(place.part)
    shared = unit.shared_parts.get(place.part)
    only = [set(names) for names in (place.only, shared.only if shared else ()) if names]
    return [
        name
        for name, size in family.sizes.items()
        if all({name, size.grade} & names for names in only)
        and (place.groove is None or place.groove.takes.holds(size.nominal))
    ]


def _root(variance: Fraction) -> int:
    """Return the standard uncertainty in whole nanometres, rounded up."""
    return isqrt(ceil(variance) - 1) + 1 if variance else 0
