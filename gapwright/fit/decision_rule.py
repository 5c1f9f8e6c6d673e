"""The decision rule of `--sure`: only builds whose gaps each lie in their windows surely enough.

The chance is the conformance probability of JCGM 106, worked out for each build and rounded down.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem, quoted
from specs.uncertainty.distribution import MILLION

if TYPE_CHECKING:
    from gapwright.fit.build_uncertainty import BuildUncertainty
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import GapBuild
    from specs.uncertainty.distribution import Chance

LEAST_ASKED = 50  # percent


@dataclass(frozen=True, slots=True)
class Demand:
    """The least chance that each gap of a build must have to lie in its window, in percent."""

    percent: Fraction

    def met_by(self, chance: Chance) -> bool:
        """Tell whether a chance, rounded down, reaches the demand."""
        return chance.least * 100 >= self.percent * MILLION


def demand_of(sure: str | None, *, why: bool) -> Demand | None:
    """Read the option `--sure`.

    Parameters
    ----------
    sure
        A percentage from 50 to 99.99 as written, such as "95"; None where it is not given.
    why
        Whether `--why` is given along with it.

    Returns
    -------
    Demand or None
        How sure each gap must be; None where that is not asked.

    Raises
    ------
    InputError
        Where it is no such percentage, or `why` is given too.
    """
    if sure is None:
        return None
    if why:
        raise InputError(Problem("--why looks at all builds: ask it without --sure"))
    if not re.fullmatch(r"[0-9]{2}(\.[0-9]{1,2})?", sure) or Fraction(sure) < LEAST_ASKED:
        sentence = f"--sure: {quoted(sure)}; write a percentage from 50 to 99.99, such as 95"
        raise InputError(Problem(sentence))
    return Demand(Fraction(sure))


@dataclass(frozen=True, slots=True)
class ConformanceTest:
    """The test that the solver puts to each build of a gap: whether it is sure enough."""

    doubts: BuildUncertainty
    demand: Demand

    def __call__(self, gap: str, layout: GridLayout, build: GapBuild, left: int) -> bool:
        """Tell whether a build that leaves `left` steps of gap is sure enough."""
        return self.demand.met_by(self.doubts.chance(gap, layout, build, left))


def percent_text(percent: Fraction) -> str:
    """Write a percentage as it was asked for."""
    return f"{float(percent):g}"
