"""The JSON of `fit`: the answer to a rebuild, each key declared once."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Literal

from gapwright.fit.heat import heat_of
from gapwright.fit.no_fit_text import condition_words
from gapwright.fit.part_remarks import RemarkKind, remark_words
from gapwright.fit.report import ClosedJob, Unread
from gapwright.output.answers import Answer, Exact, Words, key
from gapwright.output.money import exact_money
from gapwright.record.answer import ClosingAnswer, GapDifferenceAnswer, PromisedAnswer
from gapwright.record.former_units_answer import UncountedJobAnswer
from gapwright.record.promise import not_as_promised
from gapwright.shelf.answer import LotAnswer
from solver.problem import judge
from solver.problem.solution import Fit, NoFit
from specs.uncertainty.distribution import MILLION
from specs.uncertainty.propagation import COVERAGE
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from gapwright.fit.no_reading import NoReading
    from gapwright.fit.report import BuildReport, Report
    from inventory.movements import Part
    from solver.explain.aim_costs import Shift
    from solver.explain.conditions import Condition
    from solver.problem.aims import Level
    from solver.problem.instance import Instance

TEN_THOUSANDTH = MILLION // 10_000


def _asked(report: Report) -> DemandAnswer | None:
    return DemandAnswer(report.demand) if report.demand else None


def _moved(parts: Sequence[tuple[Part, int]]) -> list[MovedAnswer]:
    return [MovedAnswer(part, number=number) for part, number in parts]


def _promised(report: Report) -> PromisedAnswer | None:
    stands = report.kept or report.standing
    return PromisedAnswer(stands) if stands else None


def _not_as_promised(report: Report) -> list[GapDifferenceAnswer]:
    return [GapDifferenceAnswer(one) for one in not_as_promised(report)] if report.gaps else []


def _gaps(report: BuildReport) -> list[GapAnswer]:
    sure = report.sure.gaps if report.sure else [None] * len(report.gaps)
    return [
        GapAnswer(gap, sure=one, heat=heat_of(report.case, gap))
        for gap, one in zip(report.gaps, sure, strict=True)
    ]


def _words(condition: Condition, report: Report, instance: Instance) -> Words:
    return partial(condition_words, report, instance, condition)


def _shift(shift: Shift | None, instance: Instance) -> ShiftAnswer | None:
    return None if shift is None else ShiftAnswer(shift.level, instance=instance, shift=shift)


def _scale(level: Level, instance: Instance) -> Fraction | int:
    """Return what one of a level is in nanometres, where the level counts steps of the grid."""
    return instance.step if level.in_steps else 1


def _near(value: Fraction) -> float:
    return round(float(value), 4)


class ChanceAnswer(Answer):
    """A chance by its bounds, from 0 to 1, to four decimals, rounded outward."""

    at_least: float = key(lambda chance: chance.least // TEN_THOUSANDTH / 10_000)
    """The lower bound."""
    at_most: float = key(lambda chance: -(-chance.most // TEN_THOUSANDTH) / 10_000)
    """The upper bound."""


class NextTrialAnswer(Answer):
    """The trial build to make next for a gap that read nothing."""

    layout: str = key(lambda trial: trial.build.layout)
    """Its layout."""
    parts: list[list[str]] = key(lambda trial: [[*texts] for texts in trial.build.parts])
    """Its parts at each place, as a job file lists them; `left out` where a place stays empty."""
    left_out: str | None = key(lambda trial: trial.left_out or None)
    """The place that is left empty for this reading alone; null where all are filled."""
    looser: Length
    """How much lower its stack is than that of the trial build that read nothing."""
    leaves: Length
    """What it leaves at least in every drum that a build from what is on hand could serve."""


class NoReadingAnswer(Answer):
    """A gap that read nothing, so that the true gap may be anything below."""

    places: dict[str, list[int]] = key(
        lambda unread: {name: [*places] for name, places in unread.readings.items()}
    )
    """The readings that found nothing, with the places, from 1, where they did."""
    next_trial: NextTrialAnswer | None = key(
        lambda unread: NextTrialAnswer(unread.trial) if unread.trial and unread.trial.sure else None
    )
    """The trial build to make next; null where nothing on hand is sure to leave something to read,
    or where other readings are lacking too."""


def waiting_answers(
    waiting: dict[str, tuple[str, ...]], unread: dict[str, NoReading]
) -> list[WaitingAnswer]:
    """Return the answers on the gaps that wait."""
    return [
        WaitingAnswer(
            gap=gap, for_=names, no_reading=NoReadingAnswer(unread[gap]) if gap in unread else None
        )
        for gap, names in waiting.items()
    ]


class WaitingAnswer(Answer):
    """A gap that cannot be solved yet."""

    gap: str
    """The gap's name."""
    for_: list[str]
    """The readings it waits for."""
    no_reading: NoReadingAnswer | None
    """Where it waits because it read nothing; else null."""


