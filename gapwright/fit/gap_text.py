"""The words for one gap and for its parts, the same on the terminal, the page and the sheet."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from gapwright.record.former_units_text import like_words
from specs.gaps.job_gap import JobGap, described, expected_state
from specs.models.gaps import Pack
from specs.values.lengths import ZERO, Length, number, show, show_beside_limits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from gapwright.fit.no_reading import NextTrial, NoReading
    from gapwright.fit.report import BuildReport, Report
    from specs.models.case import Case
    from specs.models.gaps import Measure
    from specs.models.lot import Lot
    from specs.models.unit import Window
    from specs.values.lengths import LengthUnit


def gap_name(gap: GapAssembly) -> str:
    """Return a gap's name, with its layout where the gap has several."""
    return gap.name + (f" ({gap.layout})" if gap.layout else "")


def gap_words(gap: GapAssembly, unit: LengthUnit) -> str:
    """Name a gap's kind and its measure, as in: clearance 0.068 in."""
    return f"{measured_name(gap.on, gap.gap, pack=gap.is_pack)} {gap_text(gap, unit)}"


def measured_name(on: str, at: Length, *, pack: bool) -> str:
    """Name what is measured: a height, a preload where it is below zero, clearance or end play."""
    if on == "height":
        return "height"
    return "preload" if at < ZERO else "clearance" if pack else "end play"


def sides_of(on: str) -> tuple[str, str]:
    """Name the lower and the higher side of a window: of a gap tight and loose."""
    return ("low", "high") if on == "height" else ("tight", "loose")


def reseat_words(*, pack: bool) -> str:
    """Say what to seat anew before a gap is read again."""
    return "reseat piston, plates and ring" if pack else "seat the shaft and its bearings anew"


def gap_text(gap: GapAssembly, unit: LengthUnit) -> str:
    """Write a gap's figure, never rounded across a limit."""
    return show_beside_limits(gap.gap, gap.low, gap.high, unit)


def window_words(gap: GapAssembly, unit: LengthUnit) -> str:
    """Write the window of a gap and the aim in it."""
    return limits_words(gap.low, gap.high, gap.aim, unit)


def limits_words(low: Length | None, high: Length | None, aim: Length, unit: LengthUnit) -> str:
    """Write a window and the aim in it; an end that is None is open."""
    if low is None or high is None:
        limit, word = (high, "at most") if low is None else (low, "at least")
        return f"window {word} {show(limit or Length(0), unit)}, aim {number(aim, unit)}"
    return f"window {number(low, unit)} to {number(high, unit)}, aim {number(aim, unit)}"


def left_words(gap: GapAssembly, unit: LengthUnit) -> str:
    """Write the distances to the limits on both sides."""
    sides = [
        f"{show(left, unit)} before too {side}"
        for left, side in zip((gap.tight, gap.loose), sides_of(gap.on), strict=True)
        if left is not None
    ]
    return "left: " + ", ".join(sides)


def part_name(line: AssemblyStep) -> str:
    """Return a part's family, the maker's own word for it, its size and its grade."""
    family = f"{line.family} ({line.also_called})" if line.also_called else line.family
    grade = f" ({line.grade})" if line.grade and line.grade != line.size else ""
    return f"{family} {line.size}{grade}".rstrip()


def chosen_words(gap: GapAssembly) -> str:
    """List the chosen parts of a gap, counted by name."""
    counts = Counter(part_name(line) for line in gap.steps if line.lot)
    return ", ".join(f"{count} x {name}" if count > 1 else name for name, count in counts.items())


def source_words(line: AssemblyStep) -> list[str]:
    """Say where a part comes from: fixed, this unit, or its bin and lot."""
    if line.lot is None:
        return ["fixed"]
    if line.lot.own:
        return ["stays" if line.stays else "issued" if line.lot.id else "from this unit"]
    facts = ["in the drum"] if line.lot.tried else []
    facts += [f"bin {line.lot.bin}"] if line.lot.bin else []
    facts += [f"lot {line.lot.lot}"] if line.lot.lot else []
    return facts + (["used"] if line.lot.condition == "used" else [])


def place_of(lot: Lot) -> str:
    """Name the place from which a lot is fetched."""
    if lot.own:
        return "issued" if lot.id else "this unit"
    if lot.tried:
        return "the drum"
    return f"bin {lot.bin}" if lot.bin else "shelf"


def mind_words(line: AssemblyStep) -> list[str]:
    """Say what must come out before a part goes in, and which way it faces."""
    facts = []
    if line.out_first and not line.stays:
        facts.append(f"out first: {', '.join(line.out_first)}")
    return facts + ([line.facing] if line.facing else [])


def check_steps(report: BuildReport, gap: GapAssembly) -> list[str]:
    """List the steps to measure the finished gap, as far as the unit file states them."""
    steps = measure_steps(report.case.unit.gaps[gap.name].measure)
    return steps + state_words(window_in(report, gap).state)


