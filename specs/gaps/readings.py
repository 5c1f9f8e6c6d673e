"""From readings to a space: what there is to fill, worked out as the unit file says.

    space = sum of factor * reading + fixed lengths + trial factor * trial stack + allowances

Readings taken at several places are averaged exactly; each place is kept, for a single place
may lie outside a window that the average is inside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.models.gauges import Gauge
from specs.models.layouts import allowed_layouts
from specs.parts.lookup import Listed, build_of, selective, trial_parts
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case
    from specs.models.gaps import Allowance, Arrangement
    from specs.models.job import Taken
    from specs.models.unit import Gap, Reading, Unit

TRIAL_BUILD = "trial build"
TELLS_IN = Length(25_400)  # 0.001 in, and
TELLS_MM = Length(20_000)  # 0.02 mm: what a gauge tells where the unit file does not say


@dataclass(frozen=True, slots=True)
class AtPlace:
    """The space one place of one reading alone would give, the others as averaged."""

    reading: str
    place: int
    value: Length
    space: Length


@dataclass(frozen=True, slots=True)
class Space:
    """What there is to fill in one layout of a gap."""

    length: Length
    places: tuple[AtPlace, ...]
    allowed: tuple[tuple[str, Length], ...]
    tells: Length


def missing(case: Case, gap_name: str) -> tuple[str, ...]:
    """Name what a gap still waits for: readings, or the build its trial stack was made of."""
    layouts = allowed_layouts(case, gap_name).values()
    lacking = [name for layout in layouts for name in missing_in(case, gap_name, layout)]
    return tuple(sorted(dict.fromkeys(lacking), key=lambda name: name == TRIAL_BUILD))


def missing_in(case: Case, gap_name: str, layout: Arrangement) -> Iterator[str]:
    """Name what one layout of a gap still waits for."""
    gap = case.unit.gaps[gap_name]
    formula = layout.space
    yield from (name for name in formula.readings if taken(case, gap_name, name) is None)
    tried = trial_parts(gap, case.job.gaps.get(gap_name))
    if formula.trial_factor and not settled(case, gap) and not tried:
        yield TRIAL_BUILD


def fewer_places(case: Case, gap_name: str) -> Iterator[tuple[str, int, int]]:
    """Name the readings taken at fewer places than asked for, with how many of each."""
    gap = case.unit.gaps[gap_name]
    for layout in allowed_layouts(case, gap_name).values():
        for name in layout.space.readings:
            asked, reading = described(case.unit, gap, name), taken(case, gap_name, name)
            if asked and reading and len(reading.at) < asked.places:
                yield name, asked.places, len(reading.at)
        return


def settled(case: Case, gap: Gap) -> bool:
    """Whether a gap has no part to choose: it is checked, not solved."""
    layouts = gap.arrangements.values()
    return not any(list(selective(case.unit, layout)) for layout in layouts)


def taken(case: Case, gap_name: str, reading: str) -> Taken | None:
    """The reading as taken, from the gap's own readings or those that gaps share."""
    work = case.job.gaps.get(gap_name)
    if is_shared(case, gap_name, reading):
        return case.job.readings.get(reading)
    if work is None:
        return None
    return work.gap if reading == "gap" and work.gap else work.readings.get(reading)


def is_shared(case: Case, gap_name: str, reading: str) -> bool:
    """Whether gaps share a reading, so that the job states it once for all."""
    return reading in case.unit.readings and reading not in case.unit.gaps[gap_name].readings


def described(unit: Unit, gap: Gap, reading: str) -> Reading | None:
    """What the unit file says of a reading; nothing for a plain `gap`."""
    return gap.readings.get(reading) or unit.readings.get(reading)


def space_of(case: Case, gap_name: str, layout_name: str) -> Space:
    """Work out the space of a gap whose readings are all there."""
    gap = case.unit.gaps[gap_name]
    layout = gap.arrangements[layout_name]
    formula = layout.space
    trial = trial_stack(case, gap_name, layout) * formula.trial_factor
    allowed = tuple(_allowances(case, gap_name, layout, formula.readings))
    total = formula.fixed + trial + sum((add for _, add in allowed), ZERO)
    for name in formula.readings:
        total += _need(case, gap_name, name).average * formula.factor(name)
    places = []
    for name in formula.readings:
        reading = _need(case, gap_name, name)
        for index, value in enumerate(reading.at if len(reading.at) > 1 else ()):
            moved = (value - reading.average) * formula.factor(name)
            places.append(AtPlace(name, index + 1, value, total + moved))
    tells = max((_tells(case, gap_name, name) for name in formula.readings), default=ZERO)
    return Space(total, tuple(places), allowed, tells)


def _need(case: Case, gap_name: str, name: str) -> Taken:
    reading = taken(case, gap_name, name)
    if reading is None:
        raise ValueError(f"{gap_name} has no reading {name}")
    return reading


