"""The heat that thin steels cost: the steels of a pack against thick ones in their places.

The steels of a pack have the same faces and the same material, so their mass and heat capacity are
proportional to their thickness. An engagement brings the same energy whatever the steels weigh.
While it lasts, next to none is carried away (adiabatic), and each rubbing face takes the same
share. All of it goes into the steel, because a lining conducts next to nothing:

    rise of a steel = energy / faces of the pack * its faces / (heat capacity * its mass)

(Shigley's Mechanical Engineering Design, chapter 16: the rise is E / (C m).) The figure compares
builds. It predicts no temperature, and it does not know of an end that runs hotter.
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

    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from specs.models.case import Case
    from specs.models.heating import Heating
    from specs.values.lengths import Length


@dataclass(frozen=True, slots=True)
class HeatedSteel:
    """One steel of a pack with its heat: heated faces, rise, and the thick steel beside it."""

    step: AssemblyStep
    heated: tuple[bool, bool]
    """Whether a lining runs on its lower and its upper face, as it lies on the bench."""
    thick: Length
    """The thickest its family is made in."""
    rise: Fraction | None
    """By how many kelvin one engagement warms it; None where the unit file says no energy."""

    @property
    def faces(self) -> int:
        """The number of its heated faces, 0 to 2."""
        return sum(self.heated)

    @property
    def beside_thick(self) -> Fraction:
        """Its rise as a multiple of the rise of a thick steel in its place."""
        return self.thick.nm / self.step.thickness.nm

    @property
    def warmth(self) -> Fraction:
        """The quantity its rise is proportional to: heated faces per nanometre of thickness."""
        return self.faces / self.step.thickness.nm

    @property
    def thick_rise(self) -> Fraction | None:
        """The rise in kelvin of a thick steel in its place; None without an energy."""
        return None if self.rise is None else self.rise / self.beside_thick

    @property
    def costs(self) -> bool:
        """Whether a thick steel in its place would stay cooler."""
        return bool(self.faces) and self.step.thickness < self.thick


@dataclass(frozen=True, slots=True)
class Engagement:
    """One engagement, and the mass and heat capacity of the steels that take its energy."""

    joules: Fraction
    kilograms: Fraction
    joules_per_kelvin: Fraction


@dataclass(frozen=True, slots=True)
class Heat:
    """The heat of the steels of one pack."""

    steels: tuple[HeatedSteel, ...]
    """From the first that goes in."""
    share: Fraction
    """Their mass and heat capacity, of those of thick steels alone."""
    engagement: Engagement | None
    heat_end: str
    heat_end_last: bool
    """Whether that end of the pack is the one that goes in last."""

    @property
    def warms(self) -> Fraction:
        """The average rise of the steels as a multiple of that of thick ones."""
        return 1 / self.share

    @property
    def hottest(self) -> tuple[HeatedSteel, ...]:
        """The steels with the greatest rise, all that share it."""
        most = max(steel.warmth for steel in self.steels)
        return tuple(steel for steel in self.steels if steel.warmth == most)

    @property
    def at_heat_end(self) -> bool:
        """Whether a hottest steel lies in the half of the pack at its heat end."""
        return self._at_heat_end(self.hottest)

    @property
    def thick_at_heat_end(self) -> bool:
        """Whether with thick steels alone a hottest would lie there.

        Where not, the pack's faces tell of another end than the unit file. Thin steels tell
        nothing of it: they lie at the cool end because of that file.
        """
        most = max(steel.faces / steel.thick.nm for steel in self.steels)
        hottest = (steel for steel in self.steels if steel.faces / steel.thick.nm == most)
        return self._at_heat_end(tuple(hottest))

    def _at_heat_end(self, hottest: tuple[HeatedSteel, ...]) -> bool:
        ordered = self.steels[::-1] if self.heat_end_last else self.steels
        half = (len(ordered) + 1) // 2
        return any(steel in hottest for steel in ordered[:half])


def heat_of(case: Case, gap: GapAssembly) -> Heat | None:
    """Compare a pack's steels with the thickest of their families; None without a steel."""
    written = case.unit.gaps[gap.name]
    steps = [step for step in gap.steps if step.kind == "steel"]
    if not steps or not isinstance(written, Pack):
        return None
    layout = written.arrangements[written.layout_meant(gap.layout)]
    heated = heated_faces(case.unit, written, layout)
    upside_down = gap.first_end != written.ends[0]
    at = {
        label: faces[::-1] if upside_down else faces
        for label, faces in zip(layout.labels, heated, strict=True)
    }
    each = _per_warmth(case, written.heat, sum(map(sum, heated)))
    steels = tuple(_warmed(case, step, at[step.label], each) for step in steps)
    whole = sum((step.thickness for step in steps), ZERO)
    thick = sum((steel.thick for steel in steels), ZERO)
    return Heat(
        steels,
        whole.nm / thick.nm,
        _engagement(case, written.heat, whole),
        gap.heat_end,
        heat_end_last=gap.heat_end == gap.last_end,
    )


def _warmed(
    case: Case, step: AssemblyStep, heated: tuple[bool, bool], each: Fraction | None
) -> HeatedSteel:
    sizes = case.unit.families[step.family].sizes.values()
    thick = max((size.nominal for size in sizes), default=step.thickness)
    rise = None if each is None else each * sum(heated) / step.thickness.nm
    return HeatedSteel(step, heated, thick, rise)


def _per_warmth(case: Case, heating: Heating | None, faces: int) -> Fraction | None:
    """Return the rise in kelvin of a steel one nanometre thick, heated on one of `faces` faces."""
    if heating is None or not faces:
        return None
    capacity = heating.heat_capacity * heating.mass_per_length(case.unit.families)
    return heating.joules / faces / (capacity / METRE)


def _engagement(case: Case, heating: Heating | None, whole: Length) -> Engagement | None:
    if heating is None:
        return None
    kilograms = heating.mass_per_length(case.unit.families) * whole.nm / METRE
    return Engagement(heating.joules, kilograms, kilograms * heating.heat_capacity)