class MovedAnswer(LotAnswer):
    """A lot of the ledger, and how many of it were posted."""

    number: int
    """How many parts."""


class ReservedAnswer(Answer):
    """What was posted to the shelf's ledger for the answer."""

    reserved: list[MovedAnswer] = key(lambda posted: _moved(posted.reserved))
    """The lots newly reserved for the job."""
    released: list[MovedAnswer] = key(lambda posted: _moved(posted.released))
    """What an earlier answer had kept for the job and this one does not take."""
    kept: int
    """How many parts were reserved for it before and stay so."""


class WindowAnswer(Answer):
    """The window of a gap."""

    lowest: Length | None = key(lambda gap: gap.low)
    """The lower limit; null where there is none."""
    highest: Length | None = key(lambda gap: gap.high)
    """The upper limit; null where there is none."""


class AimedWindowAnswer(WindowAnswer):
    """The window of a gap, and where in it the gap is wanted."""

    aim: Length
    """The gap that is wanted."""


class LeftAnswer(Answer):
    """What is left toward the limits of a window."""

    tight: Length | None
    """What is left toward the lowest gap; null where there is no limit."""
    loose: Length | None
    """What is left toward the highest gap; null where there is no limit."""


class PartAnswer(Answer):
    """One part of a build."""

    number: int
    """The order in which it goes in, from 1; parts stacked at one place count on."""
    place: str = key(lambda line: line.label)
    """The place it goes to, as the unit file names it."""
    family: str
    """Its family."""
    also_called: str | None
    """The maker's own word for it."""
    kind: str
    """The kind of part, such as `steel` or `snap ring`."""
    size: str | None
    """Its size; null for a fixed part."""
    grade: str | None
    """`thin` or `thick` of steels that come in grades, or the unit file's own word."""
    thickness: Length
    """How thick the part is."""
    from_: Literal["shelf", "this unit"] | None = key(
        lambda line: line.lot and ("this unit" if line.lot.own else "shelf")
    )
    """Where it is taken from; null for a fixed part."""
    bin: str | None = key(lambda line: line.lot and line.lot.bin)
    """The bin it lies in."""
    lot: str | None = key(lambda line: line.lot and line.lot.lot)
    """The shop's own label for its lot."""
    code: str | None = key(lambda line: line.lot and line.lot.id)
    """The code of its lot in the shelf's ledger."""
    condition: Literal["new", "used"] | None = key(lambda line: line.lot and line.lot.condition)
    """Whether it is new or was in a unit; null for a fixed part."""
    stays: bool
    """Whether it is at this place already."""
    in_trial_build: bool = key(lambda line: bool(line.lot and line.lot.tried))
    """Whether it lies in the trial build; `from` says whether it is counted on the shelf."""
    facing: str | None
    """How it must face."""
    out_first: list[str]
    """What must come out to reach it."""


class BuiltGapAnswer(Answer):
    """One gap of a build."""

    name: str
    """The gap's name."""
    layout: str | None
    """The layout chosen; null where the gap has only one."""
    on: Literal["gap", "height"]
    """Whether the window is on the gap or on a height measured in its place."""
    gap: Length
    """What the gap will measure."""
    window: AimedWindowAnswer = key(AimedWindowAnswer)
    """Where it must lie."""
    left: LeftAnswer = key(LeftAnswer)
    """How far it is from the limits."""
    first_in: str = key(lambda gap: gap.first_end)
    """The end of the stack that goes in first."""
    heat_end: str | None
    """The end that is taken to run hotter; null for an end play."""
    out_first: list[str]
    """What must come out to reach the gap's parts."""
    parts: list[PartAnswer] = key(lambda gap: [PartAnswer(line) for line in gap.steps])
    """Its parts in the order they go in."""


class ExpandedAnswer(Answer):
    """An expanded uncertainty."""

    k: int = key(lambda _: COVERAGE)
    """The coverage factor."""
    by: Length = key(lambda gap: gap.expanded)
    """The true gap lies so near to the one given in about 95 of 100."""


class MeasureAgainAnswer(Answer):
    """Something that could be measured again."""

    kind: Literal["reading", "part", "gauge"]
    """What it is."""
    name: str
    """Its name."""
    then: ChanceAnswer = key(lambda again: ChanceAnswer(again.then))
    """The chance, were it read without doubt and came out the same."""


