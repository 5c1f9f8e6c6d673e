"""The chance that each true gap of a build lies in its window, and what to measure again.

Gaps that share a reading, a part or a gauge are not independent; `specs.uncertainty.joint` bounds
the chance that all of them lie in their windows. Chances are multiplied only over gaps that share
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import terms_of, tilts
from specs.uncertainty.distribution import CERTAIN, Chance
from specs.uncertainty.joint import Doubtful, chance_together, tied
from specs.uncertainty.propagation import COVERAGE, curve, standard, variance_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gapwright.fit.assembly import GapAssembly
    from specs.gaps.uncertainty_budget import Tilt
    from specs.models.case import Case
    from specs.models.lot import Lot
    from specs.uncertainty.propagation import Contribution
    from specs.values.lengths import Length

ENOUGH = 950_000  # millionths; below it, or below what is asked, it is said what would help


@dataclass(frozen=True, slots=True)
class MeasureAgain:
    """Something to measure again, and the chance of the gap if it came out the same.

    It then counts as free of doubt, so no better reading of it can bring more.
    """

    kind: str
    """reading, part or gauge."""
    name: str
    then: Chance


@dataclass(frozen=True, slots=True)
class GapConformance:
    """The chance that one gap lies in its window, and its uncertainty."""

    name: str
    u: Length
    """The combined standard uncertainty of the gap."""
    chance: Chance
    """That the true gap lies in its window."""
    again: tuple[MeasureAgain, ...]
    """Where that is low: what to measure again, what brings most first.

    Where the gap lies so near a limit that no better reading brings more, what leaves most doubt.
    """

    @property
    def expanded(self) -> Length:
        """The expanded uncertainty: in about 95 % the true gap lies within it of the gap given."""
        return self.u * COVERAGE


@dataclass(frozen=True, slots=True)
class Conformance:
    """The chances of a whole build: of each gap, and of all together."""

    gaps: tuple[GapConformance, ...]
    every: Chance
    """That all gaps lie in their windows."""
    tilted: tuple[Tilt, ...]

    def of(self, name: str) -> GapConformance:
        """Return the conformance of one gap, by its name."""
        return next(gap for gap in self.gaps if gap.name == name)


def conformance_of(case: Case, gaps: Sequence[GapAssembly], enough: int = ENOUGH) -> Conformance:
    """Work out the chance of each gap of a build to lie in its window, and that of all together.

    Parameters
    ----------
    case
        The job's files as read.
    gaps
        The assemblies of the build.
    enough
        A chance in millionths; a gap below it also says what to measure again.
    """
    doubts = [gap_terms(case, gap) for gap in gaps]
    sure = tuple(_gap_sure(*each, enough) for each in zip(gaps, doubts, strict=True))
    return Conformance(
        sure,
        _every(
            [
                Doubtful(*_ends(gap), terms, one.chance)
                for gap, terms, one in zip(gaps, doubts, sure, strict=True)
            ]
        ),
        tuple(tilt for gap in gaps for tilt in tilts(JobGap(case, gap.name), _layout(case, gap))),
    )


def chance_of(case: Case, gap: GapAssembly) -> Chance:
    """Return the chance that one gap of a build lies in its window."""
    return _inside(gap, gap_terms(case, gap))


def gap_terms(case: Case, gap: GapAssembly) -> tuple[Contribution, ...]:
    """Return the contributions to the uncertainty of one gap of a build."""
    placed: dict[str, tuple[Lot, ...]] = {}
    for line in gap.steps:
        if line.lot is not None:
            placed[line.label] = (*placed.get(line.label, ()), line.lot)
    return terms_of(JobGap(case, gap.name), _layout(case, gap), placed)


def _layout(case: Case, gap: GapAssembly) -> str:
    return case.unit.gaps[gap.name].layout_meant(gap.layout)


def _gap_sure(gap: GapAssembly, terms: Sequence[Contribution], enough: int) -> GapConformance:
    chance = _inside(gap, terms)
    again = _again(gap, terms, chance) if chance.least < enough else ()
    return GapConformance(gap.name, standard(variance_of(terms)), chance, tuple(again))


def _inside(gap: GapAssembly, terms: Sequence[Contribution]) -> Chance:
    return curve(terms).between(*_ends(gap))


def _ends(gap: GapAssembly) -> tuple[Length | None, Length | None]:
    """Return how far the limits of its window lie from a gap."""
    low = None if gap.low is None else gap.low - gap.gap
    return low, None if gap.high is None else gap.high - gap.gap


def _every(gaps: Sequence[Doubtful]) -> Chance:
    every = CERTAIN
    for members in tied(gaps):
        every *= chance_together([gaps[nth] for nth in members])
    return every


def _again(gap: GapAssembly, terms: Sequence[Contribution], now: Chance) -> list[MeasureAgain]:
    found, doubt = [], {}
    for kind, name in dict.fromkeys((term.source.kind, term.source.name) for term in terms):
        rest = [t for t in terms if (t.source.kind, t.source.name) != (kind, name)]
        doubt[kind, name] = variance_of(rest)
        then = _inside(gap, rest)
        if then.least > now.most:  # better for certain, not only by its bounds
            found.append(MeasureAgain(kind, name, then))
    if found:
        return sorted(found, key=lambda one: -one.then.least)  # those that bring the same stay put
    return [MeasureAgain(*one, now) for one in sorted(doubt, key=lambda one: doubt[one])]
