"""Whether a job asks what its unit can answer: gaps, readings, states, builds, kept parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.checks.belonging import mismatches
from specs.checks.unit import gauge_findings, parts_gauge_findings
from specs.errors import quoted, shortened
from specs.findings import Finding, near, weigh
from specs.gaps.built import off_window, parts_of, promised_parts
from specs.gaps.job_gap import JobGap, covering, described
from specs.models.job import LEFT_OUT, LESS, GapJob, Parts
from specs.models.record import PROMISE_ANEW, Promised, PromisedGap, Taken
from specs.parts.lookup import (
    LIST_THEM,
    PartError,
    find_size,
    selective,
)
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.findings import Path
    from specs.models.case import Case
    from specs.models.job import AsBuilt, TakenReading
    from specs.models.unit import Gap, Reading
    from specs.parts.lookup import NamedPart

NO_READINGS = "the job holds no readings; write one under `gaps`"
IN_TRIAL = "a place is left out in a `trial` build only; list all parts that are in"
GAUGE_WORDS = ("none", "thinnest", "thickest")  # builds to measure with, never those that are in


def job_findings(case: Case) -> Iterator[Finding]:
    """Yield everything wrong with a case's job."""
    yield from _facts(case)
    for name, reading in case.job.readings.items():
        if name not in case.unit.readings:
            known = [*case.unit.readings]
            yield Finding(("readings", name), near(name, known, "readings that gaps share"))
        else:
            yield from _reading(("readings", name), reading, case.unit.readings[name])
    yield from _fixed_parts(case)
    yield from gauge_findings(case.job.gauges)
    yield from parts_gauge_findings(case.job.parts_read_with, case.gauges)
    if not case.job.gaps and not case.job.readings:
        yield Finding((), NO_READINGS)
    for name, work in case.job.gaps.items():
        if name not in case.unit.gaps:
            known = [*case.unit.gaps]
            yield Finding(("gaps", name), near(name, known, "packs and end plays"))
        else:
            yield from _gap(("gaps", name), case, name, work)
    yield from _shared_now(case)
    if case.job.promised:
        yield from promise_findings(case, case.job.promised)
    yield from mismatches(case)
    for name in case.unit.gaps:
        if name not in case.job.gaps and not JobGap(case, name).missing():
            yield from _gap(("gaps", name), case, name, GapJob())


def _fixed_parts(case: Case) -> Iterator[Finding]:
    fixed = [name for name, family in case.unit.families.items() if family.fixed is not None]
    for name, thickness in case.job.parts.items():
        if name in case.unit.families and name not in fixed:
            sentence = "its parts are chosen; write what they measured in the build they are in"
            yield Finding(("parts", name), sentence)
        elif name not in fixed:
            yield Finding(("parts", name), near(name, fixed, "fixed families"))
        else:
            yield weigh(("parts", name), thickness, case.unit.families[name].kind)


def _facts(case: Case) -> Iterator[Finding]:
    for name, value in case.job.facts.items():
        fact = case.unit.facts.get(name)
        if fact is None:
            yield Finding(("facts", name), near(name, [*case.unit.facts], "facts"))
        elif not fact.may_be(value):
            yield Finding(("facts", name), fact.sentence(value))
    needed = {
        fact
        for gap in case.unit.gaps.values()
        for layout in gap.arrangements.values()
        for fact in layout.only_if
    }
    for name in sorted(needed):
        if name not in case.job.facts and case.unit.facts[name].default is None:
            fact = case.unit.facts[name]
            values = f"a number of {fact.number_of}" if fact.number_of else " or ".join(fact.values)
            yield Finding(("facts",), f'say what "{name}" is: {values}')


