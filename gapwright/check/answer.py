"""The report of `check` and `check --history` as data, and its JSON, each key declared once."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from gapwright.fit.answer import (
    ChanceAnswer,
    FitAnswer,
    NoFitAnswer,
    PartRemarkAnswer,
    UndecidedAnswer,
    WindowAnswer,
    solved_answer,
)
from gapwright.output.answers import Answer, key
from gapwright.record.former_units_answer import UncountedJobAnswer
from specs.files.digest import is_changed
from specs.gaps.job_gap import JobGap
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.assembly import AssemblyStep, GapAssembly
    from gapwright.fit.part_remarks import PartRemark
    from gapwright.fit.report import Report
    from gapwright.record.sizes import Size
    from specs.gaps.built import Built
    from specs.gaps.suspected_causes import Cause
    from specs.models.case import Case
    from specs.models.record import Promised
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class OtherParts:
    """A gap into which other parts went than were promised, or the same in another order."""

    gap: str
    promised: Length
    """The gap that was promised of the other parts."""
    out: Counter[Size]
    """The parts that were promised and did not go in."""
    instead: Counter[Size]
    """Those that went in in their place."""


@dataclass(frozen=True, slots=True)
class Check:
    """A job after assembly: its gaps as measured and as promised, and the least change."""

    case: Case
    gaps: tuple[Built, ...]
    """The gaps that were measured after assembly, in the unit file's order."""
    remarks: tuple[PartRemark, ...]
    """What is to be minded of the parts of these gaps."""
    causes: tuple[Cause, ...]
    """The single causes that would explain a gap that is not as promised."""
    change: Report | None = None
    """Where a gap is out of its window: the build that changes least and lands them all."""
    promise: Promised | None = None
    """What was promised for the job; None where no promise was kept."""
    other_parts: tuple[OtherParts, ...] = ()
    """The measured gaps into which other parts went than were promised."""
    chosen_anew: tuple[str, ...] = ()
    """The measured gaps whose parts are neither listed nor promised: as chosen from these files."""

    @property
    def changed_since(self) -> bool:
        """Whether the unit or the job was changed since the promise was kept."""
        return self.promise is not None and is_changed(self.case, self.promise)

    @property
    def not_measured(self) -> tuple[str, ...]:
        """The gaps that were promised and not measured yet."""
        measured = {gap.gap for gap in self.gaps}
        promised = self.promise.gaps if self.promise else ()
        return tuple(name for name in promised if name not in measured)

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.case.length

    @property
    def lands(self) -> bool:
        """Whether the average of every gap that was measured lies in its window."""
        return all(gap.lands for gap in self.gaps)

    @property
    def inside(self) -> bool:
        """Whether every place of every gap that was measured lies in its window."""
        return all(gap.inside for gap in self.gaps)

    @property
    def unread(self) -> bool:
        """Whether a gap reads nothing, so that nothing can be worked out from its figures."""
        return any(gap.nothing_at for gap in self.gaps)

    @property
    def even(self) -> bool:
        """Whether the places of each gap that was measured lie near enough to each other."""
        return all(gap.even for gap in self.gaps)

    @property
    def agrees(self) -> bool:
        """Whether every gap is as promised: of these parts, even, in its window, and explained."""
        return all(gap.agrees for gap in self.gaps)


def swaps(report: Report, gap: GapAssembly) -> tuple[Counter[str], list[AssemblyStep]]:
    """Return the parts that come out of a gap, counted by name, and those that go in."""
    work = report.case.job.gaps[gap.name]
    parts = work.in_unit
    if parts is None:
        return Counter(), []
    listed = JobGap(report.case, gap.name).build(parts)
    now = {label: Counter(_named(p.family, p.size, p.thickness) for p in here)
           for label, here in listed.parts.items()}  # fmt: skip
    out: Counter[str] = Counter()
    in_ = []
    for line in gap.steps:
        if line.lot is None:
            continue
        name = _named(line.family, line.size, line.thickness)
        if line.stays and now.get(line.label, Counter())[name]:
            now[line.label][name] -= 1
        else:
            in_.append(line)
    for here in now.values():
        out.update({name.rpartition("@")[0]: count for name, count in here.items() if count})
    return out, in_


def _named(family: str, size: str, thickness: Length) -> str:
    return f"{family} {size}@{thickness.nm}"


def _change(report: Report) -> ChangeAnswer | NoFitAnswer | UndecidedAnswer:
    """Declare what changes, gap by gap; or why nothing that could be changed lands every gap."""
    found = solved_answer(report)
    return ChangeAnswer(report) if isinstance(found, FitAnswer) else found


