"""What thin steels cost in heat: the steel of a pack against the same pack of thick steels alone.

The steels of a pack have the same faces and the same material, so that their mass and their heat
capacity go as their thickness. An engagement brings the same energy whatever the steels weigh, and
while it lasts next to none is carried away (adiabatic), so that on average they warm as

    rise / rise of thick ones alone = thick ones' thickness / their thickness

It compares builds; it predicts no temperature.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from specs.lengths import ZERO

if TYPE_CHECKING:
    from fractions import Fraction

    from gapwright.lines import GapLines
    from specs.case import Case


@dataclass(frozen=True, slots=True)
class Heat:
    """The steel of one pack."""

    share: Fraction
    """Its mass and heat capacity, of those of thick steels alone."""

    @property
    def warms(self) -> Fraction:
        """How many times as much the steels warm by one engagement, on average."""
        return 1 / self.share


def heat_of(case: Case, gap: GapLines) -> Heat | None:
    """Compare a pack's steels with the thickest of their families; None where it has none."""
    steels = [line for line in gap.lines if line.kind == "steel"]
    if not steels:
        return None
    thick = ZERO
    for line in steels:
        sizes = case.unit.families[line.family].sizes.values()
        thick += max((size.nominal for size in sizes), default=line.thickness)
    return Heat(sum((line.thickness for line in steels), ZERO).nm / thick.nm)


def heat_words(heat: Heat | None) -> str:
    """Tell what thin steels cost; nothing where all are thick, or nearly."""
    percent = round(heat.share * 100) if heat else 100
    if heat is None or percent >= 100:  # noqa: PLR2004 - all of it
        return ""
    warms = round(float(heat.warms), 2)
    return f"heat: {percent} % of the steel of thick ones alone; it warms {warms:.2f} times as much"


def heat_shape(heat: Heat | None) -> dict[str, Any] | None:
    """The same as plain data: the share is exact."""
    if heat is None:
        return None
    return {"share of thick": str(heat.share), "warms": round(float(heat.warms), 4)}
