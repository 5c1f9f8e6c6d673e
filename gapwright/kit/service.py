"""The service of `kit check`: the spaces a kit covers, the parts it lacks, what a job leaves over.

This file makes no sentences and prints nothing.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.cover.service import Covered, CoverOptions, cover_case
from gapwright.fit.report import exit_code as fit_code
from gapwright.kit.left_over import LeftOver, left_over
from gapwright.output.money import WHOLE
from gapwright.record.former_units import former_units
from gapwright.stock.instance import drums_in
from gapwright.stock.instance import gaps_of as gaps_in
from solver.engines.limits import Clock, Limits
from solver.stock.demand_patterns import served
from specs.errors import InputError, Problem
from specs.files.read import case_of, read_kit
from specs.formats.yaml import read
from specs.gaps.job_gap import JobGap
from specs.parts.kit_contents import all_held, as_shelf, check_options, gaps_of, held, replaced_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.files.history import History, Uncounted
    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.parts.kit_contents import Sizes
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class Need:
    """The least and the greatest number of parts of a family that some gaps take."""

    least: int
    most: int


@dataclass(frozen=True, slots=True)
class Lack:
    """A family of which a kit holds fewer parts than the gaps take that it is for."""

    family: str
    held: int
    need: Need


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A part that every overhaul replaces, and of which a kit holds too few."""

    name: str
    held: int
    count: int
    because: str
    said_by: str
    """unit or kit."""


@dataclass(frozen=True, slots=True)
class PastDrums:
    """The drums of a history that a kit serves, each with some of its gaps out of one kit."""

    gaps: tuple[str, ...]
    drums: int
    served: int
    only_to_limit: int
    """How many of those served have no build that keeps every gap clear of its limits."""
    uncounted: tuple[Uncounted, ...]
    """Kept jobs that do not count, with the reason."""


@dataclass(frozen=True, slots=True)
class KitCheck:
    """The findings on a kit: its covers, what it lacks, and what a job takes of it."""

    case: Case
    options: tuple[str, ...]
    """Those taken with it."""
    contents: Sizes
    price: int | None
    """Of the parts that have one, in ten-thousandths of the currency; None where none has."""
    unpriced: tuple[str, ...]
    covers: tuple[Covered, ...]
    not_covered: tuple[tuple[str, str], ...]
    """Gaps that cannot be gone through, with why."""
    nothing_to_choose: tuple[str, ...]
    lacks: tuple[Lack, ...]
    left_out: tuple[LeftOut, ...]
    past: PastDrums | None
    job: LeftOver | None

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.case.length

    @property
    def holes(self) -> int:
        """The number of holes between rooms that are served, over all gaps."""
        return sum(len(one.holes) for one in self.covers)

    @property
    def unserved(self) -> int:
        """The number of gaps of which no room at all is served."""
        return sum(not {"fit", "unknown"} & statuses(one) for one in self.covers)

    @property
    def short(self) -> int:
        """The number of families with fewer parts than any layout takes."""
        return sum(lack.need.least > lack.held for lack in self.lacks)

    @property
    def complete(self) -> bool:
        """Whether every gap is covered without a hole and no part that is needed is missing."""
        lacking = self.holes or self.unserved or self.short
        return not (lacking or self.left_out or self.not_covered)

    @property
    def undecided(self) -> bool:
        """Whether time ran out before every value was decided."""
        return any(one.undecided for covered in self.covers for one in covered.served)


def statuses(covered: Covered) -> set[str]:
    """Return the statuses that occur among the rooms of a gap: fit, no fit, unknown."""
    return {one.status for one in covered.served}


def exit_code(check: KitCheck) -> int:
    """Return the exit code of `kit check`.

    0 stands for a complete kit whose job fits, 3 for one that lacks something or whose job does not
    fit, 4 for time that ran out first.
    """
    codes = [3 * (not check.complete), 4 * check.undecided]
    codes += [fit_code(check.job.report)] if check.job else []
    return 3 if 3 in codes else max(codes)  # noqa: PLR2004 - what lacks is certain, time or no time


def check_kit(
    kit: Path,
    unit: Path | None = None,
    job: Path | None = None,
    history: Path | str | None = None,
    options: tuple[str, ...] = (),
    limits: Limits | None = None,
) -> KitCheck:
    """Say what a kit covers, what it lacks, and what a job would leave over.

    Parameters
    ----------
    kit
        The kit's file.
    unit
        The unit's file, where the kit's own is not meant.
    job
        A job to build from the kit.
    history
        A folder of job files, a ledger or a table of past drums, to count those it serves.
    options
        The names of the kit's options to take.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.

    Returns
    -------
    KitCheck
        What each gap is served with the whole kit, what is short or left out, and the job.

    Raises
    ------
    InputError
        With all that is wrong with the files.

    """
    case = read_kit(kit, unit)
    check_options(case, options)
    case = as_shelf(_with_job(case, job) if job else case, options)
    past = former_units(history, case).history(case, gaps_of(case)) if history else None
    return check_case(case, options, limits, past)


def _with_job(case: Case, job: Path) -> Case:
    """Return a kit's case with a job of the same unit; the job's own shelf is ignored.

    Raises InputError where the job is of another unit.
    """
    source = read(job)
    source = replace(source, data={k: v for k, v in source.data.items() if k != "shelf"})
    if "unit" in source.data:
        own = case_of(source, needs=("unit", "job"))
        if own.unit.name != case.unit.name:
            sentence = f"this job is of {own.unit.name}, and the kit for {case.unit.name}"
            raise InputError(own.origins["job"].problem((), sentence))
    asked = case_of(source, unit=Path(case.origins["unit"].source.file), needs=("unit", "job"))
    origins = {**case.origins, "job": asked.origins["job"]}
    return replace(case, job=asked.job, length=asked.length, origins=origins)


