"""The report of a rebuild: its answer and every finding around it, as data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypedDict

from gapwright.fit.conformance import ENOUGH
from gapwright.record.former_findings import FormerFindings
from solver.problem.solution import Fit, NoFit, Undecided
from specs.gaps.job_gap import JobGap
from specs.models.layouts import reason_of

if TYPE_CHECKING:
    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.conformance import Conformance
    from gapwright.fit.decision_rule import Demand
    from gapwright.fit.explanation import Explanation
    from gapwright.fit.no_reading import NoReading
    from gapwright.fit.part_remarks import PartRemark
    from inventory.chain import Link
    from inventory.movements import Balance, Part
    from solver.explain.conflict import Reason
    from solver.explain.ways_out import WayOut
    from solver.problem.solution import Answer
    from solver.rebuild.thin_steels import ThinGrade
    from specs.gaps.job_gap import AtPlace, Space
    from specs.gaps.suspected_mistakes import Mistake
    from specs.models.case import Case
    from specs.models.record import Closed, Promised
    from specs.uncertainty.distribution import Chance
    from specs.values.lengths import Length, LengthUnit


@dataclass(frozen=True, slots=True)
class Reseat:
    """A place of a reading at which the gap would lie outside the window, unlike the average."""

    gap: str
    at: AtPlace
    would_be: Length


@dataclass(frozen=True, slots=True)
class NearLimit:
    """A gap near a limit of its window: by its guard band, or by its chance."""

    gap: str
    lacks: Length
    """How much it lacks of its guard band; zero where it keeps it."""
    chance: Chance
    """That the true gap lies in its window."""
    instead: tuple[GapAssembly, ...] | None = None
    """Where `safe` is not among the aims: the best build with it, where that keeps it clearer."""


@dataclass(frozen=True, slots=True)
class Unguarded:
    """The build that would be best without `safe`, where that has fewer thin steels."""

    gaps: tuple[GapAssembly, ...]
    sure: Conformance
    near: bool
    """Whether it comes near a limit; otherwise it only comes near no clearance at all, where a
    window states no low end."""

    @property
    def thin(self) -> int:
        """How many of its steels are thin."""
        return sum(gap.thin for gap in self.gaps)


@dataclass(frozen=True, slots=True)
class Ranked:
    """One of the best builds: its gaps, and the first aim on which it is worse than the best."""

    gaps: tuple[GapAssembly, ...]
    yields: str
    """Empty where it is as good on every aim."""
    proved: bool


@dataclass(frozen=True, slots=True)
class TriedWay:
    """A way out of a no fit, with the build it leads to and the chance of each of its gaps."""

    out: WayOut
    gaps: tuple[GapAssembly, ...]
    chances: tuple[Chance, ...]


@dataclass(frozen=True, slots=True)
class Reserved:
    """The parts that were posted to the shelf's ledger for an answer, under its job's name."""

    promised: Promised
    """The promise that stands there since."""
    reserved: tuple[tuple[Part, int], ...] = ()
    released: tuple[tuple[Part, int], ...] = ()
    """What an earlier answer had kept for the job and this one does not take."""
    kept: int = 0
    """How many parts were reserved for it before and stay so."""


class Begun(TypedDict):
    """What is known of a build from its case and its layouts alone, as a `BuildReport` takes it."""

    case: Case
    barred: dict[str, list[str]]
    spaces: dict[str, Space]
    fewer_places: tuple[tuple[str, str, int, int], ...]


def begun(case: Case, layouts: dict[str, str]) -> Begun:
    """Return what is known of a build from its case and the layout of each of its gaps."""
    return {
        "case": case,
        "barred": {name: JobGap(case, name).barred for name in layouts},
        "spaces": {name: JobGap(case, name).space(layout) for name, layout in layouts.items()},
        "fewer_places": tuple(
            (name, *places) for name in layouts for places in JobGap(case, name).fewer_places()
        ),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildReport:
    """A build of one job with its case, and all that is to be minded before parts are changed.

    `fit` gives one, and `batch` one for each job it completes.
    """

    case: Case
    barred: dict[str, list[str]]
    """For each gap, the layouts the job's facts rule out, with the reason."""
    spaces: dict[str, Space]
    """The space of each solved gap, in its chosen or its best layout."""
    fewer_places: tuple[tuple[str, str, int, int], ...]
    """Gaps with a reading taken at fewer places than asked for: its name, asked and given."""
    gaps: tuple[GapAssembly, ...] = ()
    remarks: tuple[PartRemark, ...] = ()
    """What is to be minded of its parts."""
    sure: Conformance | None = None
    """How sure the build is; None where there is none."""
    close: tuple[NearLimit, ...] = ()
    """The gaps near a limit, the least sure first."""
    reseat: tuple[Reseat, ...] = ()
    former: FormerFindings = field(default_factory=FormerFindings)
    """What former units say of the job: readings to doubt, what was built in like rooms."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.case.length

    @property
    def layout_reasons(self) -> dict[str, str]:
        """The unit file's reason for the layout of each gap of a build that has one."""
        written = self.case.unit.gaps
        reasons = {
            gap.name: reason_of(gap.layout, written[gap.name].arrangements[gap.layout])
            for gap in self.gaps
            if gap.layout
        }
        return {name: reason for name, reason in reasons.items() if reason}

    @property
    def enough(self) -> int:
        """The chance, in millionths, below which the report says what to measure again."""
        return ENOUGH


