"""The sentences of a cover: which values are served, the holes and what closes them, the builds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.cover.answer import (
    Run,
    gaps_at,
    past,
    same_parts,
    spans,
    thin_zones,
    to_the_limit,
)
from gapwright.output.text_table import table
from gapwright.record.former_units_text import uncounted_words
from specs.gaps.varied_reading import ROOM
from specs.values.lengths import number, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.cover.answer import GapAt, PastOnAxis
    from gapwright.cover.service import Cover, Covered, Hole, Steps
    from solver.cover.covering import Served
    from specs.values.lengths import LengthUnit

WIDTH = 72
BUILDS = ("value", "gap", "thin", "builds", "best build")
MARKS = {"fit": "#", "no fit": ".", "unknown": "?"}
LIMIT = "+"
"""The mark of what is served only up to the limit."""


def cover_text(cover: Cover, unit: LengthUnit) -> Iterator[str]:
    """Write the cover of each space line by line, one after the other."""
    for nth, one in enumerate(cover.moved):
        yield from [""] * bool(nth)
        yield from _lines(one, unit)
    yield from uncounted_words(cover.uncounted)


def _lines(covered: Covered, unit: LengthUnit) -> Iterator[str]:
    yield head(covered, unit)
    yield from (f"  {line}" for line in standing(covered))
    yield f"  [{strip(covered)}]"
    first, last = number(covered.at(0), unit), show(covered.last, unit)
    yield f"   {first}{last:>{WIDTH - len(first)}}"
    yield from (f"  {line}" for line in served_words(covered, unit))
    yield from (f"  hole: {hole_words(covered, hole, unit)}" for hole in covered.holes)
    yield from (f"  {line}" for line in further_words(covered, unit))
    rows = [BUILDS, *build_rows(covered, unit)]
    if len(rows) > 1:
        yield from (f"  {line}" for line in table(rows))


def served_words(covered: Covered, unit: LengthUnit) -> Iterator[str]:
    """Say how many values are served, and from where to where."""
    served = spans(covered)
    count = sum(run.last - run.first + 1 for run in served)
    yield f"served: {count} of {covered.sweep.count} values" + (":" if served else "")
    yield from (f"  {between(covered, run, unit)}" for run in served)
    close = to_the_limit(covered)
    if close:
        values = sum(run.last - run.first + 1 for run in close)
        yield f"of these only up to the limit, marked {LIMIT}: {values}:"
        yield from (f"  {between(covered, run, unit)}" for run in close)


def further_words(covered: Covered, unit: LengthUnit) -> Iterator[str]:
    """Say where thin steels are needed, and what else was found besides the holes."""
    yield from _undecided(covered)
    yield from _thin(covered, unit)
    yield from _rule(covered, unit)
    yield from _past(covered)


def head(covered: Covered, unit: LengthUnit) -> str:
    """Name what moves, and from where to where."""
    moving = covered.moving
    what = ROOM if moving.reading == ROOM else f"reading of {', '.join(moving.gaps())}"
    reach = f"{number(covered.at(0), unit)} to {show(covered.last, unit)}"
    return f"{moving.name}: {what}, {reach} by {number(covered.step, unit)}"


def standing(covered: Covered) -> Iterator[str]:
    """Say what the other gaps do meanwhile."""
    others = [name for name in covered.gaps if name not in covered.moving.gaps()]
    if others:
        yield f"the others stand as the job has them: {', '.join(others)}"
    aside = [name for name in covered.case.unit.gaps if name not in covered.gaps]
    if aside:
        yield (f"each alone: it may draw on the whole shelf; left aside: {', '.join(aside)}")


def strip(covered: Covered) -> str:
    """Draw the values as one line of marks; where several share a mark, the worst counts.

    From the best: served, served only up to the limit, undecided, not served.
    """
    marks = ["."] * WIDTH
    worst = {MARKS["fit"]: 0, LIMIT: 1, MARKS["unknown"]: 2, MARKS["no fit"]: 3}
    count = covered.sweep.count
    for column in range(WIDTH):
        first = column * count // WIDTH
        here = covered.served[first : max(first + 1, (column + 1) * count // WIDTH)]
        marks[column] = max(map(_mark, here), key=worst.__getitem__)
    return "".join(marks)


def _mark(one: Served) -> str:
    return LIMIT if one.only_to_limit else MARKS[one.status]


def between(covered: Covered, run: Run, unit: LengthUnit) -> str:
    """Write a run of values by its ends."""
    first, last = covered.at(run.first), covered.at(run.last)
    return show(first, unit) if first == last else f"{number(first, unit)} to {show(last, unit)}"


def hole_words(covered: Covered, hole: Hole, unit: LengthUnit) -> str:
    """Describe a hole and the one size that would close it."""
    where = between(covered, Run(hole.first, hole.last), unit)
    if hole.addition is None:
        none = (
            "no one size would close it" if hole.looked else "no time was left to look for a size"
        )
        return f"{where}; {none}"
    part = covered.sweep.instance.choices[hole.addition.choice]
    return f"{where}; {hole.addition.count} x {part.family} {part.size} more would close it"


def _undecided(covered: Covered) -> Iterator[str]:
    count = sum(one.status == "unknown" for one in covered.served)
    if count:
        yield f"undecided: {count} values, for want of time; give it more: --time 300"
    close = sum(one.undecided for one in covered.served) - count
    if close:
        yield f"undecided whether only up to the limit: {close} values; give it more: --time 300"


def _thin(covered: Covered, unit: LengthUnit) -> Iterator[str]:
    zones = [(run, thin) for run, thin in thin_zones(covered) if thin]
    if zones:
        yield "thin steels are needed:"
        yield from (f"  {between(covered, run, unit)}   {thin}" for run, thin in zones)


def _rule(covered: Covered, unit: LengthUnit) -> Iterator[str]:
    if not covered.steps:
        return
    yield "rule of thumb, steps no wider than the window:"
    yield from (f"  {_step_words(steps, unit)}" for steps in covered.steps)
    holds = any(steps.holds for steps in covered.steps)
    if holds and covered.holes:
        yield "  there are holes all the same: too few sizes on hand, or a rule in the way"
    if not holds and not covered.holes:
        yield "  there is no hole all the same: the parts together make up for it"


def _step_words(steps: Steps, unit: LengthUnit) -> str:
    """Write the rule of thumb for one family."""
    low, high = steps.sizes
    verdict = "holds" if steps.holds else "does not hold"
    return (
        f"{steps.family}: {number(steps.widest, unit)} from {low} to {high}, "
        f"window {show(steps.window, unit)}: {verdict}"
    )


def _past(covered: Covered) -> Iterator[str]:
    if not covered.history:
        return
    told = past(covered)
    yield past_words(told)
    if told.seen < told.drums:
        yield f"  {told.drums - told.seen} more lie between or beyond the values looked at"


def past_words(told: PastOnAxis) -> str:
    """Say how many past drums are served, and how many of these only up to the limit."""
    close = f", {told.only_to_limit} of these only up to the limit" * bool(told.only_to_limit)
    return f"past drums: {told.served} of {told.seen} are served{close}"


def build_rows(covered: Covered, unit: LengthUnit) -> Iterator[tuple[str, ...]]:
    """Yield a row for each run of one best build, with the columns of `BUILDS`."""
    for run in same_parts(covered):
        first, last = gaps_at(covered, run.first), gaps_at(covered, run.last)
        yield (
            between(covered, run, unit),
            "; ".join(_reach(one, other, unit) for one, other in zip(first, last, strict=True)),
            str(sum(gap.thin for gap in first)),
            _counted(covered, run),
            _parts_words(first),
        )


def _reach(first: GapAt, last: GapAt, unit: LengthUnit) -> str:
    ends = sorted({first.gap, last.gap})
    return " to ".join([*(number(end, unit) for end in ends[:-1]), show(ends[-1], unit)])


def _counted(covered: Covered, run: Run) -> str:
    counts = {one.builds for one in covered.served[run.first : run.last + 1]}
    known = sorted(count for count in counts if count is not None)
    if not known:
        return "-"
    return str(known[0]) if len(known) == 1 else f"{known[0]} to {known[-1]}"


def _parts_words(gaps: tuple[GapAt, ...]) -> str:
    """List the chosen parts of gaps in a few words."""
    told = []
    for gap in gaps:
        parts = ", ".join(
            f"{count} x {family} {size}" if count > 1 else f"{family} {size}"
            for family, size, count in gap.parts
        )
        told.append(
            (f"{gap.name}: " if len(gaps) > 1 else "")
            + (f"{gap.layout}: " * bool(gap.layout))
            + parts
        )
    return "; ".join(told)
