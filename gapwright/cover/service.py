"""The service of `cover`: the spaces a kit or a shelf serves, with which builds, and the holes.

This file makes no sentences and prints nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor
from typing import TYPE_CHECKING, Any, TypedDict, Unpack, cast

from gapwright.fit.service import check_solvable
from gapwright.record.former_units import former_units
from gapwright.shelf.on_hand import stock_of
from solver.cover.addition import Addition, smallest_addition
from solver.cover.covering import Served, cover
from solver.engines.limits import Clock, Limits
from solver.problem.from_case import instance_of
from solver.problem.parameter import Sweep, factors_of, rates_of
from specs.errors import InputError, Problem
from specs.files.read import read_shelf
from specs.gaps.job_gap import JobGap
from specs.gaps.varied_reading import VariedReading, move_reading, move_space
from specs.parts.lookup import selective
from specs.values.lengths import ZERO, Length, LengthError, parse_length, show

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from solver.problem.gaps import GridLayout
    from solver.problem.instance import Instance
    from specs.files.history import History, Uncounted
    from specs.models.case import Case
    from specs.values.lengths import LengthUnit

MOST_VALUES = 20_000
STEPS: dict[LengthUnit, tuple[int, ...]] = {
    "in": (25_400, 12_700, 2_540),
    "thou": (25_400, 12_700, 2_540),
    "mm": (10_000, 5_000, 1_000),
}
"""What a shop reads to, in nanometres: 0.001, 0.0005, 0.0001 in and 0.01, 0.005, 0.001 mm."""


@dataclass(frozen=True, slots=True)
class CoverOptions:
    """The options of a cover; those left out are chosen from the unit."""

    gap: str = ""
    """Only this pack or end play; otherwise each in turn."""
    reading: str = ""
    """Move this reading, not the room for the stack."""
    alone: bool = False
    """Leave the other packs and end plays aside."""
    first: Length | None = None
    last: Length | None = None
    step: Length | None = None
    """From one value to the next."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A run of values between served ones at which nothing fits."""

    first: int
    last: int
    addition: Addition | None
    """The one size that would close it; None where none would, or time ran out."""
    looked: bool
    """Whether there was time to look for it."""


@dataclass(frozen=True, slots=True)
class Steps:
    """The rule of thumb for one family: its sizes must not step wider than the window."""

    family: str
    widest: Length
    sizes: tuple[str, str]
    window: Length

    @property
    def holds(self) -> bool:
        """Whether the family's sizes alone leave no hole between them."""
        return self.widest <= self.window


@dataclass(frozen=True, slots=True)
class Covered:
    """The cover of one space or reading that moves."""

    case: Case
    moving: VariedReading
    alone: bool
    """Whether other gaps were left aside, so that it may draw on the whole shelf."""
    gaps: tuple[str, ...]
    first: Length
    step: Length
    sweep: Sweep
    served: tuple[Served, ...]
    holes: tuple[Hole, ...]
    steps: tuple[Steps, ...]
    history: tuple[tuple[Length, int], ...]
    """Past drums: a length and how many had it."""

    @property
    def last(self) -> Length:
        """The last value looked at."""
        return self.at(self.sweep.count - 1)

    def at(self, nth: int) -> Length:
        """Return the value of number `nth`, 0 the first."""
        return self.first + self.step * nth