def promise_findings(case: Case, promised: Promised) -> Iterator[Finding]:
    """Yield what is wrong with a promise: changed by hand, or not of this unit's gaps and parts."""
    if promised.edited:
        keys = (*Promised.keys(), *PromisedGap.keys(), *Taken.keys())
        yield Finding(("promised", "answer"), promised.edited, leans=keys)
    elif promised.job != case.job.name:
        sentence = f'{quoted(promised.job)}; this job is called "{shortened(case.job.name)}", so '
        yield Finding(
            ("promised", "job"), f"{sentence}this is the promise of another: {PROMISE_ANEW}"
        )
    yield from misfits(case, promised, PROMISE_ANEW)


def misfits(case: Case, promised: Promised, anew: str) -> Iterator[Finding]:
    """Yield the gaps and the parts of a promise that the unit does not have, and what to do."""
    for name, gap in promised.gaps.items():
        path: Path = ("promised", "gaps", name)
        if name not in case.unit.gaps:
            yield Finding(path, f"{case.unit.name} has no such gap any more; {anew}")
            continue
        try:
            JobGap(case, name).build(promised_parts(gap))
        except PartError as error:
            yield Finding((*path, "parts"), f"{error}; or {anew}")


def _gap(path: Path, case: Case, name: str, work: GapJob) -> Iterator[Finding]:
    gap = case.unit.gaps[name]
    if work.gap and "gap" in work.readings:
        yield Finding((*path, "gap"), "this reading stands twice; keep one")
    known = [*gap.readings, "gap"]
    for reading, value in work.readings.items():
        where = (*path, "readings", reading)
        if reading in known:
            yield from _reading(where, value, described(case.unit, gap, reading))
        elif reading in case.unit.readings:
            yield Finding(where, "gaps share this reading; write it under the job's own `readings`")
        else:
            yield Finding(where, near(reading, known, "its readings"))
    if work.gap:
        yield from _reading((*path, "gap"), work.gap, described(case.unit, gap, "gap"))
    yield from _gap_alone(path, JobGap(case, name))
    if work.layout is not None and work.layout not in gap.layouts:
        yield Finding((*path, "layout"), near(work.layout, [*gap.layouts], "its layouts"))
    yield from _builds(path, case, JobGap(case, name).trial, work)
    yield from _kept(path, case, gap, work)
    yield from _going_in((*path, "going in"), JobGap(case, name))
    if not JobGap(case, name).missing():
        yield from _states(path, case, name)
    if work.as_built:
        yield from _as_built((*path, "as built"), case, name, work.as_built)


def _gap_alone(path: Path, gap: JobGap) -> Iterator[Finding]:
    """Check that only a reading of the gap itself is told by a proud ring or by no blade at all."""
    layouts = gap.written.arrangements.values()
    of_work = {"gap": gap.work.gap} if gap.work.gap else {}
    for name, reading in {**gap.work.readings, **of_work}.items():
        where = (*path, name) if name in of_work else (*path, "readings", name)
        if not any(gap.reads_gap(layout, name) for layout in layouts):
            yield from _of_a_gap(where, reading)


def _of_a_gap(path: Path, reading: TakenReading) -> Iterator[Finding]:
    """Refuse what a reading can be told by only where it is of the gap of a trial build."""
    if reading.proud is not None:
        sentence = "a ring stands proud where a trial build's own gap is read; write `at` here"
        yield Finding((*path, "proud"), sentence)
    elif reading.none_goes and reading.goes is None:
        yield Finding((*path, "stops"), LESS)


