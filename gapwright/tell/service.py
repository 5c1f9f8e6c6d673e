"""The sizes that a measured part can be, with the probability of each.

Before a reading, every size that agrees with what is seen counts as equally likely, and a part of a
size lies anywhere in its range with equal density. By Bayes' rule the probability of a size is the
density of the reading for it, divided by the sum over all sizes. A size is ruled out where fewer
than one in a thousand of its parts would read so far from its middle. Where no size is left, the
part is out of limits.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from gapwright.tell.candidates import agreeing, candidates_of, measured_things
from specs.gaps.uncertainty_budget import as_measured
from specs.parts.wear import Used, grounds_of, standing, uneven_grounds
from specs.uncertainty.density import ReadingDensity, gauge_spread
from specs.uncertainty.propagation import mean_of
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.tell.candidates import Candidate
    from specs.models.case import Case
    from specs.parts.wear import Ground, Standing
    from specs.values.lengths import LengthUnit

FEWEST = 1e-3
"""Parts of a size that read farther from its middle than all but so many are of another."""
NO_SHARE = 1e-4
"""A share smaller than this is not told."""
SURE = 0.95

Reading = tuple[Length, int, str, tuple[tuple[str, str], ...], bool]
Verdict = Literal["told", "between", "out of limits", "unknown"]


@dataclass(frozen=True, slots=True)
class Measured:
    """A part on the bench: its reading at each place, its gauge, and what is seen of it."""

    at: tuple[Length, ...]
    gauge: str = ""
    seen: tuple[tuple[str, str], ...] = ()
    used: bool = False
    flat: Length | None = None
    cone: Length | None = None
    found: tuple[str, ...] = ()
    """What was seen of its wear."""
    label: str = ""
    line: int = 0
    """Where a list has it."""

    @property
    def thickness(self) -> Length:
        """The average over its places."""
        return mean_of(self.at)

    @property
    def reading(self) -> Reading:
        """The values it is identified by; parts that share them are identified once."""
        return self.thickness, len(self.at), self.gauge, self.seen, self.used


@dataclass(frozen=True, slots=True)
class Share:
    """A size that a part can be, with its probability."""

    candidate: Candidate
    share: float


@dataclass(frozen=True, slots=True)
class NextMeasurement:
    """A feature to look at or a gauge to measure with next."""

    kind: Literal["feature", "gauge"]
    name: str
    right: float
    """The chance of being right about the part with it."""
    values: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Of a feature: what each candidate then shows."""