@dataclass(frozen=True, slots=True)
class Cover:
    """The covers of every space or reading that was asked for."""

    case: Case
    moved: tuple[Covered, ...]
    uncounted: tuple[Uncounted, ...] = ()
    """Kept jobs that do not count, with the reason."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.case.length

    @property
    def decided(self) -> bool:
        """Whether every value was decided before time ran out."""
        return not any(one.undecided for covered in self.moved for one in covered.served)


class CoverRange(TypedDict, total=False):
    """The values to go through, each a length or a text as the bench writes it."""

    first: Length | str | None
    last: Length | str | None
    step: Length | str | None


def cover_unit(
    file: Path,
    unit: Path | None = None,
    shelf: Path | str | None = None,
    options: CoverOptions | None = None,
    history: Path | str | None = None,
    limits: Limits | None = None,
    **span: Unpack[CoverRange],
) -> Cover:
    """Go through the spaces of a unit, and find the best build a kit or a shelf has for each.

    Parameters
    ----------
    file
        The file that holds or names the unit and the shelf, or that holds a kit. Where it also
        holds a job, the other gaps stand as that job has them.
    unit, shelf
        The unit's file and the shelf's file, kit or ledger, where others are meant.
    options
        What to move; every gap that has a part to choose unless stated.
    history
        A folder of job files, a ledger or a table of past drums, to mark where they lie.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    span
        `first`, `last` and `step` as texts, in the unit file's unit of length, in place of those
        of the options.

    Returns
    -------
    Cover
        For each gap or reading moved: what is served, with which builds, and the holes.

    Raises
    ------
    InputError
        With all that is wrong with the files, or where what is asked does not make sense.

    """
    case = read_shelf(file, unit, shelf)
    past = None if history is None else former_units(history, case).history(case)
    written: dict[str, Any] = {name: _length(case, name, one) for name, one in span.items()}
    options = replace(options or CoverOptions(), **written)
    uncounted = past.uncounted if past else ()
    return Cover(case, cover_case(case, options, past, limits), uncounted)


def _length(case: Case, name: str, value: object) -> Length | None:
    if not isinstance(value, str):
        return cast("Length | None", value)
    try:
        return parse_length(value, case.length)
    except LengthError as error:
        option = {"first": "--from", "last": "--to", "step": "--step"}[name]
        raise InputError(Problem(f"{option} {error}")) from None


def cover_case(
    case: Case, options: CoverOptions, history: History | None = None, limits: Limits | None = None
) -> tuple[Covered, ...]:
    """Cover one gap or reading of a case, or every gap in turn.

    Parameters
    ----------
    case
        The files as read.
    options
        The options of the cover.
    history
        Past drums, to mark where they lie.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.

    Raises
    ------
    InputError
        Where the options do not suit the unit, or the history has no column of what moves.
    """
    clock = Clock(limits or Limits())
    if options.reading:
        varied_readings = [move_reading(case, options.reading, options.gap)]
    elif options.gap:
        varied_readings = [move_space(case, options.gap)]
    else:
        open_ = [name for name in case.unit.gaps if not JobGap(case, name).settled]
        varied_readings = [move_space(case, name) for name in open_]
    _check_history(history, varied_readings)
    return tuple(_covered(case, moving, options, history, clock) for moving in varied_readings)


def _check_history(history: History | None, varied_readings: list[VariedReading]) -> None:
    names = [moving.name for moving in varied_readings]
    if history is not None and not set(names) & set(history.columns):
        found = f"found the columns {', '.join(history.columns)}"
        raise InputError(Problem(f"{found}; name one {' or '.join(names)}", history.file, 1))


def _covered(
    case: Case, moving: VariedReading, options: CoverOptions, history: History | None, clock: Clock
) -> Covered:
    gaps = _gaps(case, moving, options)
    check_solvable(moving.case, gaps)
    past: tuple[tuple[Length, int], ...] = ()
    if history is not None and moving.name in history.columns:
        past = tuple(sorted(history.column(moving.name).items()))
    instance = instance_of(moving.case, stock_of(moving.case, gaps).all, gaps)
    step = _resolution(case, moving, instance, past) if options.step is None else options.step
    if step <= ZERO:
        raise _usage(case, f"--step is {show(step, case.length)}; write a step above nothing")
    low, high = _range(moving, instance, step)
    first = low if options.first is None else options.first
    last = high if options.last is None else options.last
    count = floor((last - first).nm / step.nm) + 1
    _check_count(case, first, last, count)
    sweep = _sweep(moving, gaps, first, step, count)
    served = cover(sweep, clock.rest())
    return Covered(
        case, moving, len(gaps) < len(case.unit.gaps), gaps, first, step, sweep, served,
        tuple(_holes(sweep, served, clock)), tuple(_steps(case, moving)), past,
    )  # fmt: skip


def _gaps(case: Case, moving: VariedReading, options: CoverOptions) -> tuple[str, ...]:
    """Return the gaps that move, and those whose readings the job holds."""
    moved = moving.gaps()
    if options.alone or "job" not in case.origins["job"].source.data:
        return moved
    ready = [name for name in case.unit.gaps if not JobGap(moving.case, name).missing()]
    return tuple(name for name in case.unit.gaps if name in moved or name in ready)


def _resolution(
    case: Case, moving: VariedReading, instance: Instance, past: tuple[tuple[Length, int], ...]
) -> Length:
    """Return the coarsest step of a shop's that divides every length of the gap, or the finest."""
    lengths = [length.nm for length, _ in past]
    for gap in instance.gaps:
        for layout in gap.layouts if gap.name in moving.gaps() else ():
            steps = {take for place in layout.places for take in place.takes.values()}
            steps |= {end for end in (layout.low, layout.high, layout.aim) if end is not None}
            lengths += [step * instance.step for step in steps]
    unit = STEPS[case.length]
    return Length(next((s for s in unit if not any(nm % s for nm in lengths)), unit[-1]))


