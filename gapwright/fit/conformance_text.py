"""The sentences on uncertainty: how sure a gap is, and what to measure again."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from gapwright.fit.decision_rule import percent_text
from gapwright.fit.gap_text import gap_text
from specs.uncertainty.distribution import MILLION
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.conformance import Conformance, GapConformance, MeasureAgain
    from gapwright.fit.decision_rule import Demand
    from gapwright.fit.report import Report
    from specs.uncertainty.distribution import Chance
    from specs.values.lengths import LengthUnit

MOST_NAMED = 3
FINE = 990_000  # from here a chance is told to a tenth of a percent
NEARLY = 999_000
SPLIT = 2_500  # bounds nearer than this are one figure to a person


def sure_words(sure: Conformance, name: str, unit: LengthUnit) -> Iterator[str]:
    """Say how sure one gap is."""
    gap = next(gap for gap in sure.gaps if gap.name == name)
    yield f"sure: {percent(gap.chance.least)} in its window (u {show(gap.u, unit)})"
    if gap.again:
        yield f"measure again: {_again(gap)}"


def unsure_words(unsure: Report, demand: Demand, unit: LengthUnit) -> Iterator[str]:
    """Say that no build is as sure as demanded, and how sure the best one is."""
    asked = percent_text(demand.percent)
    yield f"Builds land every gap in its window, but none makes every gap {asked} % sure."
    yield "The best of them, were that not asked:"
    for gap in unsure.gaps:
        parts = Counter(f"{line.family} {line.size}" for line in gap.steps if line.lot)
        words = ", ".join(f"{count} x {name}" for name, count in parts.items())
        yield f"  {gap.name}: {gap_text(gap, unit)}" + (f" with {words}" if words else "")
        if unsure.sure:
            yield from (f"    {line}" for line in sure_words(unsure.sure, gap.name, unit))
    if unsure.sure:
        yield from job_words(unsure.sure)


def tilt_words(sure: Conformance, unit: LengthUnit) -> Iterator[str]:
    """Name the readings whose places lie so far apart that something may lie askew."""
    for tilt in sure.tilted:
        one, two = tilt.places
        yield (
            f"TILTED? places {one} and {two} of `{tilt.reading}` of {tilt.gap} differ by "
            f"{show(tilt.apart, unit)}, more than even parts would."
        )
        yield "  See that every part lies flat and the load is even, and read again."


def job_words(sure: Conformance) -> Iterator[str]:
    """Say how sure all gaps of a job are together, where it has several."""
    if len(sure.gaps) > 1:
        yield f"sure of all gaps together: {_range(sure.every)}"


def percent(millionths: int) -> str:
    """Write a chance, given in millionths, as a person reads it; never rounded up."""
    if millionths == MILLION:
        return "100 %"
    if millionths >= NEARLY:
        return "over 99.9 %"
    if millionths >= FINE:
        tenths = millionths * 1_000 // MILLION
        return f"{tenths // 10}.{tenths % 10} %"
    return f"{millionths * 100 // MILLION} %"


def _range(chance: Chance) -> str:
    least, most = percent(chance.least), percent(chance.most)
    if least == most or chance.most - chance.least < SPLIT:
        return least
    upper = f", {most} at most" if chance.most < MILLION else ""
    return f"{least} at least{upper}: they share readings or parts"


def _again(gap: GapConformance) -> str:
    more = f", and {len(gap.again) - MOST_NAMED} more" if len(gap.again) > MOST_NAMED else ""
    named = gap.again[:MOST_NAMED]
    if named[0].then.least <= gap.chance.least:
        names = ", ".join(map(again_name, named))
        return f"{names}{more}; so near the limit only another figure makes it surer"
    words = (f"{again_name(one)} (at best {percent(one.then.least)} then)" for one in named)
    return ", ".join(words) + more


def again_name(again: MeasureAgain) -> str:
    """Name what to measure again."""
    if again.kind == "gauge":
        return f"with a better {again.name}"
    return f"`{again.name}`" if again.kind == "reading" else again.name
