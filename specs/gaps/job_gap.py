"""One pack or end play of one job: what its unit file asks of it and what the job says of it.

Every service computes its spaces here, in one layout as

    space = sum of factor * reading + fixed lengths + trial factor * trial stack + allowances

Readings taken at several places are averaged exactly. Each place is kept too, because a single
place may lie outside a window that contains the average.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.errors import quoted
from specs.models.gaps import Pack
from specs.models.job import LEFT_OUT, TO_CHOOSE, GapJob, Parts, TakenReading
from specs.models.layouts import broken_facts, fact_words
from specs.models.lot import Lot
from specs.models.sets_left import barred
from specs.parts.lookup import (
    LIST_THEM,
    ListedBuild,
    NamedPart,
    PartError,
    is_measured,
    list_build,
    selective,
)
from specs.uncertainty.propagation import deviation_of
from specs.values.lengths import ZERO, Length, exact

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.models.case import Case
    from specs.models.gaps import Allowance, Arrangement, EndPlay
    from specs.models.job import TrialParts
    from specs.models.unit import Gap, Reading, Unit

TRIAL_BUILD = "trial build"
"""The name of the trial build among the things that a gap waits for."""


SPREADS_BY, EVEN_WITHIN = Length(25_400), Length(127_000)
"""0.001 in: the standard deviation between places. 0.005 in: how far they may lie apart."""


@dataclass(frozen=True, slots=True)
class AtPlace:
    """The space computed from one place of one reading, with the averages of the other readings."""

    reading: str
    place: int
    """The number of the place, from 1."""
    value: Length
    """The reading at the place."""
    space: Length


@dataclass(frozen=True, slots=True)
class Space:
    """The space to fill in one layout of a gap."""

    length: Length
    """The space from the averages of its readings."""
    places: tuple[AtPlace, ...]
    """The space from each place of the readings that were taken at several."""
    allowed: tuple[tuple[str, Length], ...]
    """The allowances in it, each with the state it is for."""
    tells: Length
    """The coarsest step of the gauges its readings were taken with; zero without a reading."""


@dataclass(frozen=True, slots=True)
class JobGap:
    """One gap of one job, with its unit file's section and its job's section.

    Layouts and readings are addressed by name.
    """

    case: Case
    name: str

    @property
    def written(self) -> Pack | EndPlay:
        """The gap's section of the unit file."""
        return self.case.unit.gaps[self.name]

    @property
    def work(self) -> GapJob:
        """The gap's section of the job; an empty one where the job has none."""
        return self.case.job.gaps.get(self.name) or GapJob()

    @property
    def layouts(self) -> dict[str, Arrangement]:
        """The layouts that the job's facts, sets and `layout` allow, the best rank first."""
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
        """The layouts not allowed, with the reason; an empty one where the job asks for another."""
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
        """The layouts that the job's facts or sets rule out, one sentence each."""
        return [f"{name}: {why}" for name, why in self.aside.items() if why]

    @property
    def settled(self) -> bool:
        """Whether no part of the gap is chosen, so that it is checked and not solved."""
        layouts = self.written.arrangements.values()
        return not any(list(selective(self.case.unit, layout)) for layout in layouts)

    @property
    def trial(self) -> Parts | None:
        """The trial build: the job's own, or the one the unit file asks for; None without one.

        Where the job writes `old`, it is the build in the unit.
        """
        trial = self.work.trial
        if trial is None and self.written.trial:
            trial = Parts.model_construct(parts=self.written.trial, layout=None)
        return self.work.now if trial and trial.parts == "old" else trial

    @property
    def trial_parts(self) -> TrialParts | None:
        """Whose parts the trial build is made of, as the gap or else the job says."""
        return self.work.trial_parts or self.case.job.trial_parts

    @property
    def now(self) -> Parts | None:
        """The build in the unit; None where the job does not list it."""
        return self.work.in_unit

    @property
    def going_in(self) -> ListedBuild | None:
        """The parts measured before they go in; none at a place whose part is still to be chosen.

        None where the job lists none, or allows no layout.

        Raises PartError where they do not match the stack.
        """
        listed = self.work.going_in
        if listed is None or not self.layouts:
            return None
        if isinstance(listed, str):
            raise PartError(f"{quoted(listed)}; {LIST_THEM}")
        if len(self.layouts) != 1:
            raise PartError(f"say which layout goes in: layout: {' or '.join(self.layouts)}")
        (layout,) = self.layouts
        places = selective(self.case.unit, self.written.arrangements[layout])
        stacked = [
            label
            for (index, label), texts in zip(places, listed, strict=False)
            if self.layouts[layout].stack[index].how_many != (1, 1) and texts != (TO_CHOOSE,)
        ]
        if stacked:
            raise PartError(
                f"parts that lie together at one place are chosen together; write {TO_CHOOSE} for "
                f"{stacked[0]}"
            )
        parts = tuple((LEFT_OUT,) if texts == (TO_CHOOSE,) else texts for texts in listed)
        return self.build(Parts.model_construct(parts=parts, layout=layout))

    @property
    def kept(self) -> dict[str, str]:
        """The part that is settled at each place, as the job has it or as it goes in; or `now`."""
        going_in = self.going_in
        settled = {
            label: f"{part.size} {exact(part.thickness, self.case.length)}"
            for label, here in (going_in.parts.items() if going_in else ())
            for part in here
        }
        return {**self.work.keep, **settled}

    def build(self, parts: Parts) -> ListedBuild:
        """Find the parts of a build that the job lists.

        Parameters
        ----------
        parts
            The build as written; its layout may be left out where only one is allowed.

        Returns
        -------
        ListedBuild
            The layout, and the parts at each place whose part is chosen.

        Raises
        ------
        PartError
            Where the build does not match the stack, or names a part that cannot be told.
        """
        allowed = self.layouts
        if parts.layout is None and len(allowed) == 1:
            parts = parts.model_copy(update={"layout": next(iter(allowed))})
        return list_build(self.case.unit, self.written, parts, self.case.origins["job"].length)

    def shared_in(self, listed: ListedBuild) -> dict[str, NamedPart]:
        """Return the shared parts of a listed build by name; other gaps may list the same ones."""
        layout = self.written.arrangements[listed.layout]
        return {
            place.part: part
            for place, label in zip(layout.stack, layout.labels, strict=True)
            if place.part in self.case.unit.shared_parts
            for part in listed.parts[label]
        }

    def missing(self) -> tuple[str, ...]:
        """List what the allowed layouts lack: names of readings, then `TRIAL_BUILD`."""
        lacking = [name for layout in self.layouts.values() for name in self.missing_in(layout)]
        return tuple(sorted(dict.fromkeys(lacking), key=lambda name: name == TRIAL_BUILD))

    def missing_in(self, layout: Arrangement) -> Iterator[str]:
        """Yield what one layout lacks: names of readings, then `TRIAL_BUILD`.

        A reading that found nothing is lacking as if it were not taken.
        """
        for name in layout.space.readings:
            if self.reading(name) is None or self._nothing(layout, name):
                yield name
        if layout.space.trial_factor and not self.settled and not self.trial:
            yield TRIAL_BUILD

    def no_reading(self) -> dict[str, tuple[int, ...]]:
        """Return the readings that found nothing, with the places, from 1, where they did.

        The true gap may then be anything below, so that it is no reading. What else a gap may be
        read by, a depth or an offset, is a reading at zero as at any other figure.
        """
        found = {
            name: self._nothing(layout, name)
            for layout in self.layouts.values()
            for name in layout.space.readings
        }
        return {name: places for name, places in found.items() if places}

    def _nothing(self, layout: Arrangement, name: str) -> tuple[int, ...]:
        """Return the places where a reading of the gap itself found nothing.

        Where the unit file says that the reading may be negative, or where the window reaches below
        zero so that a person shims to no play and goes on from there, a zero is a figure as any
        other. That no blade goes is none even there.
        """
        reading = self.reading(name)
        places = reading.nothing_at if reading else ()
        if reading is None or not places or not self.reads_gap(layout, name):
            return ()
        low, asked = layout.window.gap.low, self.described(name)
        below = (low is not None and low < ZERO) or (asked is not None and asked.signed)
        return places if reading.none_goes or not below else ()

    def reads_gap(self, layout: Arrangement, name: str) -> bool:
        """Say whether a reading is the gap itself, which shows nothing where there is none.

        It is the one named `gap`, or what a trial build alone is read with; never a shared one.
        """
        formula = layout.space
        alone = bool(formula.trial_factor) and formula.readings == (name,)
        factor = formula.factor(name) if name in formula.readings else 0
        return factor > 0 and not self.is_shared(name) and (name == "gap" or alone)

    def fewer_places(self) -> Iterator[tuple[str, int, int]]:
        """Yield each reading taken at too few places: its name, places asked for, places taken.

        Only the readings of the best ranked layout are looked at.
        """
        for layout in self.layouts.values():
            for name in layout.space.readings:
                asked, reading = self.described(name), self.reading(name)
                if asked and reading and len(reading.at) < asked.places:
                    yield name, asked.places, len(reading.at)
            return

    def described(self, reading: str) -> Reading | None:
        """Return the unit file's section on a reading; None for a plain `gap`."""
        return described(self.case.unit, self.written, reading)

    def is_shared(self, reading: str) -> bool:
        """Say whether gaps share a reading, so that the job states it once for all of them."""
        return reading in self.case.unit.readings and reading not in self.written.readings

    def reading(self, name: str) -> TakenReading | None:
        """Return a reading as taken, of this gap or shared; None where it is not taken."""
        if self.is_shared(name):
            return self.case.job.readings.get(name)
        work = self.work
        return work.gap if name == "gap" and work.gap else work.readings.get(name)

    def as_asked(self, name: str) -> TakenReading:
        """Return a reading of zero as the unit file asks for it, at its number of places."""
        asked = self.described(name)
        return TakenReading.model_construct(at=(ZERO,) * (asked.places if asked else 1))

    def needed(self, name: str) -> TakenReading:
        """Return a reading as taken; raise ValueError where it is not taken."""
        reading = self.reading(name)
        if reading is None:
            raise ValueError(f"{self.name} has no reading {name}")
        return reading

    def gauge_of(self, name: str) -> str | None:
        """Return the gauge that a reading was taken with; None where no file names it.

        Raises ValueError where the reading is not taken.
        """
        return self.gauge_with(name, self.needed(name))

    def even_within(self, name: str) -> Length:
        """Return how far the places of a reading may lie apart before the parts stand crooked.

        Parameters
        ----------
        name
            The reading's name; `gap` for the gap itself after assembly.
        """
        asked, own = self.described(name), self.written.even_within
        if asked is not None and asked.even_within is not None:
            return asked.even_within
        return own if own is not None and not self.is_shared(name) else EVEN_WITHIN

    def spread(self, name: str, reading: TakenReading) -> Length:
        """Return the standard deviation of a figure taken at one place, around the mean of all.

        Parameters
        ----------
        name
            The reading's name; `gap` for the gap itself after assembly.
        reading
            The figure as taken.

        Returns
        -------
        Length
            What the files state, or `SPREADS_BY`, and no less than the places themselves show. Zero
            for a reading of one spot: neither asked for nor taken at several places, nor the
            clearance of a pack.
        """
        asked = self.described(name)
        stated = asked.spreads_by if asked else None
        if stated is None:
            several = len(reading.at) > 1 or bool(asked and asked.places > 1)
            if not several and not (name == "gap" and isinstance(self.written, Pack)):
                return ZERO
            stated = None if self.is_shared(name) else self.written.spreads_by
        return max(SPREADS_BY if stated is None else stated, deviation_of(reading.at))

    def gauge_with(self, name: str, reading: TakenReading) -> str | None:
        """Return the gauge of a figure taken for a reading, or for the gap itself after assembly.

        Parameters
        ----------
        name
            The reading's name; `gap` for the gap itself.
        reading
            The figure as taken.

        Returns
        -------
        str or None
            The gauge that the job names, or else the one that the unit file asks for.
        """
        asked = self.described(name)
        return reading.gauge or (asked.gauge if asked else None)

    def space(self, layout_name: str) -> Space:
        """Compute the space to fill in one layout.

        Parameters
        ----------
        layout_name
            The layout; all its readings are taken.

        Returns
        -------
        Space
            The space, with the space at each place and the allowances in it.

        Raises
        ------
        ValueError
            Where a reading is not taken.
        """
        layout = self.written.arrangements[layout_name]
        formula, total = layout.space, self.room(layout)
        places = []
        for name in formula.readings:
            reading = self.needed(name)
            for index, value in enumerate(reading.at if len(reading.at) > 1 else ()):
                moved = (value - reading.average) * formula.factor(name)
                places.append(AtPlace(name, index + 1, value, total + moved))
        tells = (self.case.tells(self.gauge_of(name)) for name in formula.readings)
        allowed = tuple(self._allowances(layout))
        return Space(total, tuple(places), allowed, max(tells, default=ZERO))

    def room(self, layout: Arrangement) -> Length:
        """Compute the length of the space to fill in one layout, as `space` does."""
        formula = layout.space
        total = formula.fixed + self.trial_stack(layout) * formula.trial_factor
        for _, add in self._allowances(layout):
            total += add
        for name in formula.readings:
            total += self.needed(name).average * formula.factor(name)
        return total

    def trial_stack(self, layout: Arrangement) -> Length:
        """Compute the height of the trial build, fixed parts included.

        It is zero without a trial build, and the fixed parts' height where no part is chosen.
        """
        parts = self.trial
        if parts is None:
            return self._fixed_tried(layout) if self.settled else ZERO
        listed = self.build(parts)
        return self._chosen(listed) + self._fixed_tried(self.written.arrangements[listed.layout])

    def tried(self, part: str) -> Length | None:
        """Return how thick a fixed part was in the trial build; None for a part that is chosen."""
        found = self.case.fixed_found(part)
        linings = self.trial.linings if self.trial else None
        lined = self.case.unit.family_of(part).kind == "friction"
        return found if found is None or linings is None or not lined else linings

    def _fixed_tried(self, layout: Arrangement) -> Length:
        """Compute the height of the parts of the trial build that are not chosen."""
        taken = ((self.tried(place.part), place.factor) for place in layout.stack)
        return sum((one * factor for one, factor in taken if one is not None), ZERO)

    def trial_gap(self, layout_name: str) -> Length | None:
        """Compute the gap that the trial build itself leaves.

        Returns
        -------
        Length or None
            The gap; None where the space is not read with a trial build.
        """
        name = self.written.layout_meant(layout_name)
        layout = self.written.arrangements[name]
        if not layout.space.trial_factor:
            return None
        return self.space(name).length - self.trial_stack(layout) * layout.sign

    def height(self, listed: ListedBuild) -> Length:
        """Compute the height of a build: the sum of factor times thickness, with fixed parts."""
        layout = self.written.arrangements[listed.layout]
        return self.case.fixed_height(layout) + self._chosen(listed)

    def _chosen(self, listed: ListedBuild) -> Length:
        """Compute the height of the chosen parts of a build."""
        layout, total = self.written.arrangements[listed.layout], ZERO
        for index, label in selective(self.case.unit, layout):
            height = sum((part.thickness for part in listed.parts[label]), ZERO)
            total += height * layout.stack[index].factor
        return total

    def off_state(self, layout: Arrangement, name: str) -> dict[str, str]:
        """Return the states of a reading that are not as asked and that no allowance covers."""
        off = self._off(layout, name)
        for allowance in covering(self.written, off):
            off = {key: value for key, value in off.items() if key not in allowance.state}
        return off

    def _off(self, layout: Arrangement, name: str) -> dict[str, str]:
        reading = self.reading(name)
        if reading is None:
            return {}
        expected = expected_state(layout, self.described(name))
        return {key: value for key, value in reading.state.items() if expected.get(key) != value}

    def _allowances(self, layout: Arrangement) -> Iterator[tuple[str, Length]]:
        """Yield the allowances for readings taken in another state, each once, as the unit orders.

        An allowance is left out where another one in use covers its state and more.
        """
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
    """Return the unit file's section on a reading, own or shared; None for a plain `gap`."""
    return gap.readings.get(reading) or unit.readings.get(reading)


