"""What thin steels cost in heat: the steels of a pack against thick ones in their places.

The steels of a pack have the same faces and the same material, so that their mass and their heat
capacity go as their thickness. An engagement brings the same energy whatever the steels weigh;
while it lasts next to none is carried away (adiabatic) and every rubbing face takes as much as
any other, all of which goes into the smooth part, for a lining conducts next to nothing:

    rise of a steel = energy / faces of the pack * its faces / (heat capacity * its mass)

(Shigley's Mechanical Engineering Design, chapter 16: the rise is E / (C m).) It compares builds;
it predicts no temperature, and it knows of no end that runs hotter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.gaps.faces import heated_faces
from specs.models.gaps import Pack
from specs.models.heating import METRE
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from fractions import Fraction

    from gapwright.fit.assembly import GapAssembly, Line
    from specs.models.case import Case
    from specs.models.heating import Heating
    from specs.values.lengths import Length


@dataclass(frozen=True, slots=True)
class Warmed:
    """One steel of a pack."""

    line: Line
    heated: tuple[bool, bool]
    """Whether a lining runs on its lower and its upper face, as it lies on the bench."""
    thick: Length
    """The thickest its family is made in."""
    rise: Fraction | None
    """By how many kelvin one engagement warms it; None where the unit file says no energy."""

    @property
    def faces(self) -> int:
        """How many of its faces are heated."""
        return sum(self.heated)

    @property
    def beside_thick(self) -> Fraction:
        """How many times as much it warms as a thick one in its place."""
        return self.thick.nm / self.line.thickness.nm

    @property
    def warmth(self) -> Fraction:
        """What its rise goes as: heated faces on what is there to be heated."""
        return self.faces / self.line.thickness.nm

    @property
    def thick_rise(self) -> Fraction | None:
        """By how many kelvin a thick one in its place would warm."""
        return None if self.rise is None else self.rise / self.beside_thick

    @property
    def costs(self) -> bool:
        """Whether a thick one in its place would stay cooler."""
        return bool(self.faces) and self.line.thickness < self.thick


@dataclass(frozen=True, slots=True)
class Engagement:
    """One engagement, and what the steels have to take it."""

    joules: Fraction
    kilograms: Fraction
    joules_per_kelvin: Fraction


@dataclass(frozen=True, slots=True)
class Heat:
    """The steels of one pack."""

    steels: tuple[Warmed, ...]
    """From the first that goes in."""
    share: Fraction
    """Their mass and heat capacity, of those of thick steels alone."""
    engagement: Engagement | None
    heat_end: str
    heat_end_last: bool
    """Whether that end of the pack is the one that goes in last."""

    @property
    def warms(self) -> Fraction:
        """How many times as much the steels warm by one engagement, on average."""
        return 1 / self.share

    @property
    def hottest(self) -> tuple[Warmed, ...]:
        """The steels that warm most, alike."""
        most = max(steel.warmth for steel in self.steels)
        return tuple(steel for steel in self.steels if steel.warmth == most)

    @property
    def at_heat_end(self) -> bool:
        """Whether a hottest steel lies in the half of the pack at its heat end."""
        ordered = self.steels[::-1] if self.heat_end_last else self.steels
        half = (len(ordered) + 1) // 2
        return any(steel in self.hottest for steel in ordered[:half])


def heat_of(case: Case, gap: GapAssembly) -> Heat | None:
    """Compare a pack's steels with the thickest of their families; None where it has none."""
    written = case.unit.gaps[gap.name]
    lines = [line for line in gap.lines if line.kind == "steel"]
    if not lines or not isinstance(written, Pack):
        return None
    layout = written.arrangements[written.layout_meant(gap.layout)]
    heated = heated_faces(case.unit, written, layout)
    upside_down = gap.first_end != written.ends[0]
    at = {
        label: faces[::-1] if upside_down else faces
        for label, faces in zip(layout.labels, heated, strict=True)
    }
    each = _per_warmth(case, written.heat, sum(map(sum, heated)))
    steels = tuple(_warmed(case, line, at[line.label], each) for line in lines)
    whole = sum((line.thickness for line in lines), ZERO)
    thick = sum((steel.thick for steel in steels), ZERO)
    return Heat(
        steels,
        whole.nm / thick.nm,
        _engagement(case, written.heat, whole),
        gap.heat_end,
        heat_end_last=gap.heat_end == gap.last_end,
    )


def _warmed(case: Case, line: Line, heated: tuple[bool, bool], each: Fraction | None) -> Warmed:
    sizes = case.unit.families[line.family].sizes.values()
    thick = max((size.nominal for size in sizes), default=line.thickness)
    rise = None if each is None else each * sum(heated) / line.thickness.nm
    return Warmed(line, heated, thick, rise)


def _per_warmth(case: Case, heating: Heating | None, faces: int) -> Fraction | None:
    """By how many kelvin a steel of one nanometre would warm on one face, of so many in all."""
    if heating is None or not faces:
        return None
    capacity = heating.heat_capacity * heating.mass_per_length(case.unit.families)
    return heating.joules / faces / (capacity / METRE)


def _engagement(case: Case, heating: Heating | None, whole: Length) -> Engagement | None:
    if heating is None:
        return None
    kilograms = heating.mass_per_length(case.unit.families) * whole.nm / METRE
    return Engagement(heating.joules, kilograms, kilograms * heating.heat_capacity)