class GapSureAnswer(Answer):
    """How sure one gap is."""

    chance: ChanceAnswer = key(lambda gap: ChanceAnswer(gap.chance))
    """The chance that the true gap lies in its window."""
    u: Length
    """The combined standard uncertainty of the gap."""
    expanded: ExpandedAnswer = key(ExpandedAnswer)
    """The expanded uncertainty of the gap."""
    measure_again: list[MeasureAgainAnswer] = key(
        lambda gap: [MeasureAgainAnswer(one) for one in gap.again]
    )
    """Where the chance is low: what to measure again, what brings most first."""


class SteelHeatAnswer(Answer):
    """One steel of a pack, by its heat."""

    number: int = key(lambda steel: steel.step.number)
    """The steel's number in the order the parts go in."""
    heated_faces: int = key(lambda steel: steel.faces)
    """How many of its faces a lining runs on."""
    beside_thick: str = key(lambda steel: str(steel.beside_thick))
    """How many times as much it warms as a thick one in its place, an exact fraction."""
    rise: float | None = key(lambda steel: None if steel.rise is None else _near(steel.rise))
    """By how many kelvin one engagement warms it; null where the unit file says no energy."""
    rise_of_thick: float | None = key(
        lambda steel: None if steel.thick_rise is None else _near(steel.thick_rise)
    )
    """By how many kelvin a thick one in its place would warm."""


class EngagementAnswer(Answer):
    """One engagement of a pack, and what takes its energy."""

    joules: float = key(lambda heat: _near(heat.engagement.joules))
    """Its energy, in joules."""
    kilograms: float = key(lambda heat: _near(heat.engagement.kilograms))
    """The mass of the steels, in kilograms."""
    joules_per_kelvin: float = key(lambda heat: _near(heat.engagement.joules_per_kelvin))
    """Their heat capacity, in joules a kelvin."""
    hottest: list[int] = key(lambda heat: [steel.step.number for steel in heat.hottest])
    """The numbers of the steels that warm most."""
    at_heat_end: bool
    """Whether one of them lies in the half of the pack at its heat end."""


class HeatAnswer(Answer):
    """What thin steels cost a pack in heat."""

    share_of_thick: str = key(lambda heat: str(heat.share))
    """Mass and heat capacity of its steels, of those of thick ones alone, an exact fraction."""
    warms: float = key(lambda heat: _near(heat.warms))
    """How many times as much the steels warm by one engagement, on average."""
    steels: list[SteelHeatAnswer] = key(lambda heat: [SteelHeatAnswer(one) for one in heat.steels])
    """Its steels in the order they go in."""
    engagement: EngagementAnswer | None = key(
        lambda heat: heat.engagement and EngagementAnswer(heat)
    )
    """One engagement; null where the unit file says no energy."""


class GapAnswer(BuiltGapAnswer):
    """One gap of the answer."""

    sure: GapSureAnswer | None = key(lambda sure: sure and GapSureAnswer(sure), left_out=True)
    """How sure it is that the true gap lies in its window."""
    heat: HeatAnswer | None = key(lambda heat: heat and HeatAnswer(heat))
    """What thin steels cost in heat; null for a gap without steels."""


class TiltedAnswer(Answer):
    """A reading whose places differ by more than its gauge would explain."""

    gap: str
    """The gap it is of."""
    reading: str
    """The reading's name."""
    places: list[int]
    """The two places, from 1."""
    apart: Length
    """How far apart they read."""


class SureAnswer(Answer):
    """How sure a whole build is."""

    all_gaps: ChanceAnswer = key(lambda sure: ChanceAnswer(sure.every))
    """The chance that all true gaps lie in their windows."""
    tilted: list[TiltedAnswer] = key(lambda sure: [TiltedAnswer(one) for one in sure.tilted])
    """Readings that say a part lies tilted."""


class DemandAnswer(Answer):
    """How sure each gap was asked to be."""

    percent: float = key(lambda demand: float(demand.percent))
    """The chance asked for, in percent."""


class LevelAnswer(Answer):
    """What one level of the ordered aims measures."""

    aim: str
    """The aim it is of."""
    measure: str
    """What is counted or measured."""
    works: Literal["shifts", "holds"] | None = key(
        lambda level: ("shifts" if level.shifts else "holds") if level.measure == "thin" else None,
        left_out=True,
    )
    """Of thin steels: whether in packs that shift or in the others."""
    grade: int | None = key(
        lambda level: level.grade if level.measure == "thin" else None, left_out=True
    )
    """Of thin steels: their grade, from the thinnest."""