def _as_built(path: Path, case: Case, name: str, as_built: AsBuilt) -> Iterator[Finding]:
    """Check that a reading after assembly can be compared with a promise."""
    gap = case.unit.gaps[name]
    asked, may_be_negative = described(case.unit, gap, "gap"), _preloaded(JobGap(case, name))
    yield from _reading(path, as_built, asked, below_zero=may_be_negative)
    yield from _of_a_gap(path, as_built)
    waits = JobGap(case, name).missing()
    if waits:
        nothing = ", which reads nothing" * (waits == tuple(JobGap(case, name).no_reading()))
        sentence = f"nothing was promised yet: {name} waits for {', '.join(waits)}{nothing}"
        yield Finding(path, sentence)
    parts = parts_of(as_built)
    if parts is not None and isinstance(parts.parts, str):
        yield Finding((*path, "parts"), f"{quoted(parts.parts)}; list the parts that went in")
    elif parts is not None and parts.leaves_out:
        yield Finding((*path, "parts"), f"{quoted(LEFT_OUT)}; {IN_TRIAL}")
    elif parts is not None:
        yield from _build((*path, "parts"), case, parts)
    for layout in JobGap(case, name).layouts:
        off = off_window(gap.arrangements[layout], as_built)
        for allowance in covering(gap, off):
            off = {key: value for key, value in off.items() if key not in allowance.state}
        if off and as_built.layout in (None, layout):
            words = ", ".join(f"{key} {value}" for key, value in off.items())
            yield Finding(
                path,
                f"taken with {words}, which is not what the window holds for, and the unit file "
                "gives no allowance between them; read it again as asked",
            )
            return


def _preloaded(gap: JobGap) -> bool:
    """Whether a window that may apply has a negative end, so that it may measure below zero."""
    spans = [layout.window.gap for layout in gap.layouts.values()]
    return any(end is not None and end < ZERO for span in spans for end in (span.low, span.high))


def _reading(
    path: Path, taken_: TakenReading, asked: Reading | None, *, below_zero: bool = False
) -> Iterator[Finding]:
    if taken_.u is not None:
        yield weigh((*path, "u"), taken_.u, "tells")
    for key, end in (("goes", taken_.goes), ("stops", taken_.stops), ("proud", taken_.proud)):
        if end is not None:
            yield weigh((*path, key), end, "reading")
    if taken_.proud is not None:
        return
    for value in taken_.at:
        if taken_.stops is None:
            yield weigh(path, value, "reading")
        if value < ZERO and not below_zero and not (asked and asked.signed):
            yield Finding(
                path,
                "a reading is not negative; a preload is a negative window, and an offset is "
                "`signed: yes` in the unit file",
            )


def _builds(path: Path, case: Case, trial: Parts | None, work: GapJob) -> Iterator[Finding]:
    for key, parts in (("trial", trial), ("now", work.in_unit)):
        if parts is not None:
            yield from _build((*path, key), case, parts)
    yield from _linings(path, case, work)
    if work.in_unit and work.in_unit.leaves_out:
        yield Finding((*path, "now"), f"{quoted(LEFT_OUT)}; {IN_TRIAL}")
    if work.now and work.now.parts in GAUGE_WORDS:
        yield Finding((*path, "now"), f"{quoted(work.now.parts)}; {LIST_THEM}")
    if work.trial_parts and JobGap(case, str(path[1])).trial is None:
        yield Finding((*path, "trial parts"), "the job lists no `trial` build here; list it")
    if work.trial and work.trial.parts == "old" and work.now is None:
        yield Finding((*path, "trial"), "old means the build under `now`; list that")
    gauge = work.trial is None or work.trial.parts in GAUGE_WORDS
    if work.now and work.now.parts == "trial" and gauge:
        yield Finding((*path, "now"), "trial means the build under `trial`; list that")


def _linings(path: Path, case: Case, work: GapJob) -> Iterator[Finding]:
    """Check that linings of a trial build are stated where they can count."""
    if work.now and work.now.linings is not None and work.now is not work.trial:
        sentence = "linings are told of a trial build alone; write them under `trial`"
        yield Finding((*path, "now", "linings"), sentence)
    linings = work.trial.linings if work.trial else None
    if linings is None:
        return
    where = (*path, "trial", "linings")
    yield weigh(where, linings, "friction")
    gap = case.unit.gaps[str(path[1])]
    lined = {
        place.part: case.unit.family_of(place.part).fixed
        for layout in gap.arrangements.values()
        for place in layout.stack
        if case.unit.family_of(place.part).kind == "friction"
    }
    if None in lined.values() or not lined:
        sentence = "no linings of one thickness lie in this stack; list those tried among its parts"
        yield Finding(where, sentence if lined else "no linings lie in this stack; leave it out")
    elif len({*lined.values()}) > 1:
        names = " and ".join(lined)
        sentence = (
            f"{names} are of several thicknesses, so one figure does not tell them; read the "
        )
        yield Finding(where, f"{sentence}gap over the linings that go in")


