"""Makes the form of a job: what its unit asks for, gap by gap, filled with what the job has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, get_args

from gapwright.drawing.trial_stack import sketch_of
from gapwright.fit.gap_text import limits_words, measure_steps
from gapwright.web.forms.build import BuildFields, build_fields
from gapwright.web.forms.choice import Choice, choice_of, held_at, text_of
from gapwright.web.forms.fields import name_of
from gapwright.web.forms.reading import ReadingFields, reading_of, with_proud
from specs.gaps.job_gap import described, expected_state
from specs.models.gauges import usual_gauges
from specs.models.job import TrialParts
from specs.parts.lookup import selective
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.drawing.stack import ScaledDrawing
    from specs.models.unit import EndPlay, Gap, Pack, Unit
    from specs.values.lengths import LengthUnit

TRIALS = {
    "none": "The trial build is made with no selective part fitted.",
    "thinnest": "The trial build is made with the thinnest parts.",
    "thickest": "The trial build is made with the thickest parts.",
    "old": "The trial build is made with the parts that were in.",
}
TRIAL_PARTS, READ_WITH = "trial parts", "parts read with"
"""The keys of whose parts trial builds are made of, and of the gauge parts were read with."""


@dataclass(frozen=True, slots=True)
class GapFields:
    """The fields of one pack or end play."""

    name: str
    kind: str
    window: str
    sum: str
    """The formula of the room for its stack."""
    readings: tuple[ReadingFields, ...]
    trial: str
    """A sentence on the trial build, where none is to be listed."""
    build: BuildFields | None
    """The trial build, where it is to be listed."""
    stays: str
    """The field that says that the trial build is the one in the unit."""
    stays_set: bool
    whose: Choice | None
    """The choice of whose parts the trial build is made of, where it is to be listed."""
    settled: tuple[Choice, ...]
    """The choices that may be settled beforehand: the layout, and the part at each place."""
    check: str
    note: str
    sketch: ScaledDrawing

    def field(self, key: str) -> str:
        """Return the name of the field for one of its keys."""
        return name_of(("job", "gaps", self.name, key))


@dataclass(frozen=True, slots=True)
class FixedPartField:
    """A fixed part whose measurement may differ from the unit's file."""

    family: str
    nominal: str
    field: str
    value: str


@dataclass(frozen=True, slots=True)
class Form:
    """All fields of a unit."""

    shared: tuple[ReadingFields, ...]
    """Readings that several gaps share."""
    facts: tuple[Choice, ...]
    gaps: tuple[GapFields, ...]
    fixed: tuple[FixedPartField, ...]
    of_parts: tuple[Choice, ...]
    """What holds for the parts of all of them: the gauge they were read with, and whose those of
    trial builds are."""

    @property
    def fields(self) -> set[str]:
        """The names of all its fields."""
        choices = (*self.facts, *self.of_parts)
        names = {choice.field for choice in choices} | {part.field for part in self.fixed}
        for reading in (*self.shared, *(one for gap in self.gaps for one in gap.readings)):
            names |= reading.fields
        for gap in self.gaps:
            names |= {gap.stays, *(choice.field for choice in gap.settled)}
            names |= {gap.whose.field} if gap.whose else set()
            names |= gap.build.fields if gap.build else set()
        return names


def form_of(unit: Unit, data: dict[str, Any], names: tuple[str, ...], length: LengthUnit) -> Form:
    """Make the form of some of a unit's gaps, filled with what the job has already.

    Parameters
    ----------
    unit
        The unit.
    data
        The job's file as written.
    names
        The gaps to show.
    length
        The unit of length to show windows and parts in.
    """
    job = data.get("job") or {}
    gaps = {name: unit.gaps[name] for name in names}
    wanted = {reading for gap in gaps.values() for reading in _asked(gap)}
    own = {reading for gap in gaps.values() for reading in gap.readings}
    shared = (
        reading_of(("job", "readings", name), unit.readings[name], name, job, {}, ())
        for name in unit.readings
        if name in wanted and (name not in own)
    )
    asked = tuple(_gap(unit, name, gap, job, length) for name, gap in gaps.items())
    return Form(
        tuple(shared),
        tuple(_facts(unit, job, gaps)),
        asked,
        tuple(_fixed_parts(unit, gaps.values(), job, length)),
        tuple(_of_parts(unit, job, tried=any(gap.build for gap in asked))),
    )


def _of_parts(unit: Unit, job: dict[str, Any], *, tried: bool) -> Iterator[Choice]:
    """Yield the choice of the gauge parts were read with, and of whose the tried ones are."""
    described = held_at(job, ("gauges",))
    mine = described if isinstance(described, dict) else {}
    gauges = dict.fromkeys((*usual_gauges(), *unit.gauges, *mine))
    held = text_of(held_at(job, (READ_WITH,)))
    usual = [("", f"as usual: {unit.parts_read_with or 'caliper'}")]
    yield choice_of(("job", READ_WITH), "parts were measured with", usual, gauges, held)
    whole = text_of(held_at(job, (TRIAL_PARTS,)))
    if tried or whole:
        first = [("", "what is in now of this unit, the others from the shelf")]
        yield _whose(("job", TRIAL_PARTS), "trial builds are of parts", first, whole)


