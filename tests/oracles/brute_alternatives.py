"""Every build of a small job, ranked: those as good as the best, the next best, what aims cost.

As good: equal on every aim before `spare`, the other gaps held. Two builds are the same to a
person where their layout and their counts by size are.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING

from solver.engines.limits import Clock, Limits
from solver.problem import judge
from solver.rebuild.alternatives import MOST, equal_builds
from tests.oracles.brute_force import LENGTHS, MEASURES, missed
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.explain.aim_costs import AimCost, Shift
    from solver.problem.instance import GapBuild
    from solver.problem.solution import Fit
    from specs.models.case import Case
    from tests.oracles.brute_force import Brute, Filling

Looks = tuple[str, frozenset[tuple[tuple[str, str], int]]]


def as_good(brute: Brute, index: int) -> list[Looks]:
    """How the other builds of one gap look that are as good, the best first."""
    best = brute.best_assignment()
    assert best is not None
    values, held = best
    aims = [level[0] for level in brute.levels]
    seen = aims.index("shims") if "shims" in aims else len(aims)
    found: dict[Looks, tuple[object, ...]] = {}
    for filling in brute.fillings(brute.gaps[index]):
        together = (*held[:index], filling, *held[index + 1 :])
        worth = brute.worth(together)
        if worth is None or worth[:seen] != values[:seen]:
            continue
        rank = worth, filling.order
        look = looks(brute, filling)
        found[look] = min(found.get(look, rank), rank)
    found.pop(looks(brute, held[index]), None)
    return sorted(found, key=lambda look: found[look])


def looks(brute: Brute, filling: Filling) -> Looks:
    """What of a filling a person can tell: its layout, and how many parts of each size."""
    kinds = [brute.kinds[kind] for here in filling.order[1] for kind in here]
    counts = Counter((kind.family, kind.size) for kind in kinds)
    return filling.stack.name, frozenset(counts.items())


def looks_of(fit: Fit, index: int, build: GapBuild) -> Looks:
    """How a build of the solver's looks."""
    choices = [fit.instance.choices[choice] for here in build.parts for choice in here]
    counts = Counter((choice.family, choice.size) for choice in choices)
    return fit.instance.gaps[index].layouts[build.layout].name, frozenset(counts.items())


def with_few_aims(seed: int) -> Case:
    """A random job in which much is equally good."""
    job = random_job(seed)
    aims = ["layout", "middle", "spare"] if seed % 3 else ["thin", "spare", "heat"]
    document = job.document | {"job": job.document["job"] | {"aims": aims}}
    return replace(job, document=document).case()


def equal_differences(brute: Brute, fit: Fit, index: int, *, listed: bool) -> tuple[list[str], int]:
    """In what the solver's equal builds are not the oracle's; and how many there are."""
    equal = equal_builds(fit, index, Clock(Limits()))
    best = as_good(brute, index)
    shown = best if listed else best[:MOST]
    looks = None if equal is None else [looks_of(fit, index, build) for build in equal]
    return ([] if looks == shown else [f"{looks} is not {shown}"]), len(best)


Values = tuple[int, ...]
Shifted = tuple[str, object, Fraction] | None
"""An aim, its level, and by how much another build is better or worse on it."""


class Everything:
    """Every build of a job, with the values of its levels."""

    def __init__(self, brute: Brute) -> None:
        self.times = brute.stacks.times
        self.keys = brute.levels
        aims = {measure: aim for aim, measures in MEASURES.items() for measure in measures}
        self.aims = [aims.get(measure, "thin") for measure, _, _ in brute.levels]
        each = [brute.fillings(gap) for gap in brute.gaps]
        self.landing: list[Values] = []
        self.missing: list[tuple[tuple[int, int], Values]] = []
        for together in product(*each):
            values = brute.worth(together, windows=False)
            if values is not None and any(filling.stack.miss(filling.gap) for filling in together):
                self.missing.append((missed(together), values))
            elif values is not None:
                self.landing.append(values)
        self.best = min(self.landing)

    def gains(self, aim: str) -> list[Shifted]:
        """The later aims that improve without one."""
        rest = [nth for nth, other in enumerate(self.aims) if other != aim]
        other = min(self.landing, key=lambda values: [values[nth] for nth in rest])
        later = {name for name in self.aims[self.aims.index(aim) :] if name != aim}
        found = [self.shift(other, name) for name in dict.fromkeys(self.aims) if name in later]
        return [shift for shift in found if shift and shift[2] < 0]

    def shift(self, values: Values, aim: str) -> Shifted:
        """By how much a build differs on an aim."""
        for name, key, mine, value in zip(self.aims, self.keys, self.best, values, strict=True):
            if name == aim and value != mine:
                return aim, key, Fraction(value - mine, self.over(key[0]))
        return None

    def over(self, measure: str) -> int:
        """What lengths are multiplied with."""
        return self.times if measure in LENGTHS else 1

    def better(self, aim: str, values: Values) -> bool:
        """Whether a build has more of an aim."""
        mine = [nth for nth, other in enumerate(self.aims) if other == aim]
        return [values[nth] for nth in mine] < [self.best[nth] for nth in mine]

    def more(self, aim: str) -> tuple[Shifted, Shifted] | tuple[int, int] | None:
        """The gain and what must yield; or the least miss; or nothing."""
        better = [values for values in self.landing if self.better(aim, values)]
        if better:
            other = min(better)
            first = next(name for name in self.aims if self.shift(other, name))
            return self.shift(other, aim), self.shift(other, first)
        return min(
            (miss for miss, values in self.missing if self.better(aim, values)), default=None
        )


def shift_of(found: Fit, shift: Shift | None) -> Shifted:
    """A shift in the brute force's words."""
    assert shift is not None
    level = shift.level
    scale = found.instance.step if level.measure in LENGTHS else Fraction(1)
    return level.aim, (level.measure, level.shifts, level.grade), shift.by * scale


def more_of(found: Fit, cost: AimCost) -> tuple[Shifted, Shifted] | tuple[int, int] | None:
    """What more of an aim takes, in the brute force's words."""
    assert cost.more is not None
    if cost.more.fit is not None:
        return shift_of(found, cost.more.gain), shift_of(found, cost.more.yields)
    build = cost.more.missing
    if build is None:
        return None
    ratios = []
    for index, (gap, built) in enumerate(zip(found.instance.gaps, build, strict=True)):
        width = gap.layouts[built.layout].width
        ratios.append(-(-10_000 * judge.miss_of(found.instance, build, index) // width))
    return max(ratios), sum(ratios)


def cost_differences(brute: Brute, found: Fit, costs: tuple[AimCost, ...]) -> list[str]:
    """In what some costs of aims are not those that all builds together say."""
    every = Everything(brute)
    differences = []
    for cost in costs:
        gains = None if cost.gains is None else [shift_of(found, shift) for shift in cost.gains]
        if gains != every.gains(cost.aim):
            differences.append(f"{cost.aim}: {gains} is not {every.gains(cost.aim)}")
        if more_of(found, cost) != every.more(cost.aim):
            differences.append(f"{cost.aim}: {more_of(found, cost)} is not {every.more(cost.aim)}")
    return differences