def _shared_now(case: Case) -> Iterator[Finding]:
    """Check that two gaps whose builds in the unit list a shared part agree: it is one part."""
    first_use: dict[str, tuple[str, NamedPart]] = {}
    for name, work in case.job.gaps.items():
        parts = work.in_unit if name in case.unit.gaps else None
        if parts is None or isinstance(parts.parts, str):
            continue
        try:
            listed = JobGap(case, name).build(parts)
        except PartError:
            continue  # reported where the build stands
        for label, part in JobGap(case, name).shared_in(listed).items():
            first, other = first_use.setdefault(label, (name, part))
            if other != part:
                sentence = (
                    f"{label} is {part.size} here and {other.size} in {first}: it is one part"
                )
                yield Finding(("gaps", name, "now"), sentence)


def _build(path: Path, case: Case, parts: Parts) -> Iterator[Finding]:
    try:
        listed = JobGap(case, str(path[1])).build(parts)
    except PartError as error:
        yield Finding(path, str(error))
        return
    for part in (part for place in listed.parts.values() for part in place):
        yield weigh(path, part.thickness, case.unit.families[part.family].kind)


def _kept(path: Path, case: Case, gap: Gap, work: GapJob) -> Iterator[Finding]:
    labels = {
        label: layout.stack[index].part
        for layout in gap.arrangements.values()
        for index, label in selective(case.unit, layout)
    }
    for label, text in work.keep.items():
        where = (*path, "keep", label)
        if label not in labels:
            yield Finding(where, near(label, [*labels], "places whose part is chosen"))
        elif text == "now":
            family = case.unit.family_name(labels[label])
            if work.in_unit is None:
                yield Finding(where, "the job does not list the build under `now`")
            elif family in case.replaced:
                why = case.replaced[family].because
                sentence = f"{family} is always replaced ({why}): the one that is in does not stay"
                yield Finding(where, f"{sentence}; name the size of a new one")
        else:
            yield from _size(where, case, case.unit.family_name(labels[label]), text)


def _going_in(path: Path, gap: JobGap) -> Iterator[Finding]:
    """Check the parts measured before they go in."""
    try:
        listed = gap.going_in
    except PartError as error:
        yield Finding(path, str(error))
        return
    for label, here in listed.parts.items() if listed else ():
        if here and label in gap.work.keep:
            yield Finding(path, f"{label} goes in here, and stands under `keep` too; keep one")
        for part in here:
            yield weigh(path, part.thickness, gap.case.unit.families[part.family].kind)


def _size(path: Path, case: Case, family: str, text: str) -> Iterator[Finding]:
    try:
        part = find_size(family, case.unit.families[family], text, case.origins["job"].length)
    except PartError as error:
        yield Finding(path, str(error))
    else:
        yield weigh(path, part.thickness, case.unit.families[family].kind)


def _states(path: Path, case: Case, name: str) -> Iterator[Finding]:
    """Check that a reading was taken in the state asked for, or that an allowance covers it."""
    gap = JobGap(case, name)
    seen: set[str] = set()
    for layout in gap.layouts.values():
        for reading in layout.space.readings:
            off = gap.off_state(layout, reading)
            if not off or reading in seen or gap.reading(reading) is None:
                continue
            seen.add(reading)
            words = ", ".join(f"{key} {value}" for key, value in off.items())
            own = reading in gap.work.readings
            where: Path = (*path, "readings", reading) if own else (*path, reading)
            yield Finding(
                ("readings", reading) if gap.is_shared(reading) else where,
                f"taken with {words}, which is not what the window holds for, and the unit file "
                "gives no allowance between them; read it again as asked",
            )
