"""What a unit asks for at the bench, gap by gap, and what of it a job holds: a form as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gapwright.fit.gap_words import limits_words, measure_steps
from gapwright.serve.form import MEASURED, name_of
from gapwright.serve.sketch import sketch_of
from specs.layouts import window_of
from specs.parts import selective
from specs.readings import described, expected_state

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.sheet.stack_drawing import Drawing
    from specs.lengths import Unit as LengthUnit
    from specs.stacks import Layout, Window
    from specs.unit import EndPlay, Gap, Pack, Reading, Unit

MOST_SHOWN = 12  # fields of one reading
TRIALS = {
    "none": "The trial build is made with no selective part fitted.",
    "thinnest": "The trial build is made with the thinnest parts.",
    "thickest": "The trial build is made with the thickest parts.",
    "old": "The trial build is made with the parts that were in.",
}


@dataclass(frozen=True, slots=True)
class Choice:
    """A field with a few values to choose from."""

    field: str
    label: str
    values: tuple[tuple[str, str], ...]
    """What is sent and what is read of each."""
    value: str = ""


@dataclass(frozen=True, slots=True)
class AskedReading:
    """One number to take at the bench."""

    name: str
    field: str
    what: str
    how: tuple[str, ...]
    """With which gauge, at how many places, under which conditions."""
    values: tuple[str, ...]
    """One for each place, empty where nothing was typed."""
    states: tuple[Choice, ...]
    """Conditions it may also be taken under."""
    signed: bool = False


@dataclass(frozen=True, slots=True)
class AskedPart:
    """A place of a build whose part is to be told."""

    place: str
    sizes: tuple[Choice, ...]
    measured: str
    """The field of what it measured; empty where several parts may lie there."""
    read: str = ""


@dataclass(frozen=True, slots=True)
class AskedBuild:
    """A build to list, in one layout."""

    layout: str
    """Empty where there is only one."""
    parts: tuple[AskedPart, ...]


@dataclass(frozen=True, slots=True)
class AskedGap:
    """What one pack or end play asks for."""

    name: str
    kind: str
    window: str
    sum: str
    """How the room for its stack is worked out."""
    readings: tuple[AskedReading, ...]
    trial: str
    """A sentence on the trial build where none is to be listed."""
    builds: tuple[AskedBuild, ...]
    layout: Choice | None
    """Which layout the trial build has, where there are several."""
    stays: str
    """The field that says that the trial build is the one in the unit."""
    stays_set: bool
    check: str
    note: str
    sketch: Drawing

    def field(self, key: str) -> str:
        """The name of the field that stands for one of its keys."""
        return name_of(("job", "gaps", self.name, key))


@dataclass(frozen=True, slots=True)
class Form:
    """All a unit asks for."""

    shared: tuple[AskedReading, ...]
    """Readings that several gaps share."""
    facts: tuple[Choice, ...]
    gaps: tuple[AskedGap, ...]


def form_of(unit: Unit, data: dict[str, Any], names: tuple[str, ...], length: LengthUnit) -> Form:
    """The form of some of a unit's gaps, filled with what a job's text holds already."""
    job = data.get("job") or {}
    gaps = {name: unit.gaps[name] for name in names}
    wanted = {reading for gap in gaps.values() for reading in _asked(gap)}
    own = {reading for gap in gaps.values() for reading in gap.readings}
    shared = (
        _reading(("job", "readings", name), unit.readings[name], name, job, {}, ())
        for name in unit.readings
        if name in wanted and (name not in own)
    )
    return Form(
        tuple(shared),
        tuple(_facts(unit, job, gaps)),
        tuple(_gap(unit, name, gap, job, length) for name, gap in gaps.items()),
    )


def _asked(gap: Gap) -> tuple[str, ...]:
    """The readings that the layouts of a gap ask for."""
    sums = (layout.space or gap.space for layout in gap.arrangements.values())
    return tuple(dict.fromkeys(name for one in sums for name in one.readings))


def _facts(unit: Unit, job: dict[str, Any], gaps: dict[str, Any]) -> Iterator[Choice]:
    needed = {
        fact for gap in gaps.values() for layout in gap.arrangements.values()
        for fact in layout.only_if
    }  # fmt: skip
    for name, fact in unit.facts.items():
        if name in needed:
            held = _held(job, ("facts", name))
            values = tuple((value, value) for value in fact.values)
            empty = (("", f"as usual: {fact.default}" if fact.default else "say which"),)
            yield Choice(name_of(("job", "facts", name)), name, (*empty, *values), _text(held))


def _gap(
    unit: Unit, name: str, gap: Pack | EndPlay, job: dict[str, Any], length: LengthUnit
) -> AskedGap:
    layouts = gap.arrangements
    first = next(iter(layouts.values()))
    path = ("job", "gaps", name)
    alone = [one for one in _asked(gap) if one in gap.readings or one not in unit.readings]
    trial = any((layout.space or gap.space).trial_factor for layout in layouts.values())
    words = TRIALS.get(gap.trial or "", "")
    held = _held(job, ("gaps", name, "trial"))
    choosing = trial and not words and any(_places(unit, one) for one in layouts.values())
    return AskedGap(
        name=name,
        kind="pack" if name in unit.packs else "end play",
        window=_window(window_of(gap, first), length),
        sum=" ".join((first.space or gap.space).text.split()),
        readings=tuple(_of_gap(unit, gap, name, one, job) for one in alone),
        trial=words if trial else "",
        builds=tuple(_builds((*path, "trial"), unit, gap, held)) if choosing else (),
        layout=_layout((*path, "trial", "layout"), gap, held) if choosing else None,
        stays=name_of((*path, "now")) if choosing else "",
        stays_set=_held(job, ("gaps", name, "now")) == "trial",
        check="; ".join(measure_steps(gap)),
        note=gap.note or "",
        sketch=sketch_of(unit, name, gap, length),
    )


def _of_gap(unit: Unit, gap: Gap, name: str, one: str, job: dict[str, Any]) -> AskedReading:
    asked = described(unit, gap, one)
    first = next(iter(gap.arrangements.values()))
    home = ("job", "gaps", name, *(("gap",) if one == "gap" else ("readings", one)))
    others = tuple(allowance.state for allowance in gap.allowances)
    return _reading(home, asked, one, job, expected_state(gap, first, asked), others)


def _reading(
    path: tuple[str, ...], asked: Reading | None, name: str, job: dict[str, Any],
    state: dict[str, str], others: tuple[dict[str, str], ...],
) -> AskedReading:  # fmt: skip
    held = _held(job, path[1:])
    at = held.get("at", "") if isinstance(held, dict) else held
    values = [_text(value) for value in (at if isinstance(at, list) else [at])]
    places = max(asked.places if asked else 1, len(values))
    how = [f"with {asked.gauge}"] if asked and asked.gauge else []
    how += [f"at {asked.places} places, averaged"] if asked and asked.places > 1 else []
    how += [f"{key} {value}" for key, value in state.items()]
    stated = held.get("state", {}) if isinstance(held, dict) else {}
    return AskedReading(
        name=name,
        field=name_of((*path, "at")),
        what=asked.what if asked else "the gap the trial build shows",
        how=tuple(how),
        values=tuple((values + [""] * places)[: min(places, MOST_SHOWN)]),
        states=tuple(_states(path, state, others, stated)),
        signed=bool(asked and asked.signed),
    )


def _states(
    path: tuple[str, ...], state: dict[str, str], others: tuple[dict[str, str], ...], held: Any  # noqa: ANN401 - as written
) -> Iterator[Choice]:  # fmt: skip
    for key in dict.fromkeys(key for other in others for key in other):
        usual = state.get(key, "")
        also = dict.fromkeys(other[key] for other in others if key in other)
        values = (("", f"{key} {usual}".strip()), *((one, f"{key} {one}") for one in also))
        value = _text(held.get(key)) if isinstance(held, dict) else ""
        yield Choice(name_of((*path, "state", key)), key, values, value if value in also else "")


def _builds(path: tuple[str, ...], unit: Unit, gap: Gap, held: Any) -> Iterator[AskedBuild]:  # noqa: ANN401 - as written
    """The places of a build to list; with several layouts, those of the longest."""
    several = len(gap.arrangements) > 1
    named = held.get("layout", "") if isinstance(held, dict) else ""
    parts = held.get("parts", []) if isinstance(held, dict) else held
    listed = parts if isinstance(parts, list) else []
    for name, layout in gap.arrangements.items():
        if several and name != (named or next(iter(gap.arrangements))):
            continue
        places = _places(unit, layout)
        yield AskedBuild(
            name if several else "",
            tuple(
                _part(path, unit, layout, place, listed[nth] if nth < len(listed) else "")
                for nth, place in enumerate(places)
            ),
        )


def _places(unit: Unit, layout: Layout) -> list[tuple[int, str]]:
    return list(selective(unit, layout))


def _part(
    path: tuple[str, ...], unit: Unit, layout: Layout, place: tuple[int, str], held: Any  # noqa: ANN401 - as written
) -> AskedPart:  # fmt: skip
    index, label = place
    nth = [at for at, _ in selective(unit, layout)].index(index)
    family = unit.family_of(layout.stack[index].part)
    _, most = layout.stack[index].how_many
    several = layout.stack[index].how_many != (1, 1)
    given = [_text(one) for one in (held if isinstance(held, list) else [held])]
    empty = ("none", "none here") if several else ("", "not told")
    sizes = (empty, *((size, size) for size in family.sizes))
    field = name_of((*path, "parts", str(nth)))
    known = [_split(one, family.sizes) for one in (given + [""] * most)[:most]]
    choices = tuple(
        Choice(field, label, _with(sizes, size), size or ("none" if several else ""))
        for size, _ in known
    )
    measured = "" if several else name_of((*path, MEASURED, str(nth)))
    return AskedPart(label, choices, measured, known[0][1] if known else "")


def _with(sizes: tuple[tuple[str, str], ...], size: str) -> tuple[tuple[str, str], ...]:
    """The sizes, with what a file has in their place where it is none of them."""
    return sizes if not size or size in dict(sizes) else (*sizes, (size, size))


def _split(text: str, sizes: Any) -> tuple[str, str]:  # noqa: ANN401 - a mapping of sizes
    """A part as a file lists it: its size, and what it measured."""
    named = max((size for size in sizes if text == size or text.startswith(f"{size} ")),
                key=len, default="")  # fmt: skip
    return (named, text.removeprefix(named).strip()) if named else (text, "")


def _layout(path: tuple[str, ...], gap: Gap, held: Any) -> Choice | None:  # noqa: ANN401 - as written
    if len(gap.arrangements) < 2:  # noqa: PLR2004 - several
        return None
    value = _text(held.get("layout")) if isinstance(held, dict) else ""
    names = tuple((name, name) for name in gap.arrangements)
    return Choice(name_of(path), "layout of the trial build", names, value or names[0][0])


def _window(window: Window, unit: LengthUnit) -> str:
    words = limits_words(window.gap.low, window.gap.high, unit)
    return words if words.startswith("at ") else f"{words} {unit}"


def _held(job: dict[str, Any], path: tuple[str, ...]) -> Any:  # noqa: ANN401 - as written
    node: Any = job
    for step in path:
        node = node.get(step, "") if isinstance(node, dict) else ""
    return node


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""