class AimAnswer(LevelAnswer):
    """What the build reaches on one level; heat and deviation are in nanometres."""

    value: Exact = key(
        lambda level, answer, nth: answer.values[nth] * _scale(level, answer.instance)
    )
    """The level's value."""
    at_least: Exact | None = key(
        lambda level, answer, nth: (
            answer.bounds[nth] * _scale(level, answer.instance)
            if nth < len(answer.bounds)
            else None
        )
    )
    """Its proved lower bound; null where it was not searched."""


class UnguardedGapAnswer(BuiltGapAnswer):
    """One gap of the build that `safe` passed over."""

    chance: ChanceAnswer = key(lambda _, chance: ChanceAnswer(chance))
    """The chance that the true gap lies in its window."""


class UnguardedAnswer(Answer):
    """The build that would be best without `safe`, where that takes fewer thin steels."""

    used: int = key(lambda other: other.thin)
    """How many thin steels it takes."""
    gaps: list[UnguardedGapAnswer] = key(
        lambda other: [
            UnguardedGapAnswer(gap, chance=sure.chance)
            for gap, sure in zip(other.gaps, other.sure.gaps, strict=True)
        ]
    )
    """Its gaps."""


class ThinAnswer(Answer):
    """The thin steels of the whole job."""

    used: int = key(lambda report: sum(gap.thin for gap in report.gaps))
    """How many the build takes."""
    steels: int = key(lambda report: sum(gap.steels for gap in report.gaps))
    """How many steels it has in all."""
    least_possible: int | None = key(
        lambda report: (
            None if report.fewest_thin is None else sum(grade.count for grade in report.fewest_thin)
        )
    )
    """How many are thin where thin steels are all that counts: of the thinnest grade as few as can
    be, then of the next; null where that was not proved."""
    without_safe: UnguardedAnswer | None = key(
        lambda report: report.unguarded and UnguardedAnswer(report.unguarded)
    )
    """The build that `safe` passed over; null where it cost no thin steel."""


class EqualAnswer(Answer):
    """Other ways to build a gap as well."""

    gap: str
    """The gap's name."""
    builds: list[BuiltGapAnswer] | None = key(
        lambda others: None if others is None else [BuiltGapAnswer(one) for one in others]
    )
    """The builds; null where not all were looked at."""


class RankedAnswer(Answer):
    """One of the best builds."""

    yields_on: str | None = key(lambda ranked: ranked.yields)
    """The first aim in which it yields to the best; null where it is as good on all."""
    proved: bool
    """Whether its rank is proved."""
    gaps: list[BuiltGapAnswer] = key(lambda ranked: [BuiltGapAnswer(gap) for gap in ranked.gaps])
    """Its gaps."""


class NearLimitAnswer(Answer):
    """A gap near a limit of its window."""

    gap: str
    """The gap's name."""
    lacks: Length
    """How much it lacks of the distance that `safe` keeps; zero where only its chance is low."""
    chance: ChanceAnswer = key(lambda near: ChanceAnswer(near.chance))
    """The chance that the true gap lies in its window."""
    with_safe: list[BuiltGapAnswer] | None = key(
        lambda near: near.instead and [BuiltGapAnswer(gap) for gap in near.instead]
    )
    """Where `safe` is not among the aims: the best build with it; null where it helps nothing."""


class ReseatAnswer(Answer):
    """One place whose gap lies outside the window that the average is inside."""

    gap: str
    """The gap's name."""
    reading: str = key(lambda reseat: reseat.at.reading)
    """The reading to take again."""
    place: int = key(lambda reseat: reseat.at.place)
    """Its place, from 1."""
    would_be: Length
    """What the gap would be by this place alone."""


class BuildAnswer(Answer):
    """A build of one job, and what is to be minded before any part is changed."""

    gaps: list[GapAnswer] = key(lambda built: _gaps(built) if built else [])
    """The build, gap by gap."""
    sure: SureAnswer | None = key(lambda built: built and built.sure and SureAnswer(built.sure))
    """How sure the whole build is."""
    close_to_limit: list[NearLimitAnswer] = key(
        lambda built: [NearLimitAnswer(one) for one in (built.close if built else ())]
    )
    """Gaps that lack the distance `safe` keeps, or whose chance is low; the least sure first."""
    read_again: list[ReseatAnswer] = key(
        lambda built: [ReseatAnswer(one) for one in (built.reseat if built else ())]
    )
    """Places that alone would put a gap outside its window."""


class ShiftAnswer(LevelAnswer):
    """A level that another build serves better or worse."""

    by: Exact = key(lambda level, instance, shift: shift.by * _scale(level, instance))
    """What is added to it: below zero where it improves."""