def measure_steps(measure: Measure | None) -> list[str]:
    """List the steps of a measurement: between which faces, how held, and how."""
    if measure is None:
        return []
    between = ["between " + " and ".join(measure.between)] * bool(measure.between)
    return [*between, *(text for text in (measure.held, measure.how) if text)]


def state_words(state: Mapping[str, str]) -> list[str]:
    """List the conditions in which a gap or a reading is measured."""
    return [f"{key} {value}" for key, value in state.items()]


def notes_of(report: BuildReport, gap: GapAssembly, unit: LengthUnit) -> list[str]:
    """List what must come out to reach its parts, the unit file's note, what was built before."""
    like = like_words(report.former, gap.name, unit)
    note = report.case.unit.gaps[gap.name].note
    out = [f"to reach its parts, out first: {', '.join(gap.out_first)}"] if gap.out_first else []
    return out + ([f"note: {note}"] if note else []) + [like] * bool(like)


def checked_only(report: BuildReport, gap: GapAssembly) -> str:
    """Return the remark on a stack without a selective part; empty for any other."""
    nothing = JobGap(report.case, gap.name).settled
    return "Checked only: this stack has no part to choose." if nothing else ""


def window_in(report: BuildReport, gap: GapAssembly) -> Window:
    """Return the window of the layout that was chosen."""
    written = report.case.unit.gaps[gap.name]
    return written.arrangements[written.layout_meant(gap.layout)].window


def waiting(report: Report, unit: LengthUnit) -> Iterator[str]:
    """Name the gaps that wait for readings, how to take these, and parts they share."""
    case = report.case
    solved = {part: name for name in report.solved for part in _shared_parts(case, name)}
    for name, readings in report.waiting.items():
        if name in report.unread:
            yield from no_reading_words(case, name, report.unread[name], unit)
        else:
            yield f"waiting: {name}, for {', '.join(readings)}"
        yield from _how(case, name, readings)
        for part in sorted(_shared_parts(case, name) & solved.keys()):
            yield f"  it shares the {part} with {solved[part]}: read it before that part goes in"


def no_reading_words(case: Case, name: str, unread: NoReading, unit: LengthUnit) -> Iterator[str]:
    """Say that a gap read nothing, what to look at first, and which trial build to make next."""
    gap = case.unit.gaps[name]
    at = [nothing_words(f"`{one}`", at, unread.places[one]) for one, at in unread.readings.items()]
    what = "clearance" if isinstance(gap, Pack) else "end play"
    yield f"no reading: {name}, {', '.join(at)}: the true {what} may be anything below"
    if isinstance(gap, Pack):
        yield "  first see that piston, plates and ring are seated, and read again"
        yield "  a ring that stands proud of its groove is a reading: write how far, `proud`"
    else:
        yield "  first see the drum home on its splines and each washer flat, and read again"
    layout = unread.trial.build.layout if unread.trial and len(gap.layouts) > 1 else None
    yield from _next_trial_words(unread.trial, layout, unit)


def nothing_words(what: str, at: tuple[int, ...], places: int) -> str:
    """Say at which of its places a reading found nothing; `what` names it."""
    if places == 1 or len(at) == places:
        return f"{what} reads nothing"
    numbers = f"place {at[0]}" if len(at) == 1 else f"places {', '.join(map(str, at))}"
    return f"{what} reads nothing at {numbers} of {places}"


def _next_trial_words(
    trial: NextTrial | None, layout: str | None, unit: LengthUnit
) -> Iterator[str]:
    """Say which trial build to make next, how much looser it is, and what it leaves at least."""
    if trial is None:
        return
    if not trial.sure:
        yield "  nothing on hand is sure to leave something to read: take its space by depths"
        return
    parts = ", ".join(" + ".join(texts) or "none" for texts in trial.build.parts)
    looser, leaves = show(trial.looser, unit), show(trial.leaves, unit)
    where = f" ({layout})" if layout else ""
    yield f"  trial build next{where}: {parts}; {looser} looser than the one tried"
    yield f"  it leaves {leaves} or more in every drum that what is on hand can serve"
    if trial.left_out:
        yield f"  {trial.left_out} is left out for this reading alone, and goes in after it"


def _shared_parts(case: Case, name: str) -> set[str]:
    layouts = case.unit.gaps[name].arrangements.values()
    parts = {place.part for layout in layouts for place in layout.stack}
    return parts & case.unit.shared_parts.keys()


def _how(case: Case, name: str, readings: tuple[str, ...]) -> Iterator[str]:
    """Say how each reading is taken, as far as the unit file states it."""
    gap = case.unit.gaps[name]
    layout = next(iter(JobGap(case, name).layouts.values()), None)
    for reading in readings:
        asked = described(case.unit, gap, reading)
        state = expected_state(layout, asked) if layout else {}
        facts = [asked.what] if asked else []
        facts += [f"with {asked.gauge}"] if asked and asked.gauge else []
        facts += [f"at {asked.places} places"] if asked and asked.places > 1 else []
        facts += [f"{key} {value}" for key, value in state.items()] if asked else []
        if facts:
            yield f"  {reading}: {', '.join(facts)}"