def _tells(case: Case, gap_name: str, name: str) -> Length:
    """What the gauge of a reading can tell."""
    return tells(case, gauge_of(case, gap_name, name))


def gauge_of(case: Case, gap_name: str, name: str) -> str | None:
    """Name the gauge a reading was taken with, as the job says or the unit file asks."""
    return gauge_with(case, gap_name, name, _need(case, gap_name, name))


def gauge_with(case: Case, gap_name: str, name: str, reading: Taken) -> str | None:
    """Name the gauge of what was taken for a reading, or after assembly for the gap itself."""
    asked = described(case.unit, case.unit.gaps[gap_name], name)
    return reading.gauge or (asked.gauge if asked else None)


def tells(case: Case, gauge: str | None) -> Length:
    """What a gauge can tell, as the files say, or as is usual."""
    return gauge_named(case, gauge).telling(TELLS_MM if case.length == "mm" else TELLS_IN)


def gauge_named(case: Case, gauge: str | None) -> Gauge:
    """What is known of a gauge: what the job says of it goes before the unit file."""
    known = {**case.unit.gauges, **case.job.gauges}
    return known[gauge] if gauge in known else Gauge()


def trial_stack(case: Case, gap_name: str, layout: Arrangement) -> Length:
    """Add up the trial build, fixed parts included; nothing where there is none."""
    gap = case.unit.gaps[gap_name]
    parts = trial_parts(gap, case.job.gaps.get(gap_name))
    if parts is None:
        return fixed_height(case, layout) if settled(case, gap) else ZERO
    return stack_height(case, gap_name, build_of(case, gap_name, parts))


def trial_gap(case: Case, gap_name: str, layout_name: str) -> Length | None:
    """The gap the trial build itself shows; nothing where the space needs no trial build."""
    gap = case.unit.gaps[gap_name]
    name = gap.layout_meant(layout_name)
    layout = gap.arrangements[name]
    if not layout.space.trial_factor:
        return None
    trial = trial_stack(case, gap_name, layout)
    return space_of(case, gap_name, name).length - trial * layout.sign


def stack_height(case: Case, gap_name: str, listed: Listed) -> Length:
    """What a listed build takes from the gap: the sum of factor times thickness."""
    layout = case.unit.gaps[gap_name].arrangements[listed.layout]
    total = fixed_height(case, layout)
    for index, label in selective(case.unit, layout):
        height = sum((part.thickness for part in listed.parts[label]), ZERO)
        total += height * layout.stack[index].factor
    return total


def fixed_height(case: Case, layout: Arrangement) -> Length:
    """What the parts that are not chosen take from the gap."""
    total = ZERO
    for place in layout.stack:
        thickness = fixed_thickness(case, place.part)
        if thickness is not None:
            total += thickness * place.factor
    return total


def fixed_thickness(case: Case, part: str) -> Length | None:
    """The thickness of a fixed part, as measured for this job or as the unit file says."""
    nominal = case.unit.family_of(part).fixed
    return None if nominal is None else case.job.parts.get(part, nominal)


def expected_state(layout: Arrangement, asked: Reading | None) -> dict[str, str]:
    """The state a reading is to be taken in: the window's, and what the reading itself says."""
    return {**layout.window.state, **(asked.state if asked else {})}


def _allowances(
    case: Case, gap_name: str, layout: Arrangement, names: tuple[str, ...]
) -> Iterator[tuple[str, Length]]:
    """The corrections for readings taken in another state, each state once."""
    gap = case.unit.gaps[gap_name]
    used = [a for name in names for a in covering(gap, _off(case, gap_name, layout, name))]
    for allowance in gap.allowances:
        within = any(allowance.state.items() < other.state.items() for other in used)
        if allowance in used and not within:
            words = ", ".join(f"{key} {value}" for key, value in allowance.state.items())
            yield words, allowance.add


def off_state(case: Case, gap_name: str, layout: Arrangement, name: str) -> dict[str, str]:
    """The states of a reading that are not as expected and that no allowance covers."""
    off = _off(case, gap_name, layout, name)
    for allowance in covering(case.unit.gaps[gap_name], off):
        off = {key: value for key, value in off.items() if key not in allowance.state}
    return off


def _off(case: Case, gap_name: str, layout: Arrangement, name: str) -> dict[str, str]:
    gap = case.unit.gaps[gap_name]
    reading = taken(case, gap_name, name)
    if reading is None:
        return {}
    expected = expected_state(layout, described(case.unit, gap, name))
    return {key: value for key, value in reading.state.items() if expected.get(key) != value}


def covering(gap: Gap, off: dict[str, str]) -> list[Allowance]:
    """The allowances that cover a state, those for the most of it first, no part of it twice."""
    left = dict(off)
    found = []
    for allowance in sorted(gap.allowances, key=lambda one: -len(one.state)):
        if allowance.state.items() <= left.items():
            found.append(allowance)
            left = {key: value for key, value in left.items() if key not in allowance.state}
    return found