class MissAnswer(Answer):
    """A window that is missed."""

    gap: str
    """The gap's name."""
    by: Length
    """How far it lies outside."""


class MoreAnswer(Answer):
    """What more of an aim takes."""

    possible: bool = key(lambda more: not more.none)
    """Whether any build has more of it, whatever the windows."""
    gain: ShiftAnswer | None = key(lambda more, instance: _shift(more.gain, instance))
    """What is gained."""
    yields: ShiftAnswer | None = key(lambda more, instance: _shift(more.yields, instance))
    """The first earlier aim that must yield."""
    misses: list[MissAnswer] = key(
        lambda more, instance: [
            MissAnswer(gap=gap.name, by=Length(miss * instance.step))
            for nth, gap in enumerate(instance.gaps)
            if more.missing and (miss := judge.miss_of(instance, more.missing, nth))
        ]
    )
    """Where no build in the windows has more of it: the windows missed by the one that has."""


class CostAnswer(Answer):
    """What one aim costs the aims after it, and what more of it takes."""

    aim: str
    """The aim."""
    better_without_it: list[ShiftAnswer] | None = key(
        lambda cost, instance: (
            None
            if cost.gains is None
            else [ShiftAnswer(gain.level, instance=instance, shift=gain) for gain in cost.gains]
        )
    )
    """The later aims that improve without it; null where that was not proved in time."""
    more_of_it: MoreAnswer | None = key(
        lambda cost, instance: cost.more and MoreAnswer(cost.more, instance=instance)
    )
    """What more of it takes; null where that was not proved in time."""


class StableRangeAnswer(Answer):
    """How far a reading may be off before another build is better."""

    gap: str | None
    """The gap it is of; null where gaps share it."""
    reading: str
    """The reading's name."""
    value: Length
    """What was read."""
    from_: Length | None = key(lambda held: held.low)
    """The lowest it may be; null: no end."""
    to: Length | None = key(lambda held: held.high)
    """The highest it may be; null: no end."""
    proved: bool
    """Otherwise time ran out, and it may be more."""


class WhyThisOneAnswer(Answer):
    """Why this build is the answer."""

    costs: list[CostAnswer] = key(
        lambda why, instance: [CostAnswer(one, instance=instance) for one in why.costs]
    )
    """Of each aim what it costs."""
    readings: list[StableRangeAnswer] = key(
        lambda why: [StableRangeAnswer(one) for one in why.ranges]
    )
    """Of each reading how far it may be off."""


class PartRemarkAnswer(Answer):
    """Something to mind about the parts of a family."""

    kind: RemarkKind
    """What it is about."""
    gap: str | None
    """The gap it is about; null for the whole job."""
    family: str
    """The family."""
    size: str | None
    """The size; null for a fixed part, or for all sizes."""
    where: str | None
    """Of a worn part: `measured`, `tried`, `in the unit`, `built in`, `kept`, or its bin."""
    count: int
    """How many parts; 0 where it is about the family."""
    found: Length | None
    """How thick the worn or the tried part is."""
    wear_limit: Length | None = key(lambda remark: remark.least)
    """The wear limit of a worn part."""
    goes_in: Length | None = key(lambda remark: remark.new)
    """How thick the part is that goes in instead, where that is known."""
    more_gap: Length | None = key(lambda remark: remark.more)
    """What other linings add to the gap; below zero for less."""
    because: str | None
    """Why it is always replaced."""
    gaps: list[str]
    """Gaps that hold one part of the family each."""
    words: Words = key(lambda remark: partial(remark_words, remark))
    """All of it in one sentence."""


class RoomBoundAnswer(Answer):
    """What the rooms of a gap are known to lie between."""

    kind: Literal["each former unit", "deviations", "spaces"]
    """`each former unit`: the least and the greatest of their rooms; `deviations`: four standard
    deviations around their mean; `spaces`: what the unit file says, of a normal spread four."""
    from_: Length = key(lambda bound: bound.low)
    """The lower end."""
    to: Length = key(lambda bound: bound.high)
    """The upper end."""
    off: Length = key(lambda bound, far: bound.off(far.room))
    """How far the room lies outside; below zero for a smaller one."""
    drums: int | None = key(lambda bound: bound.drums or None)
    """How many former units it is of; null for what the unit file says."""
    deviation: Length | None
    """Of a bound in deviations one of these, and no less than the u of the reading."""


