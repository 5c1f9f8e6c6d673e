"""One pack or end play of one job: what its unit file asks and what the job says of it.

    space = sum of factor * reading + fixed lengths + trial factor * trial stack + allowances

Readings taken at several places are averaged exactly; each place is kept, for a single place
may lie outside a window that the average is inside.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.models.job import GapJob, Parts
from specs.models.layouts import broken_facts, fact_words
from specs.models.lot import Lot
from specs.models.sets_left import barred
from specs.parts.lookup import ListedBuild, NamedPart, is_measured, list_build, selective
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.models.case import Case
    from specs.models.gaps import Allowance, Arrangement, EndPlay, Pack
    from specs.models.job import TakenReading
    from specs.models.unit import Gap, Reading, Unit

TRIAL_BUILD = "trial build"


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


@dataclass(frozen=True, slots=True)
class JobGap:
    """One gap of one job. Layouts are called by name, readings too."""

    case: Case
    name: str

    @property
    def written(self) -> Pack | EndPlay:
        """What the unit file says of it."""
        return self.case.unit.gaps[self.name]

    @property
    def work(self) -> GapJob:
        """What the job says of it; nothing in it where the job is silent."""
        return self.case.job.gaps.get(self.name) or GapJob()

    @property
    def layouts(self) -> dict[str, Arrangement]:
        """The layouts that the job's facts and its own wish allow, the best ranked first."""
        only, strange = self.work.layout, barred(self.case)
        allowed = [
            layout
            for layout in self.written.arrangements.values()
            if only in (None, layout.name)
            and not broken_facts(self.case, layout)
            and (self.name, layout.name) not in strange
        ]
        return {one.name: one for one in sorted(allowed, key=lambda one: (one.rank, one.name))}

    @property
    def aside(self) -> dict[str, str]:
        """The layouts that are not allowed, and why; no reason where the job asks for another."""
        allowed, strange = self.layouts, barred(self.case)
        aside = {}
        for name, layout in sorted(self.written.arrangements.items()):
            if name not in allowed:
                broken = broken_facts(self.case, layout)
                facts = ", ".join(fact_words(self.case, layout, fact) for fact in broken)
                why = facts + (f" ({layout.because})" if facts and layout.because else "")
                aside[name] = why or strange.get((self.name, name), "")
        return aside

    @property
    def barred(self) -> list[str]:
        """Say of each layout that the job's facts rule out why it is not allowed."""
        return [f"{name}: {why}" for name, why in self.aside.items() if why]

    @property
    def settled(self) -> bool:
        """Whether it has no part to choose: it is checked, not solved."""
        layouts = self.written.arrangements.values()
        return not any(list(selective(self.case.unit, layout)) for layout in layouts)

    @property
    def trial(self) -> Parts | None:
        """The trial build the job means: its own, or the one the unit file asks for."""
        trial = self.work.trial
        if trial is None and self.written.trial:
            trial = Parts.model_construct(parts=self.written.trial, layout=None)
        return self.work.now if trial and trial.parts == "old" else trial

    @property
    def now(self) -> Parts | None:
        """The build that is in the unit, where the job says."""
        return self.work.in_unit

    def build(self, parts: Parts) -> ListedBuild:
        """Resolve a build that the job lists; its layout may be left out where one is allowed.

        Raises PartError where it does not match the stack.
        """
        allowed = self.layouts
        if parts.layout is None and len(allowed) == 1:
            parts = parts.model_copy(update={"layout": next(iter(allowed))})
        return list_build(self.case.unit, self.written, parts, self.case.origins["job"].length)

    def missing(self) -> tuple[str, ...]:
        """Name what it waits for: readings, or the build its trial stack was made of."""
        lacking = [name for layout in self.layouts.values() for name in self.missing_in(layout)]
        return tuple(sorted(dict.fromkeys(lacking), key=lambda name: name == TRIAL_BUILD))

    def missing_in(self, layout: Arrangement) -> Iterator[str]:
        """Name what one of its layouts waits for."""
        yield from (name for name in layout.space.readings if self.reading(name) is None)
        if layout.space.trial_factor and not self.settled and not self.trial:
            yield TRIAL_BUILD

    def fewer_places(self) -> Iterator[tuple[str, int, int]]:
        """Name the readings taken at fewer places than asked for, with how many of each."""
        for layout in self.layouts.values():
            for name in layout.space.readings:
                asked, reading = self.asked(name), self.reading(name)
                if asked and reading and len(reading.at) < asked.places:
                    yield name, asked.places, len(reading.at)
            return

    def asked(self, reading: str) -> Reading | None:
        """What the unit file says of a reading; nothing for a plain `gap`."""
        return described(self.case.unit, self.written, reading)

    def is_shared(self, reading: str) -> bool:
        """Whether gaps share a reading, so that the job states it once for all."""
        return reading in self.case.unit.readings and reading not in self.written.readings

    def reading(self, name: str) -> TakenReading | None:
        """A reading as taken, of the gap's own or of those that gaps share."""
        if self.is_shared(name):
            return self.case.job.readings.get(name)
        work = self.work
        return work.gap if name == "gap" and work.gap else work.readings.get(name)

    def needed(self, name: str) -> TakenReading:
        """A reading that is there. Raises ValueError where it is not."""
        reading = self.reading(name)
        if reading is None:
            raise ValueError(f"{self.name} has no reading {name}")
        return reading

    def gauge_of(self, name: str) -> str | None:
        """Name the gauge a reading was taken with, as the job says or the unit file asks."""
        return self.gauge_with(name, self.needed(name))

    def gauge_with(self, name: str, reading: TakenReading) -> str | None:
        """Name the gauge of what was taken for a reading, or after assembly for the gap itself."""
        asked = self.asked(name)
        return reading.gauge or (asked.gauge if asked else None)

    def space(self, layout_name: str) -> Space:
        """Work out the space in one of its layouts; the readings for it are all there."""
        layout = self.written.arrangements[layout_name]
        formula = layout.space
        trial = self.trial_stack(layout) * formula.trial_factor
        allowed = tuple(self._allowances(layout))
        total = formula.fixed + trial + sum((add for _, add in allowed), ZERO)
        for name in formula.readings:
            total += self.needed(name).average * formula.factor(name)
        places = []
        for name in formula.readings:
            reading = self.needed(name)
            for index, value in enumerate(reading.at if len(reading.at) > 1 else ()):
                moved = (value - reading.average) * formula.factor(name)
                places.append(AtPlace(name, index + 1, value, total + moved))
        tells = (self.case.tells(self.gauge_of(name)) for name in formula.readings)
        return Space(total, tuple(places), allowed, max(tells, default=ZERO))

    def trial_stack(self, layout: Arrangement) -> Length:
        """Add up the trial build, fixed parts included; nothing where there is none."""
        parts = self.trial
        if parts is None:
            return self.case.fixed_height(layout) if self.settled else ZERO
        return self.height(self.build(parts))

    def trial_gap(self, layout_name: str) -> Length | None:
        """The gap the trial build itself shows; nothing where the space needs no trial build."""
        name = self.written.layout_meant(layout_name)
        layout = self.written.arrangements[name]
        if not layout.space.trial_factor:
            return None
        return self.space(name).length - self.trial_stack(layout) * layout.sign

    def height(self, listed: ListedBuild) -> Length:
        """What a listed build takes from the gap: the sum of factor times thickness."""
        layout = self.written.arrangements[listed.layout]
        total = self.case.fixed_height(layout)
        for index, label in selective(self.case.unit, layout):
            height = sum((part.thickness for part in listed.parts[label]), ZERO)
            total += height * layout.stack[index].factor
        return total

    def off_state(self, layout: Arrangement, name: str) -> dict[str, str]:
        """The states of a reading that are not as expected and that no allowance covers."""
        off = self._off(layout, name)
        for allowance in covering(self.written, off):
            off = {key: value for key, value in off.items() if key not in allowance.state}
        return off

    def _off(self, layout: Arrangement, name: str) -> dict[str, str]:
        reading = self.reading(name)
        if reading is None:
            return {}
        expected = expected_state(layout, self.asked(name))
        return {key: value for key, value in reading.state.items() if expected.get(key) != value}

    def _allowances(self, layout: Arrangement) -> Iterator[tuple[str, Length]]:
        """The corrections for readings taken in another state, each state once."""
        used = [
            allowance
            for name in layout.space.readings
            for allowance in covering(self.written, self._off(layout, name))
        ]
        for allowance in self.written.allowances:
            within = any(allowance.state.items() < other.state.items() for other in used)
            if allowance in used and not within:
                words = ", ".join(f"{key} {value}" for key, value in allowance.state.items())
                yield words, allowance.add


