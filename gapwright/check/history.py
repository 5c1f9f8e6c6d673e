"""The history of checks: the bias and the spread of each gauge and of each hand.

A residual is the gap measured after assembly less the gap promised. An error that a gauge or a
hand makes each time moves the mean of its residuals; an error that differs from time to time is
their spread. A gauge that errs alike before and after assembly errs on both sides, which cancels
as far as both enter alike. A residual far from all others is a mistake of another kind and is left
aside, by name. A gap that reads nothing is no reading and has no residual. The limits are those of
`specs.uncertainty.confidence`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import median, stdev
from typing import TYPE_CHECKING, Literal

from gapwright.check.service import measured_gaps
from solver.engines.limits import Clock, Limits
from specs.errors import InputError, Problem, refusal
from specs.files.read_many import read_each, uncounted_for
from specs.files.shelf_address import is_ledger
from specs.uncertainty.confidence import mean_limits, spread_limits
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from specs.files.history import Uncounted
    from specs.gaps.built import Built
    from specs.models.case import Case
    from specs.uncertainty.confidence import Interval
    from specs.values.lengths import LengthUnit

FAR = 3  # times what the doubt explains, from the middle of the others
FEWEST = 2
UNNAMED = "(not named)"
PROMISES_ALONE = (
    "this ledger keeps what was promised, and what was measured after assembly stands in the job "
    "files: name these, or their folder"
)
NOTHING_MEASURED = "nothing was measured after assembly in any of these jobs; write `as built`"
NO_READING = (
    "each gap measured after assembly in these jobs reads nothing, which is no reading; run "
    "`gapwright check` on each"
)


@dataclass(frozen=True, slots=True)
class Residual:
    """One gap measured after assembly, with who measured it and by how much it differs."""

    job: str
    gap: str
    gauge: str
    hand: str
    more: Length
    """How much more than promised it measured."""
    u: Length
    """The standard uncertainty the files give that."""
    doubt: Length


@dataclass(frozen=True, slots=True)
class UnreadGap:
    """One gap whose gauge found nothing after assembly, so that it has no residual."""

    job: str
    gap: str


@dataclass(frozen=True, slots=True)
class LengthLimits:
    """A length with its 95 % confidence limits."""

    figure: Length
    low: Length
    high: Length


@dataclass(frozen=True, slots=True)
class GaugeOrHand:
    """The residuals of one gauge or one hand, with its bias and its spread."""

    kind: Literal["gauge", "hand"]
    name: str
    residuals: tuple[Residual, ...]
    """Those that count, in the order of the files."""
    bias: LengthLimits | None
    """By how much more than promised it measures on average; None for fewer than two."""
    spread: LengthLimits | None
    """The standard deviation of that; None for fewer than two."""
    stated: Length
    """The standard uncertainty the files give it, as a root mean square."""

    @property
    def is_off(self) -> bool:
        """Whether zero lies outside the limits of the bias."""
        return self.bias is not None and not self.bias.low.nm <= 0 <= self.bias.high.nm

    @property
    def wider(self) -> bool:
        """Whether the spread is greater than stated, beyond chance."""
        return self.spread is not None and self.spread.low > self.stated

    @property
    def narrower(self) -> bool:
        """Whether the spread is less than stated, beyond chance."""
        return self.spread is not None and self.spread.high < self.stated


@dataclass(frozen=True, slots=True)
class CheckHistory:
    """The checks of several jobs taken together."""

    cases: tuple[Case, ...]
    seen: tuple[GaugeOrHand, ...]
    """Each gauge, then each hand, by name."""
    aside: tuple[Residual, ...]
    """Residuals so far from the others that something else was the matter."""
    no_reading: tuple[UnreadGap, ...]
    """Gaps that read nothing after assembly."""
    nothing_measured: tuple[str, ...]
    """Jobs without anything measured after assembly."""
    uncounted: tuple[Uncounted, ...] = ()
    """Kept jobs that do not count, with the reason."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.cases[0].length