class DoubtedReadingAnswer(Answer):
    """A room far from those of former units, or from what the unit file expects."""

    gap: str
    """The gap's name."""
    layout: str
    """The layout whose room it is."""
    room: Length
    """The room for the stack, as read."""
    outside: list[RoomBoundAnswer] = key(
        lambda far: [RoomBoundAnswer(bound, far=far) for bound in far.crossed]
    )
    """The bounds it lies outside of."""
    look: list[str] = key(lambda far: far.looks)
    """What to do at the bench before any part is changed."""
    would_be_explained_by: list[MistakeAnswer] = key(
        lambda far: [MistakeAnswer(mistake) for mistake in far.mistakes]
    )
    """The single mistakes without which it would lie outside of none, the likeliest first."""


class FormerBuildAnswer(Answer):
    """A build of one gap in former units."""

    layout: str = key(lambda build: build.layout)
    """Its layout."""
    parts: list[list[str]] = key(lambda build: [[*place] for place in build.parts])
    """The sizes at each place whose part is chosen, in the order of the stack."""
    drums: int
    """How many units were built so."""


class LikeRoomsAnswer(Answer):
    """What was built in the rooms of former units that are like that of a gap."""

    gap: str
    """The gap's name."""
    within: Length
    """How far they are from it at most."""
    drums: int
    """How many units they are."""
    builds: list[FormerBuildAnswer] = key(
        lambda like: [FormerBuildAnswer(build=build, drums=drums) for build, drums in like.builds]
    )
    """Their builds, the most frequent first."""


class FormerUnitsAnswer(Answer):
    """What former units say of a job."""

    where: str | None
    """Where they are kept; null where there is no record at hand."""
    drums: int
    """How many they are."""
    doubted: list[DoubtedReadingAnswer] = key(
        lambda found: [DoubtedReadingAnswer(far) for far in found.far]
    )
    """Rooms far from theirs, or from the `spaces` of the unit file: doubt the readings first."""
    like_rooms: list[LikeRoomsAnswer] = key(
        lambda found: [LikeRoomsAnswer(like) for like in found.like]
    )
    """For each gap what was built in like rooms."""
    jobs_not_counted: list[UncountedJobAnswer] = key(
        lambda found: [UncountedJobAnswer(one) for one in found.uncounted]
    )
    """Kept jobs that do not count, with the reason."""


class RebuildAnswer(Answer, shape="gapwright fit 4"):
    """The answer to one rebuild."""

    job: str = key(lambda report: report.case.job.name)
    """The job's name."""
    unit: str = key(lambda report: report.case.unit.name)
    """The unit's name."""
    answer: Literal["fit", "no fit", "no reading", "undecided", "closed"]
    """Whether the job fits."""
    proved: bool
    """Whether the fit is proved best, or no fit proved."""
    reserved: ReservedAnswer | None = key(
        lambda report: report.reserved and ReservedAnswer(report.reserved)
    )
    """With `--reserve` and a fit: what was posted to the shelf's ledger; else null."""
    solved_again: int
    """How often the shelf changed under the answer, so that the job was solved again."""
    issued_before: int = key(lambda report: report.issued)
    """How many parts the ledger has as issued to the job and not returned."""
    closed: ClosingAnswer | None = key(
        lambda report: report.closed and ClosingAnswer(report.closed), left_out=True
    )
    """Of a job that is closed: when, and by whom."""
    promised: PromisedAnswer | None = key(_promised)
    """What is promised for the job: what stood before, or this answer where it was kept."""
    promise_kept: bool = key(lambda report: report.kept is not None)
    """With `--promise`, `--reserve` and a fit: whether the promise of this answer was kept."""
    not_as_promised: list[GapDifferenceAnswer] = key(_not_as_promised)
    """Where this answer differs from what was promised before, gap by gap."""
    layout_because: dict[str, str] = key(lambda report: report.layout_reasons)
    """For each gap whose chosen layout the unit file gives a reason for, that reason."""
    layouts_not_allowed: dict[str, list[str]] = key(
        lambda report: {name: why for name, why in report.barred.items() if why}
    )
    """For each gap the layouts the job's facts rule out, each with the fact and the reason."""
    set_aside: list[LotAnswer] = key(
        lambda report: [LotAnswer(one.part) for one in report.set_aside]
    )
    """Lots of the ledger that are called a size this unit does not have."""
    part_remarks: list[PartRemarkAnswer] = key(
        lambda report: [PartRemarkAnswer(remark) for remark in report.remarks]
    )
    """What is to be minded of the parts."""
    waiting: list[WaitingAnswer] = key(
        lambda report: waiting_answers(report.waiting, report.unread)
    )
    """Gaps that wait for readings."""
    former_units: FormerUnitsAnswer = key(lambda report: FormerUnitsAnswer(report.former))
    """What former units, and the `spaces` of the unit file, say of the readings."""