@dataclass(frozen=True, slots=True)
class Unread(Undecided):
    """No gap was solved: all wait, and one or more of them read nothing. Its instance has none."""


@dataclass(frozen=True, slots=True)
class ClosedJob(Undecided):
    """No gap was solved, since the job was closed. Its instance has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report(BuildReport):
    """The answer to one rebuild, with its case and every finding around it.

    A field that was not asked for or does not apply keeps its default.
    """

    answer: Answer
    solved: tuple[str, ...]
    """The gaps whose readings are there, in the unit file's order."""
    waiting: dict[str, tuple[str, ...]]
    """The other gaps, with the readings they wait for."""
    unread: dict[str, NoReading] = field(default_factory=dict)
    """Those that wait because they read nothing, each with the trial build to make next."""
    leave: bool = False
    """Whether the build now in the unit is as good as any."""
    fewest_thin: tuple[ThinGrade, ...] | None = None
    """The thin steels of the job, grade by grade, where they are all that counts; empty where the
    build has none, None where it was not proved."""
    unguarded: Unguarded | None = None
    """Where `safe` cost thin steels: the build without it."""
    equal: tuple[tuple[GapAssembly, ...] | None, ...] = ()
    """For each gap, the other ways to build it as well; None where not all were looked at."""
    doubtful: dict[str, tuple[Mistake, ...]] = field(default_factory=dict)
    """Gaps whose space no size could serve, with the single mistakes that would explain it."""
    reason: Reason | None = None
    """Why nothing fits."""
    ways: tuple[TriedWay, ...] = ()
    """What would help where nothing fits, each verified."""
    reserved: Reserved | None = None
    """What was posted to the ledger, where that was asked for and something fits."""
    solved_again: int = 0
    """How often the shelf changed while this was solved, so that it was solved again."""
    closed: Closed | None = None
    """How the job was closed; nothing is solved then."""
    issued: int = 0
    """How many parts the ledger has as issued to the job and not returned."""
    set_aside: tuple[Balance, ...] = ()
    """Lots of the ledger that are called a size their family does not have in this unit."""
    link: Link | None = None
    """The last link of the ledger when the parts were chosen from it."""
    standing: Promised | None = None
    """What was promised for the job before."""
    kept: Promised | None = None
    """The promise that was kept of this answer, where that was asked for and something fits."""
    anew: Report | None = None
    """Where this is the build promised, and the answer differs from it by now: that answer."""
    best: tuple[Ranked, ...] = ()
    """The best builds in order, where they were asked for; the first is the answer."""
    demand: Demand | None = None
    """How sure each gap was asked to be."""
    unsure: Report | None = None
    """Where no build is as sure as that: the best that is not."""
    why: Explanation | None = None
    """What each aim costs and how far each reading may be off, where it was asked for."""

    @property
    def enough(self) -> int:
        """The chance, in millionths, below which the report says what to measure again."""
        asked = int(self.demand.percent * 10_000) if self.demand else 0
        return max(ENOUGH, asked)


def exit_code(report: Report) -> int:
    """Return the exit code of a command with this answer.

    0 stands for a proved fit, and for a closed job, where nothing is left to do; 3 for no fit or a
    gap without a reading, 4 for a search that stopped before a proof. A promise that stands is a
    fit.
    """
    if isinstance(report.answer, ClosedJob) or report.anew:
        return 0
    if isinstance(report.answer, NoFit | Unread):
        return 3
    proved = isinstance(report.answer, Fit) and report.answer.proved
    return 4 if not proved else 3 if report.unread else 0
