"""Suspected mistakes that would explain a space no size can fill.

Each mistake is given with the length it moves the space by, and with the reading that would then
have been meant. gapwright corrects none of them: a person looks, and reads again.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.parts.lookup import ListedBuild
from specs.values.lengths import ZERO, Length, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.stacks import Place
    from specs.values.formula import Formula

INCH = Fraction(254, 10)  # millimetres
LINING_WITHIN = Fraction(1, 10)
"""By how much of its thickness a lining may be off, worn or of another make (a choice)."""
COUNTED = {"ring": "rings", "washer": "washers", "shim": "shims", "spacer": "spacers"}
"""What to count of the kinds that are no plates."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One suspected mistake."""

    words: str
    """The mistake as it is printed."""
    shift: Length
    """The true space less the space computed."""
    reading: str
    """The reading whose figure is given in `meant`."""
    meant: Length
    """The figure that reading would have without the mistake."""
    look: str
    """What to do at the bench to find it out, such as: count the plates."""


def suspected_mistakes(gap: JobGap, layout_name: str) -> Iterator[Mistake]:
    """Yield every single mistake that may have been made with the readings of a gap.

    Parameters
    ----------
    gap
        The gap of the job.
    layout_name
        The layout whose space was computed.

    Yields
    ------
    Mistake
        Readings in the other unit, lengths subtracted twice, parts more, fewer or other than
        listed in the trial build, a trial build left out, plates of a look-alike family.
    """
    layout = gap.written.arrangements[layout_name]
    formula = layout.space
    found = [
        *_other_unit(gap, formula),
        *_subtracted(gap, formula),
        *(_trial(gap, layout) if formula.trial_factor else ()),
        *(() if formula.trial_factor else _other_family(gap.case, layout)),
    ]
    first = next((name for name in formula.readings if formula.factor(name)), None)
    for words, shift, reading, look in found:
        name = reading or first
        if name is not None and shift:
            meant = _average(gap, name) + shift / formula.factor(name)
            yield Mistake(words, shift, name, meant, look)


def lining_mistake(gap: JobGap, layout_name: str, shift: Length) -> Mistake | None:
    """Explain a shift of the space by linings that are not as thick as their file says.

    Parameters
    ----------
    gap
        The gap of the job.
    layout_name
        The layout whose space was computed.
    shift
        The true space less the space computed.

    Returns
    -------
    Mistake or None
        The mistake; None where no lining of the trial build was counted by its file's thickness,
        or where each would be off by more than `LINING_WITHIN` of that.
    """
    formula, case = gap.written.arrangements[layout_name].space, gap.case
    name = next((name for name in formula.readings if formula.factor(name)), None)
    tried = gap.written.arrangements[gap.build(gap.trial).layout] if gap.trial else None
    lined = [
        place
        for place in (tried.stack if tried else ())
        if case.unit.family_of(place.part).kind == "friction"
    ]
    factor = sum((place.factor for place in lined), Fraction(0)) * formula.trial_factor
    measured = {place.part for place in lined if place.part in case.job.parts}
    if name is None or not factor or measured or (gap.trial and gap.trial.linings is not None):
        return None
    each = shift / factor
    fixed = [case.unit.family_of(place.part).fixed for place in lined]
    if any(one is None or abs(each) > one * LINING_WITHIN for one in fixed):
        return None
    side = "thicker" if each > ZERO else "thinner"
    words = f"each lining {show(abs(each), case.length)} {side} than its file says"
    meant = _average(gap, name) + shift / formula.factor(name)
    return Mistake(words, shift, name, meant, "measure one lining")


Found = tuple[str, Length, str | None, str]
"""A mistake in words, its shift, the reading mistaken (None where it is none in particular), and
what to do to find it out."""


def _average(gap: JobGap, name: str) -> Length:
    reading = gap.reading(name)
    return reading.average if reading else ZERO