class FitAnswer(RebuildAnswer, BuildAnswer):
    """The answer to a rebuild that fits."""

    answer: Literal["fit"] = key(lambda _: "fit")
    """Every gap lands in its window."""
    proved: bool = key(lambda report: report.answer.proved)
    """Whether the build is proved best."""
    asked: DemandAnswer | None = key(_asked, left_out=True)
    """How sure each gap was asked to be."""
    leave: bool
    """Whether the build now in the unit is as good as any."""
    thin: ThinAnswer = key(ThinAnswer)
    """Its thin steels."""
    aims: list[AimAnswer] = key(
        lambda report: [
            AimAnswer(level, answer=report.answer, nth=nth)
            for nth, level in enumerate(report.answer.instance.levels)
        ]
    )
    """Every level of the aims, in order."""
    equal: list[EqualAnswer] = key(
        lambda report: [
            EqualAnswer(gap=gap.name, others=others)
            for gap, others in zip(report.gaps, report.equal, strict=True)
            if others != ()
        ]
    )
    """Gaps that can be built otherwise as well."""
    best: list[RankedAnswer] = key(lambda report: [RankedAnswer(one) for one in report.best])
    """With `--best`: the best builds in order, the first being the answer."""
    why_this_one: WhyThisOneAnswer | None = key(
        lambda report: report.why and WhyThisOneAnswer(report.why, instance=report.answer.instance),
        left_out=True,
    )
    """With `--why`: what each aim costs and how far each reading may be off."""


class NearestAnswer(Answer):
    """The nearest one gap comes to its window, all other windows dropped."""

    gap: str = key(lambda gap: gap.name)
    """The gap's name."""
    status: Literal["near", "unfillable", "unknown"]
    """`near`: proved nearest; `unfillable`: too few parts for its places; `unknown`: no time."""
    layout: str | None = key(
        lambda miss, gap: gap.layouts[miss.layout].name if miss.status == "near" else None
    )
    """The layout it comes nearest in."""
    nearest: Length | None = key(
        lambda miss, step: Length(miss.gap * step) if miss.status == "near" else None
    )
    """What the gap would be."""
    missed_by: Length | None = key(
        lambda miss, step: Length(miss.by * step) if miss.status == "near" else None
    )
    """How far that is outside the window; zero where the gap can be had alone."""


class ConditionAnswer(Answer):
    """One condition of a reason."""

    kind: Literal["lowest", "highest", "layout", "kept", "rule", "stock"]
    """What it is: a limit, a layout set aside, a part kept, a rule, or what is on hand."""
    words: Words = key(_words)
    """The condition in words of the bench."""


class ReasonAnswer(Answer):
    """Why nothing fits."""

    irreducible: bool = key(lambda report: bool(report.reason and report.reason.irreducible))
    """Whether it is proved that with any one less the rest could hold."""
    smallest: bool = key(lambda report: bool(report.reason and report.reason.smallest))
    """Whether it is proved that no reason is shorter."""
    conditions: list[ConditionAnswer] = key(
        lambda report: [
            ConditionAnswer(one, report=report, instance=report.answer.instance)
            for one in (report.reason.conditions if report.reason else ())
        ]
    )
    """Conditions that cannot hold together."""


class MistakeAnswer(Answer):
    """A single mistake that would explain a space."""

    words: str
    """The mistake in words."""
    reading: str
    """The reading it is told by."""
    meant: Length
    """What that reading would then have been."""


class DoubtfulAnswer(Answer):
    """A gap whose space no size could serve."""

    gap: str
    """The gap's name."""
    would_be_explained_by: list[MistakeAnswer] = key(
        lambda mistakes: [MistakeAnswer(mistake) for mistake in mistakes]
    )
    """The single mistakes that would explain it."""


class CountedAnswer(Answer):
    """So many parts of one size."""

    family: str
    """The family."""
    size: str
    """The size."""
    count: int
    """How many."""