def expected_state(layout: Arrangement, asked: Reading | None) -> dict[str, str]:
    """Return the state to take a reading in: the window's, overruled by the reading's own."""
    return {**layout.window.state, **(asked.state if asked else {})}


def covering(gap: Gap, off: dict[str, str]) -> list[Allowance]:
    """Choose the allowances that cover a state.

    Parameters
    ----------
    gap
        The gap that has the allowances.
    off
        The states of a reading that are not as asked.

    Returns
    -------
    list of Allowance
        Allowances for parts of `off` that do not overlap, those for more states first.
    """
    left = dict(off)
    found = []
    for allowance in sorted(gap.allowances, key=lambda one: -len(one.state)):
        if allowance.state.items() <= left.items():
            found.append(allowance)
            left = {key: value for key, value in left.items() if key not in allowance.state}
    return found


@dataclass(frozen=True, slots=True)
class InTheDrum:
    """The parts of the trial builds and of the builds in the unit, by whose they are."""

    own: Counter[NamedPart]
    """Those of this very unit."""
    tried: Counter[NamedPart]
    """Those of trial builds that are the shelf's, as far as it has them."""


def in_the_drum(case: Case, gaps: Iterable[str]) -> InTheDrum:
    """Count the parts of the trial builds and of the builds in the unit.

    Parameters
    ----------
    case
        The case.
    gaps
        The names of the gaps whose builds count.

    Returns
    -------
    InTheDrum
        A part that a gap lists in both its builds counts once, and so does a shared part that two
        gaps list. What is always replaced is not counted, for it is not used again.
    """
    own: Counter[NamedPart] = Counter()
    tried: Counter[NamedPart] = Counter()
    shared: dict[str, Counter[NamedPart]] = {}
    lent: dict[str, Counter[NamedPart]] = {}
    for gap in (JobGap(case, name) for name in gaps):
        now, joint_now = _kept_of(gap, gap.now)
        trial, joint_tried = _kept_of(gap, gap.trial)
        going_in, joint_going = _parted(gap, gap.going_in)
        if gap.trial_parts == "of this unit":
            now = now | trial
        own += now
        tried += (trial | going_in) - now
        whose = shared if gap.trial_parts == "of this unit" else lent
        for found, joint in ((shared, joint_now), (whose, joint_tried), (lent, joint_going)):
            for label, part in joint.items():
                found[label] = found.get(label, Counter()) | Counter([part])
    for label, counts in lent.items():
        tried += counts - shared.get(label, Counter())
    for counts in shared.values():
        own += counts
    return InTheDrum(own, tried)