@dataclass(frozen=True, slots=True)
class Identification:
    """The findings on one part: its verdict, the sizes it can be, and its wear."""

    part: Measured
    verdict: Verdict
    shares: tuple[Share, ...]
    """The likeliest first."""
    nearest: Candidate | None = None
    """Out of limits: the size it is nearest to."""
    off: Length = ZERO
    """By how much it is thicker than that size may be, or thinner where negative."""
    grounds: tuple[Ground, ...] = ()
    """What keeps it off the shelf."""
    certain: bool = False
    """Whether it can be of no other size, however far its gauge and its size may be off."""
    teller: Teller = field(kw_only=True, compare=False, repr=False)
    """Who told it, and knows the unit."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.teller.case.length

    @property
    def standing(self) -> Standing | None:
        """Whether a used or an uneven part may go in, once it is identified; None for others."""
        if (self.part.used or self.grounds) and (self.verdict == "told" or self.nearest):
            return standing(self.grounds)
        return None

    @property
    def to_shelf(self) -> bool:
        """Whether it is identified, even, and, where it is used, good."""
        return self.verdict == "told" and self.standing in (None, "good")

    @property
    def candidate(self) -> Candidate:
        """The likeliest size; IndexError where there is none."""
        return self.shares[0].candidate

    @property
    def wrong(self) -> float:
        """The probability that it is not of the likeliest size."""
        return 1 - self.shares[0].share if self.shares else 1.0


@dataclass
class Teller:
    """Identifies the parts of one unit; parts with the same reading are worked out once.

    From the probability `sure` on, a part counts as of one size.
    """

    case: Case
    sure: float = SURE
    _agreeing: dict[tuple[object, ...], tuple[Candidate, ...]] = field(default_factory=dict)
    _spreads: dict[tuple[Length, str, int], ReadingDensity] = field(default_factory=dict)
    _known: dict[Reading, Identification] = field(default_factory=dict)
    looks: dict[Reading, tuple[NextMeasurement, ...]] = field(default_factory=dict)
    """What to look at next, as far as it was worked out (`next_measurement.py`)."""

    def tell(self, part: Measured) -> Identification:
        """Identify one part."""
        key = part.reading
        if key not in self._known:
            self._known[key] = self._tell(part)
        identified = replace(self._known[key], part=part)
        if part.used or len(part.at) > 1:
            return replace(identified, grounds=tuple(self._grounds(identified)))
        return identified

    def candidates(self, part: Measured) -> tuple[Candidate, ...]:
        """Return the sizes that nothing seen of a part contradicts."""
        key = (part.seen, part.used)
        if key not in self._agreeing:
            every = self.every(used=part.used)
            length = self.case.origins["unit"].length
            self._agreeing[key] = tuple(agreeing(every, dict(part.seen), length))
        return self._agreeing[key]

    def every(self, *, used: bool = False) -> tuple[Candidate, ...]:
        """Return everything of the unit that a thickness or a height can identify."""
        return (*candidates_of(self.case.unit, used=used), *measured_things(self.case))

    def by_thickness(self, part: Measured) -> Identification:
        """Identify a part by its thickness alone, whatever is seen of it."""
        return self.tell(replace(part, seen=()))

    def gauge(self, name: str, places: int = 1) -> ReadingDensity:
        """Return the distribution of a gauge's error, averaged over so many places."""
        return self.spread(ZERO, name, places)

    def spread(self, width: Length, gauge: str, places: int) -> ReadingDensity:
        """Return the distribution of a reading around the middle of a size.

        Parameters
        ----------
        width
            The width of the size's range.
        gauge
            The gauge's name; empty where none is named, as `Case.part_gauge` takes it.
        places
            The number of places the reading is the average of.
        """
        key = (width, gauge, places)
        if key not in self._spreads:
            limits = self.case.gauge(self.case.part_gauge(gauge)).limits
            together = float(limits.nm) if limits else 0.0
            alone = gauge_spread(as_measured(self.case, gauge), together, places)
            self._spreads[key] = alone.and_a(float(width.nm) / 2)
        return self._spreads[key]

    def _tell(self, part: Measured) -> Identification:
        candidates = self.candidates(part)
        if not candidates:
            return Identification(part, "unknown", (), teller=self)
        likely = [(one, self._likelihood(one, part)) for one in candidates]
        total = sum(weight for _, weight in likely)
        if not total:
            nearest = min(candidates, key=lambda one: abs(off_range(one, part.thickness)))
            off = off_range(nearest, part.thickness)
            return Identification(part, "out of limits", (), nearest, off, teller=self)
        shares = [Share(one, weight / total) for one, weight in likely if weight > NO_SHARE * total]
        shares.sort(key=lambda one: -one.share)
        verdict: Verdict = "told" if shares[0].share >= self.sure else "between"
        others = (one for one in candidates if one != shares[0].candidate)
        alone = not any(self._possible(one, part) for one in others)
        return Identification(part, verdict, tuple(shares), certain=alone, teller=self)

    def _grounds(self, identified: Identification) -> Iterator[Ground]:
        """Yield what keeps a part off the shelf, by its size or the nearest one."""
        part = identified.part
        one = identified.candidate if identified.verdict == "told" else identified.nearest
        family = self.case.unit.families.get(one.family) if one else None
        if family is None:
            return
        tells = self.case.tells(self.case.part_gauge(part.gauge))
        yield from uneven_grounds(part.at, tells, self.case.length)
        if part.used:
            used = Used(min(part.at), tells, part.flat, part.cone, part.found)
            yield from grounds_of(family, used, self.case.length, one.size if one else "")

    def _possible(self, candidate: Candidate, part: Measured) -> bool:
        """Say whether a part of this size may read so at all, however seldom."""
        spread = self.spread(candidate.high - candidate.low, part.gauge, len(part.at))
        return abs(float((part.thickness - candidate.middle).nm)) <= spread.reach

    def _likelihood(self, candidate: Candidate, part: Measured) -> float:
        spread = self.spread(candidate.high - candidate.low, part.gauge, len(part.at))
        away = float((part.thickness - candidate.middle).nm)
        return spread.density(away) if spread.beyond(away) >= FEWEST else 0.0


def off_range(candidate: Candidate, thickness: Length) -> Length:
    """Return how far a thickness is above a size's range; negative below it, zero inside."""
    if thickness > candidate.high:
        return thickness - candidate.high
    return min(thickness - candidate.low, ZERO)