class BoughtAnswer(CountedAnswer):
    """Parts of one size to buy, in whole packs."""

    packs: int = key(lambda choice, count: count // choice.pack)
    """How many packs that is, as the size is sold."""


class GapThenAnswer(Answer):
    """What a gap would be, and how sure."""

    gap: str
    """The gap's name."""
    gap_then: Length
    """What it would measure."""
    chance: ChanceAnswer
    """The chance that the true gap would lie in its window."""


class WayAnswer(Answer):
    """A way out of a no fit, verified by solving the job with it."""

    kind: Literal["buy", "release", "layout", "read again"] = key(lambda way: way.out.kind)
    """What is done: buy parts, give up something asked for, take another layout, read again."""
    buy: list[BoughtAnswer] = key(
        lambda way, instance: [
            BoughtAnswer(instance.choices[choice], count=count) for choice, count in way.out.buys
        ]
    )
    """What to buy."""
    cost: str | None = key(lambda way: None if way.out.cost is None else exact_money(way.out.cost))
    """What the packs cost, in the currency of the unit file; null where a price is not stated."""
    give_up: list[Words] = key(
        lambda way, report, instance: [_words(one, report, instance) for one in way.out.given_up]
    )
    """What to give up, in words."""
    read_again: list[str] = key(
        lambda way, instance: [instance.gaps[index].name for index in way.out.gaps]
    )
    """The gaps whose readings to take again."""
    gaps: list[GapThenAnswer] = key(
        lambda way: [
            GapThenAnswer(gap=gap.name, gap_then=gap.gap, chance=ChanceAnswer(chance))
            for gap, chance in zip(way.gaps, way.chances, strict=True)
        ]
    )
    """What every gap would be then; where readings are to be repeated, as they read now."""


class NoFitAnswer(RebuildAnswer):
    """The answer to a rebuild that nothing fits."""

    answer: Literal["no fit"] = key(lambda _: "no fit")
    """No build from what is on hand lands every gap in its window."""
    proved: bool = key(lambda _: True)
    """That nothing fits is proved."""
    nearest: list[NearestAnswer] = key(
        lambda report: [
            NearestAnswer(miss, gap=gap, step=report.answer.instance.step)
            for gap, miss in zip(report.answer.instance.gaps, report.answer.alone, strict=True)
        ]
    )
    """How near each gap comes."""
    why: ReasonAnswer = key(ReasonAnswer)
    """Why nothing fits."""
    doubtful: list[DoubtfulAnswer] = key(
        lambda report: [
            DoubtfulAnswer(gap=gap, mistakes=mistakes) for gap, mistakes in report.doubtful.items()
        ]
    )
    """Gaps whose space no size the unit is made in could serve."""
    ways_out: list[WayAnswer] = key(
        lambda report: [
            WayAnswer(way, report=report, instance=report.answer.instance) for way in report.ways
        ]
    )
    """What would help, each verified: the best of each kind first, in the order of the aims."""
    unsure: list[GapAnswer] | None = key(
        lambda report: _gaps(report.unsure) if report.unsure and report.unsure.sure else None,
        left_out=True,
    )
    """Where builds fit and none is as sure as asked: the best of them, gap by gap."""
    asked: DemandAnswer | None = key(_asked, left_out=True)
    """How sure each gap was asked to be."""


class UndecidedAnswer(RebuildAnswer):
    """The answer to a rebuild whose search was stopped before it was decided."""

    answer: Literal["undecided"] = key(lambda _: "undecided")
    """Neither a build nor a proof that there is none was found in time."""
    proved: bool = key(lambda _: False)
    """Nothing is."""
    asked: DemandAnswer | None = key(_asked, left_out=True)
    """How sure each gap was asked to be."""


class NothingReadAnswer(RebuildAnswer):
    """The answer to a rebuild of which every gap waits, and one or more read nothing."""

    answer: Literal["no reading"] = key(lambda _: "no reading")
    """Nothing was solved; `waiting` says what to read next."""
    proved: bool = key(lambda _: False)
    """Nothing is."""


class ClosedAnswer(RebuildAnswer):
    """The answer to a rebuild that was closed: nothing is solved, `promised` is its record."""

    answer: Literal["closed"] = key(lambda _: "closed")
    """The job is closed."""
    proved: bool = key(lambda _: False)
    """Nothing is."""


RebuildAnswers = FitAnswer | NoFitAnswer | NothingReadAnswer | ClosedAnswer | UndecidedAnswer


def answer_of(report: Report) -> RebuildAnswers:
    """Return the declared answer of a report, from which its JSON is made."""
    if isinstance(report.answer, ClosedJob):
        return ClosedAnswer(report)
    return NothingReadAnswer(report) if isinstance(report.answer, Unread) else solved_answer(report)


def solved_answer(report: Report) -> FitAnswer | NoFitAnswer | UndecidedAnswer:
    """Return the declared answer of a report of which some gap had all its readings."""
    if isinstance(report.answer, Fit):
        return FitAnswer(report)
    return NoFitAnswer(report) if isinstance(report.answer, NoFit) else UndecidedAnswer(report)


ANSWERS = {"fit": (FitAnswer, NoFitAnswer, NothingReadAnswer, ClosedAnswer, UndecidedAnswer)}
