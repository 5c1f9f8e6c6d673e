"""Builds that must be sure enough: by their chance, or by a guard band within the window.

The chance is that of JCGM 106, each build's own, rounded down. The guard band is the decision rule
of ISO 14253-1:2017: to be accepted, a gap keeps away from each limit by the one-sided factor of the
conformance probability (1.645 at 95 %) times its standard uncertainty. That factor looks at one
limit alone; where a window is so narrow that the other one matters too, the rule does not hold.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil
from statistics import NormalDist
from typing import TYPE_CHECKING

from specs.chance import MILLION
from specs.doubt import curve, variance_of
from specs.errors import InputError, Problem, quoted
from specs.lengths import Length
from specs.sources import as_sold, terms_of

if TYPE_CHECKING:
    from collections.abc import Hashable

    from solver.task import Choice, GapBuild, Layout
    from specs.case import Case
    from specs.chance import Chance, Curve

LEAST_ASKED = 50  # percent
FAR = Fraction(329, 100)  # beyond so many standard uncertainties less than 0.0005 is left


@dataclass(frozen=True, slots=True)
class Demand:
    """How sure each gap of a build must be, in percent."""

    percent: Fraction
    guard: bool = False
    """Whether by a guard band rather than by the chance itself."""
    whole: bool = False
    """Whether all gaps together must be so sure, not only each."""

    def met_by(self, chance: Chance) -> bool:
        """Whether a chance, rounded down, is as good as is asked."""
        return chance.least * 100 >= self.percent * MILLION

    @property
    def factor(self) -> Fraction:
        """The one-sided factor of the guard band, never rounded down."""
        exact = NormalDist().inv_cdf(float(self.percent) / 100)
        return Fraction(ceil(exact * MILLION), MILLION)


def demand_of(
    sure: str | None, job: str | None, guard: str | None, *, why: bool, best: int = 1
) -> Demand | None:
    """Read what is asked on the command line; raises InputError where it cannot be asked."""
    options = {"--sure": sure, "--sure-job": job, "--guard": guard}
    asked = [(option, text) for option, text in options.items() if text is not None]
    if not asked:
        return None
    if len(asked) > 1:
        raise InputError(Problem(f"ask for one of {', '.join(options)}"))
    ((option, text),) = asked
    if why:
        raise InputError(Problem(f"--why looks at all builds: ask it without {option}"))
    if job is not None and best > 1:
        raise InputError(Problem("--best looks at each gap for itself: ask it without --sure-job"))
    if not re.fullmatch(r"[0-9]{2}(\.[0-9]{1,2})?", text) or Fraction(text) < LEAST_ASKED:
        sentence = f"{option}: {quoted(text)}; write a percentage from 50 to 99.99, such as 95"
        raise InputError(Problem(sentence))
    return Demand(Fraction(text), guard=guard is not None, whole=job is not None)


@dataclass(slots=True)
class Surely:
    """Says of each build of a gap whether it is sure enough."""

    case: Case
    choices: tuple[Choice, ...]
    step: Fraction
    demand: Demand
    narrow: set[str] = field(default_factory=set)
    """Gaps with a window too narrow for the guard band of some build."""
    guarded: set[str] = field(default_factory=set)
    """Gaps with a build that keeps its guard band."""
    _known: dict[Hashable, tuple[Curve, Fraction]] = field(default_factory=dict)
    """For builds alike in their doubt, how far they may be off and their variance."""
    _said: dict[Hashable, bool] = field(default_factory=dict)

    def __call__(self, gap: str, layout: Layout, build: GapBuild, left: int) -> bool:
        """Whether a build of a gap is sure enough when it leaves so many steps."""
        doubt = gap, layout.name, self.signature(layout, build)
        asked = (doubt, layout.low, layout.high, left)
        if asked not in self._said:
            if doubt not in self._known:
                self._known[doubt] = self._weighed(gap, layout, build)
            ends = [None if end is None else end - left for end in (layout.low, layout.high)]
            low, high = (None if end is None else Length(end * self.step) for end in ends)
            self._said[asked] = self._enough(gap, *self._known[doubt], low, high)
        return self._said[asked]

    def signature(self, layout: Layout, build: GapBuild) -> Hashable:
        """What the doubt of a build hangs on, so that builds alike in it are weighed once.

        Of parts as sold it is how many are in doubt by how much. Of a measured lot it is how many
        are used, whichever lot it is; and the unit's own parts may be those of the trial build.
        """
        used: dict[int, Counter[tuple[Fraction, int]]] = {}
        for place, parts in zip(layout.places, build.parts, strict=True):
            for part in parts:
                used.setdefault(part, Counter())[place.factor, place.shared] += 1
        alike: Counter[Hashable] = Counter()
        for part, places in used.items():
            lot = self.choices[part].lots[0]
            if lot.own:
                alike[part, frozenset(places.items())] += 1
            elif lot.measured:
                alike[lot.gauge, lot.within, frozenset(places.items())] += 1
            else:
                for (factor, _), times in places.items():
                    alike[as_sold(self.case, lot.family, lot.size), factor] += times
        return frozenset(alike.items())

    def _weighed(self, gap: str, layout: Layout, build: GapBuild) -> tuple[Curve, Fraction]:
        placed = {
            place.label: tuple(self.choices[part].lots[0] for part in parts)
            for place, parts in zip(layout.places, build.parts, strict=True)
        }
        terms = terms_of(self.case, gap, layout.name, placed)
        return curve(terms), variance_of(terms)

    def _enough(
        self, gap: str, off: Curve, variance: Fraction, low: Length | None, high: Length | None
    ) -> bool:
        if self.demand.guard:
            return self._guarded(gap, variance, low, high)
        return self.demand.met_by(off.between(low, high))

    def _guarded(
        self, gap: str, variance: Fraction, low: Length | None, high: Length | None
    ) -> bool:
        factor = self.demand.factor
        if low is not None and high is not None:
            width = (high - low).nm
            if variance and width**2 < (factor + FAR) ** 2 * variance:
                self.narrow.add(gap)
                return False
        away = [-low.nm if low is not None else None, high.nm if high is not None else None]
        kept = all(room is None or (room >= 0 and room**2 >= factor**2 * variance) for room in away)
        self.guarded |= {gap} if kept else set()
        return kept

    def check_wide(self) -> None:
        """Raise InputError where a window was too narrow for the guard band's rule."""
        gaps = sorted(self.narrow - self.guarded)
        if gaps:
            sentence = (
                f"no build of {', '.join(gaps)} can be guarded: the window is so narrow beside the "
                "doubt that both its sides matter, and the guard band of ISO 14253-1 looks at one; "
                f"ask for --sure {percent_text(self.demand.percent)} instead, or measure better"
            )
            raise InputError(Problem(sentence))


def percent_text(percent: Fraction) -> str:
    """A percentage as it was asked for."""
    return f"{float(percent):g}"
