"""The single mistakes that would explain a space no size can serve.

Each is told with how far it would move the space, and with the reading that would then have been
meant. None is ever corrected silently: a person looks, and reads again.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.parts.lookup import ListedBuild
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.stacks import Place
    from specs.values.formula import Formula

INCH = Fraction(254, 10)  # millimetres


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake: what it is, how far the true space lies from the one worked out."""

    words: str
    shift: Length
    reading: str
    """The reading it is told by."""
    meant: Length
    """What that reading would then have been."""


def suspected_mistakes(gap: JobGap, layout_name: str) -> Iterator[Mistake]:
    """Every single mistake that could be made with a gap's readings, in one of its layouts."""
    layout = gap.written.arrangements[layout_name]
    formula = layout.space
    found = [
        *_other_unit(gap, formula),
        *_subtracted(gap, formula),
        *(_trial(gap, layout) if formula.trial_factor else ()),
        *(() if formula.trial_factor else _other_family(gap.case, layout)),
    ]
    told = next((name for name in formula.readings if formula.factor(name)), None)
    for words, shift, reading in found:
        name = reading or told
        if name is not None and shift:
            meant = _average(gap, name) + shift / formula.factor(name)
            yield Mistake(words, shift, name, meant)


Found = tuple[str, Length, str | None]


def _average(gap: JobGap, name: str) -> Length:
    reading = gap.reading(name)
    return reading.average if reading else ZERO


def _other_unit(gap: JobGap, formula: Formula) -> Iterator[Found]:
    """A number read in one unit and written down in the other."""
    metric = gap.case.length == "mm"
    for name in formula.readings:
        value = _average(gap, name)
        meant = value * INCH if metric else value / INCH
        words = f"`{name}` read in {'inches' if metric else 'millimetres'}"
        yield words, (meant - value) * formula.factor(name), name


def _subtracted(gap: JobGap, formula: Formula) -> Iterator[Found]:
    """A straightedge, a gauge block or another length taken off before, or left out."""
    for name in formula.readings:
        factor = formula.factor(name)
        if factor < 0:
            twice = _average(gap, name) * -factor
            yield f"`{name}` subtracted twice: it was taken off before", twice, None
    for term in formula.terms:
        if term.length is not None and term.factor < 0:
            yield "the fixed length subtracted twice", term.length * -term.factor, None


def _trial(gap: JobGap, layout: Arrangement) -> Iterator[Found]:
    """A part more or less in the trial build, another size, or the ring on the wrong face."""
    case, formula, parts = gap.case, layout.space, gap.trial
    listed = gap.build(parts) if parts else None
    seen = set()
    for place, label in zip(layout.stack, layout.labels, strict=True):
        for words, thickness in lying(case, place, label, listed):
            height = thickness * place.factor * formula.trial_factor
            if (words, height) not in seen:
                seen.add((words, height))
                yield f"one {words} more in the trial build than listed", height, None
                yield f"one {words} fewer in the trial build than listed", -height, None
                yield from _inner_face(place, words, thickness)
    if listed:
        yield from _other_size(case, layout, listed, formula)
    if gap.trial_stack(layout):
        yield "the trial build left out of the sum", gap.trial_stack(layout), None


def lying(
    case: Case, place: Place, label: str, listed: ListedBuild | None
) -> Iterator[tuple[str, Length]]:
    """The parts at a place of a listed build, in words, with their thickness."""
    fixed = case.fixed_thickness(place.part)
    if fixed is not None:
        yield place.part, fixed
    for part in listed.parts.get(label, ()) if listed else ():
        yield f"{part.family} {part.size}", part.thickness


def _inner_face(place: Place, words: str, thickness: Length) -> Iterator[Found]:
    """A ring that rested on the inner face of its groove: the true gap is larger."""
    widest = place.groove.takes.high if place.groove else None
    if widest is not None:
        yield f"the {words} on the inner face of its groove", widest - thickness, None


def _other_size(
    case: Case, layout: Arrangement, listed: ListedBuild, formula: Formula
) -> Iterator[Found]:
    """A part of another size than the one listed."""
    for place, label in zip(layout.stack, layout.labels, strict=True):
        for part in listed.parts.get(label, ()):
            for size, spec in case.unit.families[part.family].sizes.items():
                more = (spec.nominal - part.thickness) * place.factor * formula.trial_factor
                yield f"{part.family} {size} in the trial build, not {part.size}", more, None


def _other_family(case: Case, layout: Arrangement) -> Iterator[Found]:
    return ((words, opened, None) for words, opened in other_families(case, layout))


def other_families(case: Case, layout: Arrangement) -> Iterator[tuple[str, Length]]:
    """Plates of a look-alike family, and how much room they leave that the right ones fill."""
    counts: dict[str, Fraction] = {}
    for place in layout.stack:
        if case.unit.family_of(place.part).fixed is not None:
            counts[place.part] = counts.get(place.part, Fraction(0)) + place.factor
    for name, factor in counts.items():
        mine = case.fixed_thickness(name) or ZERO
        for other, family in case.unit.families.items():
            if other != name and family.kind == case.unit.families[name].kind and family.fixed:
                words = f"{other} parts in the place of {name}"
                yield words, (mine - family.fixed) * factor
