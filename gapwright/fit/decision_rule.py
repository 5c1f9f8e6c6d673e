"""Builds that must be sure enough: by their chance, or by a guard band within the window.

The chance is that of JCGM 106, each build's own, rounded down. The guard band is the decision rule
of ISO 14253-1:2017: to be accepted, a gap keeps away from each limit by the one-sided factor of the
conformance probability (1.645 at 95 %) times its standard uncertainty. That factor looks at one
limit alone; where a window is so narrow that the other one matters too, the rule does not hold.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil
from statistics import NormalDist
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, quoted
from specs.uncertainty.distribution import MILLION

if TYPE_CHECKING:
    from gapwright.fit.build_uncertainty import Doubts
    from solver.problem.instance import GapBuild, GridLayout
    from specs.uncertainty.distribution import Chance
    from specs.values.lengths import Length

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

    doubts: Doubts
    demand: Demand
    narrow: set[str] = field(default_factory=set)
    """Gaps with a window too narrow for the guard band of some build."""
    guarded: set[str] = field(default_factory=set)
    """Gaps with a build that keeps its guard band."""

    def __call__(self, gap: str, layout: GridLayout, build: GapBuild, left: int) -> bool:
        """Whether a build of a gap is sure enough when it leaves so many steps."""
        if not self.demand.guard:
            return self.demand.met_by(self.doubts.chance(gap, layout, build, left))
        variance = self.doubts.variance(gap, layout, build)
        return self._guarded(gap, variance, *self.doubts.ends(layout, left))

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