def described(unit: Unit, gap: Gap, reading: str) -> Reading | None:
    """What the unit file says of a reading; nothing for a plain `gap`."""
    return gap.readings.get(reading) or unit.readings.get(reading)


def expected_state(layout: Arrangement, asked: Reading | None) -> dict[str, str]:
    """The state a reading is to be taken in: the window's, and what the reading itself says."""
    return {**layout.window.state, **(asked.state if asked else {})}


def covering(gap: Gap, off: dict[str, str]) -> list[Allowance]:
    """The allowances that cover a state, those for the most of it first, no part of it twice."""
    left = dict(off)
    found = []
    for allowance in sorted(gap.allowances, key=lambda one: -len(one.state)):
        if allowance.state.items() <= left.items():
            found.append(allowance)
            left = {key: value for key, value in left.items() if key not in allowance.state}
    return found


def own_lots(case: Case, gaps: Iterable[str]) -> tuple[Lot, ...]:
    """The parts of the trial builds and those now in the unit: on hand for this job alone.

    A part that a gap names in both is one part, and so is a shared part that two gaps name.
    """
    total: Counter[NamedPart] = Counter()
    shared: dict[str, Counter[NamedPart]] = {}
    for gap in (JobGap(case, name) for name in gaps):
        own: Counter[NamedPart] = Counter()
        for parts in (gap.trial, gap.now):
            if parts is None or isinstance(parts.parts, str):
                continue
            mine, joint = _counted(gap, gap.build(parts))
            own |= mine
            for label, part in joint.items():
                shared[label] = shared.get(label, Counter()) | Counter([part])
        total += own
    for counts in shared.values():
        total += counts
    return tuple(
        Lot(
            part.family, part.size, part.thickness, count, condition="used", own=True,
            measured=is_measured(case.unit, part),
        )
        for part, count in total.items()
    )  # fmt: skip


def _counted(gap: JobGap, listed: ListedBuild) -> tuple[Counter[NamedPart], dict[str, NamedPart]]:
    """The parts of a build by count, and the shared parts by name."""
    unit, layout = gap.case.unit, gap.written.arrangements[listed.layout]
    mine: Counter[NamedPart] = Counter()
    joint: dict[str, NamedPart] = {}
    for index, label in selective(unit, layout):
        place = layout.stack[index]
        for part in listed.parts[label]:
            if place.part in unit.shared_parts:
                joint[place.part] = part
            else:
                mine[part] += 1
    return mine, joint