def _changed(report: Report) -> Iterator[ChangedGapAnswer]:
    for gap in report.gaps:
        out, into = swaps(report, gap)
        if out or into:
            yield ChangedGapAnswer(gap, out=out, into=into)


class MeasuredGapAnswer(Answer):
    """A gap that was measured after assembly."""

    name: str = key(lambda gap: gap.gap)
    """The gap's name."""
    measured: Length = key(lambda gap: gap.found)
    """What it measured, the average over its places, allowances added."""
    promised: Length
    """What was promised of it; what its parts make it, where no promise of these was kept."""
    made: Length
    """What its parts and the readings at the bench make it."""
    gauges_tell: Length = key(lambda gap: gap.doubt)
    """How far the doubt of both sides explains a difference."""
    u: Length
    """The standard uncertainty of the difference."""
    differs_by_no_more: ChanceAnswer = key(lambda gap: ChanceAnswer(gap.chance))
    """The chance that the two differ by no more than they do, if all is as listed."""
    window: WindowAnswer = key(WindowAnswer)
    """Where it must lie."""
    places: list[Length] = key(lambda gap: [at + gap.found - gap.read for at in gap.places])
    """What each of its places measured, allowances added."""
    in_window: bool = key(lambda gap: gap.inside)
    """Whether it lies there at each place."""
    nothing_at: list[int] = key(lambda gap: [*gap.nothing_at])
    """The places, from 1, that read nothing: then the figures are no reading, and nothing is worked
    out from them."""
    places_apart: Length = key(lambda gap: gap.apart)
    """How far its places lie apart."""
    even_within: Length
    """How far they may lie apart."""
    even: bool
    """Whether they lie no farther apart than that."""
    as_promised: bool = key(lambda gap: gap.agrees)
    """Whether it is as promised: of these parts, even, in its window at each place, and explained
    by doubt."""


class MovedGapAnswer(Answer):
    """A gap that a mistake would move."""

    gap: str
    """The gap's name."""
    more_by: Length
    """By how much more than promised it would measure; below zero for less."""


class CauseAnswer(Answer):
    """One mistake that would explain what was measured."""

    words: str
    """The mistake in words."""
    gaps: list[MovedGapAnswer] = key(
        lambda cause: [MovedGapAnswer(gap=gap, more_by=by) for gap, by in cause.shifts.items()]
    )
    """The gaps it moves."""


class PartOutAnswer(Answer):
    """Parts that come out."""

    part: str
    """The family and the size."""
    count: int
    """How many."""


class PartInAnswer(Answer):
    """A part that goes in."""

    family: str
    """Its family."""
    size: str
    """Its size."""
    place: str = key(lambda line: line.label)
    """The place it goes to."""
    bin: str | None = key(lambda line: line.lot and line.lot.bin)
    """The bin it lies in."""
    out_first: list[str]
    """What must come out to reach it."""


class ChangedGapAnswer(Answer):
    """What changes in one gap."""

    gap: str = key(lambda gap: gap.name)
    """The gap's name."""
    then: Length = key(lambda gap: gap.gap)
    """What it will measure then."""
    out: list[PartOutAnswer] = key(
        lambda out: [PartOutAnswer(part=name, count=count) for name, count in out.items()]
    )
    """The parts that come out."""
    in_: list[PartInAnswer] = key(lambda into: [PartInAnswer(line) for line in into])
    """The parts that go in."""


class ChangeAnswer(Answer):
    """The least change that lands every gap."""

    answer: Literal["fit"] = key(lambda _: "fit")
    """There is one."""
    proved: bool = key(lambda report: report.answer.proved)
    """Whether it is proved the least."""
    gaps: list[ChangedGapAnswer] = key(lambda report: [*_changed(report)])
    """The gaps that change."""


class OtherPartsAnswer(Answer):
    """A gap into which other parts went than were promised, or the same in another order."""

    gap: str
    """The gap's name."""
    promised: Length
    """What was promised that it measures, of the parts that were to go in."""
    out: list[PartOutAnswer] = key(
        lambda other: [
            PartOutAnswer(part=" ".join(size), count=some) for size, some in other.out.items()
        ]
    )
    """The parts that were promised and did not go in."""
    in_: list[PartOutAnswer] = key(
        lambda other: [
            PartOutAnswer(part=" ".join(size), count=some) for size, some in other.instead.items()
        ]
    )
    """The parts that went in in their place."""