def _other_unit(gap: JobGap, formula: Formula) -> Iterator[Found]:
    """Yield readings in one unit that were written down in the other."""
    metric = gap.case.length == "mm"
    for name in formula.readings:
        value = _average(gap, name)
        meant = value * INCH if metric else value / INCH
        words = f"`{name}` read in {'inches' if metric else 'millimetres'}"
        look = "see whether the gauge shows inches or millimetres"
        yield words, (meant - value) * formula.factor(name), name, look


def _subtracted(gap: JobGap, formula: Formula) -> Iterator[Found]:
    """Yield a straightedge, a gauge block or another length that was already taken off."""
    for name in formula.readings:
        factor = formula.factor(name)
        if factor < 0:
            twice = _average(gap, name) * -factor
            look = f"see whether `{name}` was taken off before"
            yield f"`{name}` subtracted twice: it was taken off before", twice, None, look
    for term in formula.terms:
        if term.length is not None and term.factor < 0:
            twice, look = term.length * -term.factor, "see whether the fixed length was taken off"
            yield "the fixed length subtracted twice", twice, None, look


def _trial(gap: JobGap, layout: Arrangement) -> Iterator[Found]:
    """Yield a part more or fewer in the trial build, another size, a ring on the wrong face."""
    case, formula, parts = gap.case, layout.space, gap.trial
    listed = gap.build(parts) if parts else None
    seen = set()
    for place, label in zip(layout.stack, layout.labels, strict=True):
        for words, thickness in lying(case, place, label, listed):
            height = thickness * place.factor * formula.trial_factor
            if (words, height) not in seen:
                seen.add((words, height))
                counted = COUNTED.get(case.unit.family_of(place.part).kind, "plates")
                look = f"count the {counted} of the trial build"
                yield f"one {words} more in the trial build than listed", height, None, look
                yield f"one {words} fewer in the trial build than listed", -height, None, look
                yield from _inner_face(place, words, thickness)
    if listed:
        yield from _other_size(case, layout, listed, formula)
    if gap.trial_stack(layout):
        look = "see that the reading is of the trial build"
        yield "the trial build left out of the sum", gap.trial_stack(layout), None, look


def lying(
    case: Case, place: Place, label: str, listed: ListedBuild | None
) -> Iterator[tuple[str, Length]]:
    """Yield the parts at a place of a build, in words, each with its thickness.

    Parameters
    ----------
    case
        The case.
    place, label
        The place of the stack, and its label in the layout.
    listed
        The build; None where no build is listed, so that only a fixed part is known.
    """
    fixed = case.fixed_thickness(place.part)
    if fixed is not None:
        yield place.part, fixed
    for part in listed.parts.get(label, ()) if listed else ():
        yield f"{part.family} {part.size}", part.thickness


def _inner_face(place: Place, words: str, thickness: Length) -> Iterator[Found]:
    """Yield a ring that rested on the inner face of its groove: the true gap is larger."""
    widest = place.groove.takes.high if place.groove else None
    if widest is not None:
        look = "see which face of its groove the ring is on"
        yield f"the {words} on the inner face of its groove", widest - thickness, None, look


def _other_size(
    case: Case, layout: Arrangement, listed: ListedBuild, formula: Formula
) -> Iterator[Found]:
    """Yield a part of another size than listed."""
    for place, label in zip(layout.stack, layout.labels, strict=True):
        for part in listed.parts.get(label, ()):
            for size, spec in case.unit.families[part.family].sizes.items():
                more = (spec.nominal - part.thickness) * place.factor * formula.trial_factor
                words = f"{part.family} {size} in the trial build, not {part.size}"
                yield words, more, None, f"measure the {part.family} of the trial build"


def _other_family(case: Case, layout: Arrangement) -> Iterator[Found]:
    for words, opened in other_families(case, layout):
        yield words, opened, None, "measure one plate of each kind"


def other_families(case: Case, layout: Arrangement) -> Iterator[tuple[str, Length]]:
    """Yield the plates of a look-alike family, with the room that they leave open.

    Parameters
    ----------
    case
        The case.
    layout
        The layout whose fixed parts may have been mistaken for another fixed family of their kind.

    Yields
    ------
    tuple of (str, Length)
        The mistake in words, and how much less room than the right plates the others take.
    """
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