def look_back(
    paths: Iterable[Path],
    unit: Path | None = None,
    shelf: Path | str | None = None,
    limits: Limits | None = None,
) -> CheckHistory:
    """Read jobs, and estimate the bias and spread of each gauge and hand from what was built.

    Parameters
    ----------
    paths
        Job files, folders of them, or tables of readings.
    unit, shelf
        The unit's file and the shelf's file, kit or ledger, where the jobs' own are not meant.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.

    Raises
    ------
    InputError
        Where no gap of a job that can be read was measured after assembly, or none with a reading.
    """
    clock = Clock(limits or Limits())
    paths = [*paths]
    ledgers = [path for path in paths if is_ledger(path)]
    if ledgers:
        raise InputError(Problem(PROMISES_ALONE, str(ledgers[0])))
    read, uncounted = read_each(paths, unit, shelf)
    cases: list[Case] = []
    residuals: list[Residual] = []
    unread: list[UnreadGap] = []
    nothing = []
    for nth, case in enumerate(read, 1):
        clock.limits.watch.words = f"looking at job {nth} of {len(read)}"
        try:
            gaps = measured_gaps(case, clock) if _measured(case) else []
        except InputError as error:
            uncounted += (uncounted_for(error, case.origins["job"].source),)
            continue
        cases.append(case)
        residuals += [_residual(case, gap) for gap in gaps if not gap.nothing_at]
        unread += [UnreadGap(case.job.name, gap.gap) for gap in gaps if gap.nothing_at]
        nothing += [] if gaps else [case.job.name]
    if not residuals:
        problem = Problem(NO_READING if unread else NOTHING_MEASURED)
        raise refusal([problem, *(one.problem for one in uncounted)])
    kept, aside = parted(residuals)
    return CheckHistory(
        tuple(cases), tuple(seen_of(kept)), tuple(aside), tuple(unread), tuple(nothing), uncounted
    )


def _measured(case: Case) -> bool:
    return any(work.as_built for work in case.job.gaps.values())


def _residual(case: Case, gap: Built) -> Residual:
    as_built = case.job.gaps[gap.gap].as_built
    hand = (as_built.hand if as_built else None) or case.job.hand
    return Residual(
        case.job.name, gap.gap, gap.gauge or UNNAMED, hand or UNNAMED, gap.more, gap.u, gap.doubt
    )


def parted(residuals: Sequence[Residual]) -> tuple[list[Residual], list[Residual]]:
    """Separate the residuals that count from those far from the median of their gauge's.

    Far is more than FAR times the doubt that the files explain.
    """
    middles = {
        gauge: Length(median(one.more.nm for one in residuals if one.gauge == gauge))
        for gauge in {one.gauge for one in residuals}
    }
    kept: list[Residual] = []
    aside: list[Residual] = []
    for one in residuals:
        far = abs(one.more - middles[one.gauge]) > one.doubt * FAR
        (aside if far else kept).append(one)
    return kept, aside


def seen_of(residuals: Sequence[Residual]) -> Iterator[GaugeOrHand]:
    """Estimate the bias and the spread of every gauge and of every hand that is named."""
    for name in sorted({one.gauge for one in residuals}):
        yield _estimate("gauge", name, [one for one in residuals if one.gauge == name])
    for name in sorted({one.hand for one in residuals} - {UNNAMED}):
        yield _estimate("hand", name, [one for one in residuals if one.hand == name])


def _estimate(
    kind: Literal["gauge", "hand"], name: str, residuals: Sequence[Residual]
) -> GaugeOrHand:
    count = len(residuals)
    stated = sqrt(sum(float(one.u.nm) ** 2 for one in residuals) / count)
    if count < FEWEST:
        return GaugeOrHand(kind, name, tuple(residuals), None, None, _length(stated))
    values = [float(one.more.nm) for one in residuals]
    mean, spread = sum(values) / count, stdev(values)
    bias = _span(mean_limits(mean, spread, count))
    around = _span(spread_limits(spread, count))
    return GaugeOrHand(kind, name, tuple(residuals), bias, around, _length(stated))


def _span(found: Interval) -> LengthLimits:
    return LengthLimits(*(_length(end) for end in (found.figure, found.low, found.high)))


def _length(nm: float) -> Length:
    return Length(round(nm))