class CheckAnswer(Answer, shape="gapwright check 3"):
    """A job after assembly."""

    job: str = key(lambda check: check.case.job.name)
    """The job's name."""
    unit: str = key(lambda check: check.case.unit.name)
    """The unit's name."""
    in_window: bool = key(lambda check: check.inside)
    """Whether every gap that was measured lies in its window at each place."""
    even: bool
    """Whether no gap's places lie farther apart than they may."""
    as_promised: bool = key(lambda check: check.agrees)
    """Whether every gap is of the parts promised, even, in its window at each place, and measures
    what was promised within doubt."""
    promised_on: str | None = key(lambda check: check.promise and check.promise.on)
    """The day the promise was kept; null where none was, so that it is held against the parts
    listed, or against what these files choose now."""
    answer: str | None = key(lambda check: check.promise and check.promise.answer)
    """The code of the promised answer."""
    changed_since: bool
    """Whether the unit or the job was changed since the promise."""
    chosen_anew: list[str] = key(lambda check: [*check.chosen_anew])
    """The gaps whose parts are neither listed nor promised: as these files choose them now."""
    other_parts: list[OtherPartsAnswer] = key(
        lambda check: [OtherPartsAnswer(other) for other in check.other_parts]
    )
    """The gaps into which other parts went than were promised."""
    not_measured: list[str] = key(lambda check: [*check.not_measured])
    """The gaps that were promised and not measured yet."""
    gaps: list[MeasuredGapAnswer] = key(
        lambda check: [MeasuredGapAnswer(gap) for gap in check.gaps]
    )
    """The gaps that were measured after assembly."""
    part_remarks: list[PartRemarkAnswer] = key(
        lambda check: [PartRemarkAnswer(remark) for remark in check.remarks]
    )
    """What is to be minded of the parts."""
    would_be_explained_by: list[CauseAnswer] = key(
        lambda check: [CauseAnswer(cause) for cause in check.causes]
    )
    """The single mistakes that would explain a gap that is not as promised."""
    change: ChangeAnswer | NoFitAnswer | UndecidedAnswer | None = key(
        lambda check: check.change and _change(check.change)
    )
    """What to change where the average of a gap is out of its window; null where none is."""


class SpanAnswer(Answer):
    """A length with the limits it lies between in 95 of 100."""

    figure: Length
    """The length."""
    at_least: Length = key(lambda span: span.low)
    """The lower limit."""
    at_most: Length = key(lambda span: span.high)
    """The upper limit."""


class ResidualAnswer(Answer):
    """One gap that was measured after assembly, beside its promise."""

    job: str
    """The job's name."""
    gap: str
    """The gap's name."""
    gauge: str
    """The gauge it was measured with."""
    hand: str
    """Who measured it."""
    more: Length
    """How much more than promised it measured; below zero for less."""
    u: Length
    """The standard uncertainty the files give that."""


class UnreadGapAnswer(Answer):
    """One gap that read nothing after assembly."""

    job: str
    """The job's name."""
    gap: str
    """The gap's name."""


class SeenAnswer(Answer):
    """What was seen of one gauge or one hand."""

    kind: Literal["gauge", "hand"]
    """Which of the two it is."""
    name: str
    """Its name."""
    bias: SpanAnswer | None = key(lambda seen: seen.bias and SpanAnswer(seen.bias))
    """By how much more than promised it measures on average; null for one gap alone."""
    spread: SpanAnswer | None = key(lambda seen: seen.spread and SpanAnswer(seen.spread))
    """The standard deviation of that; null for one gap alone."""
    stated_u: Length = key(lambda seen: seen.stated)
    """The standard uncertainty the files give it, as a root mean square."""
    off: bool = key(lambda seen: seen.is_off)
    """Whether zero lies outside the limits of its bias."""
    wider: bool
    """Whether it spreads by more than is stated, beyond chance."""
    gaps: list[ResidualAnswer] = key(lambda seen: [ResidualAnswer(one) for one in seen.residuals])
    """The gaps that count."""


class CheckHistoryAnswer(Answer, shape="gapwright check history 1"):
    """What the checks of several jobs tell together."""

    jobs: list[str] = key(lambda history: [case.job.name for case in history.cases])
    """The jobs' names."""
    seen: list[SeenAnswer] = key(lambda history: [SeenAnswer(one) for one in history.seen])
    """Each gauge, then each hand, by name."""
    left_aside: list[ResidualAnswer] = key(
        lambda history: [ResidualAnswer(one) for one in history.aside]
    )
    """Gaps so far from the others that something else was the matter."""
    no_reading: list[UnreadGapAnswer] = key(
        lambda history: [UnreadGapAnswer(one) for one in history.no_reading]
    )
    """Gaps that read nothing after assembly, which is no reading: they do not count."""
    nothing_measured: list[str]
    """Jobs without anything measured after assembly."""
    jobs_not_counted: list[UncountedJobAnswer] = key(
        lambda history: [*map(UncountedJobAnswer, history.uncounted)]
    )
    """Kept jobs that do not count, with the reason."""


ANSWERS = {"check": (CheckAnswer,), "check history": (CheckHistoryAnswer,)}