def _range(moving: VariedReading, instance: Instance, step: Length) -> tuple[Length, Length]:
    """Return the least and greatest value some size could serve, a window's width beyond."""
    ends: list[Fraction] = []
    for gap in instance.gaps:
        for layout in gap.layouts:
            factor = moving.factor(gap.name, layout.name)
            if factor:
                rooms = _rooms(layout)
                ends += [Fraction(room - layout.room) * instance.step / factor for room in rooms]
    low, high = floor(min(ends) / step.nm), ceil(max(ends) / step.nm)
    return step * low, step * high


def _rooms(layout: GridLayout) -> tuple[int, int]:
    """Return the least and the greatest room a layout's sizes serve, a window's width beyond."""
    least = most = 0
    for place in layout.places:
        sums = [n * take for take in place.takes.values() for n in (place.least, place.most)]
        least += min(sums, default=0)
        most += max(sums, default=0)
    low = (
        layout.high - layout.width if layout.low is None and layout.high is not None else layout.low
    )
    low = low or 0
    return least + low - layout.width, most + low + 2 * layout.width


def _check_count(case: Case, first: Length, last: Length, count: int) -> None:
    if count < 1:
        between = f"from {show(first, case.length)} to {show(last, case.length)} there is nothing"
        raise _usage(case, f"{between}; write a --to above --from")
    if count > MOST_VALUES:
        most = f"{MOST_VALUES:,} at most"
        raise _usage(
            case, f"these are {count:,} values, {most}; write a coarser --step, or --from and --to"
        )


def _usage(case: Case, sentence: str) -> InputError:
    return InputError(Problem(sentence, case.origins["unit"].source.file))


def _sweep(
    moving: VariedReading, gaps: tuple[str, ...], first: Length, step: Length, count: int
) -> Sweep:
    case = moving.at(first)
    lots = stock_of(case, gaps).all
    factors = {
        moving.factor(name, layout) for name in gaps for layout in case.unit.gaps[name].arrangements
    }
    also = [length * f for f in factors for length in (first, step, first + step * (count - 1))]
    instance = instance_of(case, lots, gaps, also=also)
    rates = rates_of(instance, factors_of(instance, moving.factor), step.nm)
    return Sweep(instance, rates, count)


def _holes(sweep: Sweep, served: tuple[Served, ...], clock: Clock) -> Iterator[Hole]:
    """Yield the runs of values without a fit that have a fit on both sides."""
    fits = [nth for nth, one in enumerate(served) if one.status == "fit"]
    for before, after in pairwise(fits):
        missed = served[before + 1 : after]
        if missed and all(one.status == "no fit" for one in missed):
            hole = replace(sweep, instance=sweep.at(before + 1), count=len(missed))
            addition = smallest_addition(hole, clock)
            yield Hole(before + 1, after - 1, addition, addition is not None or clock.left > 0)


def _steps(case: Case, moving: VariedReading) -> Iterator[Steps]:
    """Yield the rule of thumb for each family of the gap; none for a one-sided window."""
    for name in moving.gaps():
        seen: set[str] = set()
        for layout in JobGap(case, name).layouts.values():
            window = layout.window.gap
            for index, _ in selective(case.unit, layout):
                family = case.unit.family_name(layout.stack[index].part)
                if family not in seen and window.low is not None and window.high is not None:
                    seen.add(family)
                    factor = abs(layout.stack[index].factor)
                    yield from _widest(case, family, factor, window.high - window.low)


def _widest(case: Case, family: str, factor: Fraction, window: Length) -> Iterator[Steps]:
    sizes = sorted((s.nominal, name) for name, s in case.unit.families[family].sizes.items())
    apart = [
        ((two - one) * factor, (first, second)) for (one, first), (two, second) in pairwise(sizes)
    ]
    if apart:
        widest, names = max(apart, key=lambda pair: pair[0])
        yield Steps(family, widest, names, window)
