"""What the aims of a job cost, from every build there is of it."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING

from solver.problem import judge
from tests.oracles.brute import LENGTHS, MEASURES, missed

if TYPE_CHECKING:
    from solver import Fit
    from solver.explain.aim_costs import AimCost, Shift
    from tests.oracles.brute import Brute

Values = tuple[int, ...]
Told = tuple[str, object, Fraction] | None
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

    def gains(self, aim: str) -> list[Told]:
        """The later aims that improve without one."""
        rest = [nth for nth, other in enumerate(self.aims) if other != aim]
        other = min(self.landing, key=lambda values: [values[nth] for nth in rest])
        later = {name for name in self.aims[self.aims.index(aim) :] if name != aim}
        told = [self.shift(other, name) for name in dict.fromkeys(self.aims) if name in later]
        return [shift for shift in told if shift and shift[2] < 0]

    def shift(self, values: Values, aim: str) -> Told:
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

    def more(self, aim: str) -> tuple[Told, Told] | tuple[int, int] | None:
        """The gain and what must yield; or the least miss; or nothing."""
        better = [values for values in self.landing if self.better(aim, values)]
        if better:
            other = min(better)
            first = next(name for name in self.aims if self.shift(other, name))
            return self.shift(other, aim), self.shift(other, first)
        return min(
            (miss for miss, values in self.missing if self.better(aim, values)), default=None
        )


def told(found: Fit, shift: Shift | None) -> Told:
    """A shift in the brute force's words."""
    assert shift is not None
    level = shift.level
    scale = found.instance.step if level.measure in LENGTHS else Fraction(1)
    return level.aim, (level.measure, level.shifts, level.grade), shift.by * scale


def more_of(found: Fit, cost: AimCost) -> tuple[Told, Told] | tuple[int, int] | None:
    """What more of an aim takes, in the brute force's words."""
    assert cost.more is not None
    if cost.more.fit is not None:
        return told(found, cost.more.gain), told(found, cost.more.yields)
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
        gains = None if cost.gains is None else [told(found, shift) for shift in cost.gains]
        if gains != every.gains(cost.aim):
            differences.append(f"{cost.aim}: {gains} is not {every.gains(cost.aim)}")
        if more_of(found, cost) != every.more(cost.aim):
            differences.append(f"{cost.aim}: {more_of(found, cost)} is not {every.more(cost.aim)}")
    return differences