def check_case(
    case: Case,
    options: tuple[str, ...] = (),
    limits: Limits | None = None,
    history: History | None = None,
) -> KitCheck:
    """Check the kit of a case as read.

    Parameters
    ----------
    case
        The kit's files, with a job or without; the kit is the case's shelf.
    options
        The names of the kit's options taken with it.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    history
        Past drums, to count those the kit serves.

    Raises
    ------
    InputError
        Where the history has no column of what the kit is for, or no gap of the job is ready.
    """
    clock = Clock(limits or Limits())
    bare, mine, contents = _without_job(case), gaps_of(case), held(case, options)
    open_ = [name for name in mine if not JobGap(case, name).settled]
    covers: list[Covered] = []
    not_covered: list[tuple[str, str]] = []
    for name in open_:
        try:
            covers += cover_case(bare, CoverOptions(name, alone=True), None, clock.rest())
        except InputError as error:
            not_covered.append((name, error.problems[0].sentence))
    price, unpriced = _priced(case, contents)
    has_job = "job" in case.origins["job"].source.data
    return KitCheck(
        case, options, contents, price, unpriced, tuple(covers), tuple(not_covered),
        tuple(name for name in mine if name not in open_),
        tuple(_lacks(case, mine, contents)), tuple(_left_out(case, options)),
        _past(bare, history, contents) if history else None,
        left_over(case, options, clock.rest()) if has_job else None,
    )  # fmt: skip


def _without_job(case: Case) -> Case:
    """Return the case without the parts of a job's own unit, which no kit holds; its facts stay."""
    return replace(case, job=case.job.model_copy(update={"gaps": {}, "readings": {}}))


def _past(case: Case, history: History, contents: Sizes) -> PastDrums:
    """Count the drums that one kit serves, each with all listed gaps that the kit is for."""
    mine = gaps_of(case)
    gaps = tuple(name for name in gaps_in(case, history) if name in mine)
    if not gaps:
        sentence = f"no column is of what the kit is for; name one {' or '.join(mine)}"
        raise InputError(Problem(sentence, history.file, 1))
    instance, (drums,), (clear,) = drums_in(case, gaps, history)
    kit = {nth: contents[part.family, part.size] for nth, part in enumerate(instance.choices)}
    number = served(drums, kit)
    limit = number - served(clear, kit)
    return PastDrums(gaps, drums.total(), number, limit, history.uncounted)


def _priced(case: Case, contents: Sizes) -> tuple[int | None, tuple[str, ...]]:
    """Return the sum of the prices, and the families that have a part without a price."""
    total, priced, unpriced = 0, False, []
    for (family, size), count in contents.items():
        spec = case.unit.families[family].sizes.get(size)
        if spec is None or spec.price is None:
            unpriced.append(family)
        else:
            total += count * int(spec.price * WHOLE)
            priced = True
    return total if priced else None, tuple(dict.fromkeys(unpriced))


def _lacks(case: Case, gaps: tuple[str, ...], contents: Sizes) -> Iterator[Lack]:
    """Yield chosen families with too few parts, and fixed ones of which the kit holds too few."""
    for family, need in needs(case, gaps).items():
        count = _number_of(family, contents)
        chosen = case.unit.families[family].fixed is None
        if (chosen and not count) or (count < need.least and (chosen or count)):
            yield Lack(family, count, need)


def _number_of(name: str, parts: Sizes) -> int:
    """Count the parts of a family, or of a part that is of no family."""
    return sum(number for (family, _), number in parts.items() if family == name)


def _left_out(case: Case, options: tuple[str, ...]) -> Iterator[LeftOut]:
    everything = all_held(case, options)
    for name, (part, said_by) in replaced_in(case).items():
        here = _number_of(name, everything)
        if here < part.count:
            yield LeftOut(name, here, part.count, part.because, said_by)


def needs(case: Case, gaps: Iterable[str]) -> dict[str, Need]:
    """Return how many parts some gaps of a unit take together, by family in the unit file's order.

    A part that gaps share counts once. Layouts that the job's facts rule out are ignored.
    """
    least: Counter[str] = Counter()
    most: Counter[str] = Counter()
    shared: dict[str, bool] = {}
    for name in gaps:
        layouts = [*JobGap(case, name).layouts.values()]
        counts = [_taken(layout) for layout in layouts]
        for part in {part for low, high in counts for part in (*low, *high)}:
            lows, highs = [low[part] for low, _ in counts], [high[part] for _, high in counts]
            if part in case.unit.shared_parts:
                shared[part] = shared.get(part, False) or bool(min(lows))
            else:
                least[part] += min(lows)
                most[part] += max(highs)
    for part, always in shared.items():
        family = case.unit.shared_parts[part].family
        least[family] += always
        most[family] += 1
    return {name: Need(least[name], most[name]) for name in case.unit.families if most[name]}


def _taken(layout: Arrangement) -> tuple[Counter[str], Counter[str]]:
    """Return the least and the greatest number of each part that a layout's places take."""
    low: Counter[str] = Counter()
    high: Counter[str] = Counter()
    for place in layout.stack:
        low[place.part] += place.how_many[0]
        high[place.part] += place.how_many[1]
    return low, high