def lots_of(case: Case, parts: Counter[NamedPart], *, tried: bool = False) -> tuple[Lot, ...]:
    """Return parts of this very unit as lots; `tried` where they were thought to be the shelf's."""
    return tuple(
        Lot(
            part.family, part.size, part.thickness, count, condition="used", own=True,
            tried=tried, measured=is_measured(case.unit, part),
        )
        for part, count in parts.items()
    )  # fmt: skip


def _kept_of(gap: JobGap, parts: Parts | None) -> tuple[Counter[NamedPart], dict[str, NamedPart]]:
    """Count the parts of a listed build that may stay, the shared parts apart by name.

    One that was measured again before it goes in is told by that.
    """
    if parts is None or isinstance(parts.parts, str):
        return Counter(), {}
    listed, going_in = gap.build(parts), gap.going_in
    replaced = gap.case.replaced if gap.name not in gap.case.kept_new else {}
    measured = going_in.parts if going_in else {}
    stay = {
        label: tuple(
            as_measured(part, measured.get(label, ()))
            for part in here
            if part.family not in replaced
        )
        for label, here in listed.parts.items()
    }
    return _parted(gap, ListedBuild(listed.layout, stay))


def as_measured(part: NamedPart, measured: tuple[NamedPart, ...]) -> NamedPart:
    """Return a part as it was measured at its place, where it is of that size."""
    like = (one for one in measured if (one.family, one.size) == (part.family, part.size))
    return next(like, part)


def _parted(
    gap: JobGap, listed: ListedBuild | None
) -> tuple[Counter[NamedPart], dict[str, NamedPart]]:
    """Count the parts of a build, the shared parts apart by name."""
    if listed is None:
        return Counter(), {}
    joint = gap.shared_in(listed)
    return Counter(part for here in listed.parts.values() for part in here) - Counter(
        joint.values()
    ), joint
