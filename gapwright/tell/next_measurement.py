"""The next look or measurement that tells a part, each with the chance of being right after it.

A feature separates the candidates by what the unit file states of them. Of the candidates that show
the same, the likeliest is then taken. A candidate without a stated value counts as told wrongly, so
that the chance is no less than the one given. A gauge is weighed by the readings it would give,
over every thickness that each candidate may have after the reading at hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from gapwright.tell.candidates import feature_names, matches
from gapwright.tell.service import NextMeasurement
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.tell.service import Identification, Measured, Share, Teller
    from specs.uncertainty.density import ReadingDensity

LITTLE = 0.01
"""What raises the chance of being right by less is not named."""
CLEARLY = 0.9
"""A gauge is better where its variance is less by this factor."""
CELLS, MOST_STEPS = 24, 1_500


def next_measurements(identified: Identification) -> tuple[NextMeasurement, ...]:
    """Return what would tell a part better, the best first; a look goes before a gauge as good."""
    if len(identified.shares) < 2:  # noqa: PLR2004 - between two, at least
        return ()
    reading, teller = identified.part.reading, identified.teller
    if reading not in teller.looks:
        teller.looks[reading] = _worth_it(teller, identified)
    return teller.looks[reading]


def _worth_it(teller: Teller, identified: Identification) -> tuple[NextMeasurement, ...]:
    looks = [*_features(teller, identified), *_gauges(teller, identified)]
    worth = [look for look in looks if look.right > identified.shares[0].share + LITTLE]
    return tuple(sorted(worth, key=lambda look: -round(look.right, 4)))


def _features(teller: Teller, identified: Identification) -> Iterator[NextMeasurement]:
    candidates = [one.candidate for one in identified.shares]
    seen = {name for name, _ in identified.part.seen}
    for name in feature_names(candidates):
        if name in seen or name == "family":
            continue
        groups = _parted(identified.shares, name, teller)
        stated = [one for _, group in groups for one in group]
        values = tuple((value, tuple(str(one.candidate) for one in g)) for value, g in groups)
        if len(groups) > 1 and stated:
            right = sum(max(one.share for one in group) for _, group in groups)
            yield NextMeasurement("feature", name, right, values)


def _parted(shares: tuple[Share, ...], name: str, teller: Teller) -> list[tuple[str, list[Share]]]:
    """Group candidates by what they show; values that a person may not tell apart share a group."""
    length = teller.case.origins["unit"].length
    groups: list[tuple[str, list[Share]]] = []
    for one in shares:
        value = one.candidate.feature(name)
        if value is None:
            continue
        same = [g for v, g in groups if matches(v, value, length) or matches(value, v, length)]
        if same:
            same[0].append(one)
        else:
            groups.append((value, [one]))
    return groups


def _gauges(teller: Teller, identified: Identification) -> Iterator[NextMeasurement]:
    """Yield other gauges that tell more than the one the part was read with."""
    now = teller.gauge(identified.part.gauge).variance
    known = {name: name for name, gauge in teller.case.unit.gauges.items() if gauge.reads_parts}
    usual = teller.gauge("micrometer").variance
    if all(teller.gauge(name).variance > usual for name in known):
        tells = show(teller.case.tells("micrometer"), teller.case.length)
        known["micrometer"] = f"a micrometer good to {tells}"
    for name, words in known.items():
        better = teller.gauge(name)
        if better.variance < now * CLEARLY:
            yield NextMeasurement("gauge", words, _right_with(teller, identified, better))


@dataclass(frozen=True, slots=True)
class _Cell:
    """A piece of a candidate's range: its middle, its half width in nm, and its probability."""

    at: float
    half: float
    weight: float


def _right_with(teller: Teller, identified: Identification, gauge: ReadingDensity) -> float:
    """Return the chance of naming a part rightly once another gauge has read it too.

    It integrates, over the second reading, the greatest joint density of any candidate.
    """
    first = teller.gauge(identified.part.gauge, len(identified.part.at))
    cells = [_cells(one, identified.part, first) for one in identified.shares]
    every = [cell for own in cells for cell in own]
    halves = {cell.half for cell in every}
    blurred = {half: gauge.and_a(half) for half in halves}
    reach = max(spread.reach for spread in blurred.values())
    low, high = (pick(cell.at for cell in every) for pick in (min, max))
    finest = min(spread.variance for spread in blurred.values()) ** 0.5
    steps = min(MOST_STEPS, ceil((high - low + 2 * reach) / (finest / 3)))
    step = (high - low + 2 * reach) / steps
    right = 0.0
    for nth in range(steps):
        at = low - reach + (nth + 0.5) * step
        right += max(
            sum(cell.weight * blurred[cell.half].density(at - cell.at) for cell in own)
            for own in cells
        )
    return min(1.0, float(right * step))


def _cells(one: Share, part: Measured, gauge: ReadingDensity) -> list[_Cell]:
    """Divide a candidate's range into cells, weighted by the reading at hand."""
    low, high = float(one.candidate.low.nm), float(one.candidate.high.nm)
    half = (high - low) / (2 * CELLS)
    middles = [low + (2 * nth + 1) * half for nth in range(CELLS)] if half else [low]
    read = float(part.thickness.nm)
    weights = [gauge.density(read - at) for at in middles]
    total = sum(weights)
    if not total:  # a range narrower than its cells can show: anywhere in it alike
        weights, total = [1.0] * len(middles), float(len(middles))
    return [
        _Cell(at, half, one.share * weight / total)
        for at, weight in zip(middles, weights, strict=True)
        if weight
    ]