def _whose(path: tuple[str, ...], label: str, first: list[tuple[str, str]], held: str) -> Choice:
    """Return the choice of whose parts trial builds are made of."""
    return choice_of(path, label, first, get_args(TrialParts), held)


def _asked(gap: Gap) -> tuple[str, ...]:
    """Return the readings that the layouts of a gap ask for."""
    sums = (layout.space for layout in gap.arrangements.values())
    return tuple(dict.fromkeys(name for one in sums for name in one.readings))


def _facts(unit: Unit, job: dict[str, Any], gaps: dict[str, Any]) -> Iterator[Choice]:
    needed = {
        fact for gap in gaps.values() for layout in gap.arrangements.values()
        for fact in layout.only_if
    }  # fmt: skip
    for name, fact in unit.facts.items():
        if name in needed:
            held = held_at(job, ("facts", name))
            values = tuple((value, value) for value in fact.values)
            empty = (("", f"as usual: {fact.default}" if fact.default else "say which"),)
            yield Choice(name_of(("job", "facts", name)), name, (*empty, *values), text_of(held))


def _gap(
    unit: Unit, name: str, gap: Pack | EndPlay, job: dict[str, Any], length: LengthUnit
) -> GapFields:
    layouts = gap.arrangements
    first = next(iter(layouts.values()))
    window = first.window
    path = ("job", "gaps", name)
    alone = [one for one in _asked(gap) if one in gap.readings or one not in unit.readings]
    trial = any(layout.space.trial_factor for layout in layouts.values())
    words = TRIALS.get(gap.trial or "", "")
    held = held_at(job, ("gaps", name, "trial"))
    asks = trial and not words
    build = build_fields((*path, "trial"), unit, gap, held) if asks else None
    return GapFields(
        name=name,
        kind="pack" if name in unit.packs else "end play",
        window=f"{limits_words(first.lowest, window.gap.high, window.target, length)} {length}",
        sum=" ".join(first.space.text.split()),
        readings=tuple(_of_gap(unit, gap, name, one, job) for one in alone),
        trial=words if trial else "",
        build=build,
        stays=name_of((*path, "now")) if build else "",
        stays_set=held_at(job, ("gaps", name, "now")) == "trial",
        whose=_whose(
            (*path, TRIAL_PARTS),
            "its parts are",
            [("", "as said for the whole job")],
            text_of(held_at(job, ("gaps", name, TRIAL_PARTS))),
        )
        if build
        else None,
        settled=tuple(
            filter(None, (_only_layout(name, gap, job), *_kept_parts(unit, name, gap, job)))
        ),
        check="; ".join(measure_steps(gap.measure)),
        note=gap.note or "",
        sketch=sketch_of(unit, name, gap, length),
    )


def _of_gap(unit: Unit, gap: Gap, name: str, one: str, job: dict[str, Any]) -> ReadingFields:
    asked = described(unit, gap, one)
    first = next(iter(gap.arrangements.values()))
    home = ("job", "gaps", name, *(("gap",) if one == "gap" else ("readings", one)))
    others = tuple(allowance.state for allowance in gap.allowances)
    reading = reading_of(home, asked, one, job, expected_state(first, asked), others)
    proud = name in unit.packs and one == "gap" and bool(first.space.trial_factor)
    return with_proud(reading, home, job) if proud else reading


def _only_layout(name: str, gap: Gap, job: dict[str, Any]) -> Choice | None:
    """Return the choice of a gap's only layout; None where it has one layout."""
    if not gap.layouts or len(gap.layouts) == 1:
        return None
    path = ("gaps", name, "layout")
    held = text_of(held_at(job, path))
    return choice_of(("job", *path), "layout", [("", "whichever is best")], gap.layouts, held)


def _kept_parts(unit: Unit, name: str, gap: Gap, job: dict[str, Any]) -> Iterator[Choice]:
    """Yield for each place of a gap a choice of the part to keep there."""
    seen = set()
    for layout in gap.arrangements.values():
        for index, label in selective(unit, layout):
            if label in seen or layout.stack[index].how_many != (1, 1):
                continue
            seen.add(label)
            path = ("gaps", name, "keep", label)
            first = [("", "free to choose"), ("now", "the one that is in")]
            sizes = unit.family_of(layout.stack[index].part).sizes
            yield choice_of(("job", *path), label, first, sizes, text_of(held_at(job, path)))


def _fixed_parts(
    unit: Unit, gaps: Iterable[Gap], job: dict[str, Any], length: LengthUnit
) -> Iterator[FixedPartField]:
    """Yield the fixed parts of some gaps, each family once."""
    layouts = [layout for gap in gaps for layout in gap.arrangements.values()]
    names = dict.fromkeys(
        unit.family_name(place.part) for layout in layouts for place in layout.stack
    )
    for name in names:
        nominal = unit.families[name].fixed
        if nominal is not None:
            value = text_of(held_at(job, ("parts", name)))
            yield FixedPartField(
                name, show(nominal, length), name_of(("job", "parts", name)), value
            )
