"""The same instance as a linear integer program with one variable for each part at each place.

Solved level by level with HiGHS, each level held by a row. HiGHS works in floating point, so
every optimum is rounded to a build, and the build is measured again in whole numbers; where that
is not what HiGHS says, the oracle fails rather than answers. The tie-break is left out.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from solver.problem.instance import GapBuild
from tests.oracles.values_of_builds import allowed, measured

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from solver.problem.aims import Level
    from solver.problem.gaps import GridLayout, GridPlace
    from solver.problem.instance import Build, ChoiceRule, Instance

Sum = dict[int, int]
OPTIMAL, INFEASIBLE = 0, 2


class MilpError(AssertionError):
    """HiGHS gave no answer, or one that does not hold in whole numbers."""


def total(*sums: Sum, by: int = 1) -> Sum:
    """Add sums up, and multiply."""
    found: Counter[int] = Counter()
    for each in sums:
        for variable, factor in each.items():
            found[variable] += factor * by
    return dict(found)


@dataclass
class Rows:
    """Variables with their bounds, and rows over them."""

    most: list[float] = field(default_factory=list)
    rows: list[tuple[Sum, float, float]] = field(default_factory=list)

    def variable(self, most: float = 1) -> int:
        """Add a whole number from 0 to `most`."""
        self.most.append(most)
        return len(self.most) - 1

    def row(self, sum_: Sum, low: float = -np.inf, high: float = np.inf) -> None:
        """Ask that a sum lie between two bounds."""
        self.rows.append((sum_, low, high))

    def holds(self, values: list[int]) -> Iterator[bool]:
        """Whether whole numbers keep each row."""
        for sum_, low, high in self.rows:
            yield low <= sum(factor * values[one] for one, factor in sum_.items()) <= high

    def least(self, goal: Sum) -> tuple[int, list[int]] | None:
        """The least value of a sum and the variables; nothing where the rows cannot hold."""
        width = len(self.most)
        cost = np.zeros(width)
        for variable, factor in goal.items():
            cost[variable] = factor
        matrix = np.zeros((len(self.rows), width))
        for nth, (sum_, _, _) in enumerate(self.rows):
            for variable, factor in sum_.items():
                matrix[nth, variable] = factor
        lows, highs = [low for _, low, _ in self.rows], [high for *_, high in self.rows]
        found = milp(
            cost,
            integrality=np.ones(width, dtype=np.int8),
            bounds=Bounds(0, np.array(self.most)),
            constraints=LinearConstraint(matrix, lows, highs),
            options={"mip_rel_gap": 0},
        )
        if found.status == INFEASIBLE:
            return None
        if found.status != OPTIMAL or found.fun is None or found.x is None:
            raise MilpError(found.message)
        return round(found.fun), [round(value) for value in found.x]


@dataclass(frozen=True, slots=True)
class Spot:
    """One place of one layout: how many of each choice lie there."""

    gap: int
    place: GridPlace
    holds: dict[int, int]


class PerPlace:
    """An instance with one variable for each part at each place."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.rows = Rows()
        self.layouts = [[self.rows.variable() for _ in gap.layouts] for gap in instance.gaps]
        self.spots: list[Spot] = []
        self.off: list[list[Sum]] = []
        self.ratio: list[list[Sum]] = []
        self.lacks: list[list[Sum]] = []
        self.by_layout: dict[tuple[int, int], list[Spot]] = {}
        for gap, chosen in enumerate(self.layouts):
            self.rows.row(dict.fromkeys(chosen, 1), 1, 1)
            self.off.append([])
            self.ratio.append([])
            self.lacks.append([])
            for nth, variable in enumerate(chosen):
                self._layout(gap, nth, variable)
        self.shared = [self._shared(index) for index in range(len(instance.shared))]
        for choice, stock in enumerate(instance.choices):
            self.rows.row(self._drawn({choice}), high=stock.count)
        for rule in instance.rules:
            self._rule(rule)

    def _layout(self, gap: int, nth: int, chosen: int) -> None:
        layout = self.instance.gaps[gap].layouts[nth]
        spots = [self._spot(gap, place, chosen) for place in layout.places]
        self.spots += spots
        self.by_layout[gap, nth] = spots
        takes: Sum = total(*({v: s.place.takes[c] for c, v in s.holds.items()} for s in spots))
        left = total({chosen: layout.room}, total(takes, by=-1))
        for end, low in ((layout.low, True), (layout.high, False)):
            if end is not None:
                bounds = (0, np.inf) if low else (-np.inf, 0)
                self.rows.row(total(left, {chosen: -end}), *bounds)
        self._deviation(gap, layout, total(left, {chosen: -layout.aim}))
        self._lacks(gap, layout, left, chosen)

    def _lacks(self, gap: int, layout: GridLayout, left: Sum, chosen: int) -> None:
        """What the gap lacks of its guard band: whole, so the band may be rounded up in the row."""
        if layout.guard is None:
            return
        lacks, band = self.rows.variable(np.inf), ceil(10_000 * layout.guard.band)
        for end, side in ((layout.guard.low, 1), (layout.guard.high, -1)):
            if end is not None:
                inside = total(left, {chosen: -end}, by=side * 10_000)
                self.rows.row(total({lacks: layout.width, chosen: -band}, inside), 0)
        self.lacks[gap].append({lacks: 1})

    def _deviation(self, gap: int, layout: GridLayout, off: Sum) -> None:
        far, ratio = self.rows.variable(np.inf), self.rows.variable(np.inf)
        self.rows.row(total({far: 1}, total(off, by=-1)), 0)
        self.rows.row(total({far: 1}, off), 0)
        self.rows.row({ratio: layout.width, far: -10_000}, 0)
        self.off[gap].append({far: 1})
        self.ratio[gap].append({ratio: 1})

    def _spot(self, gap: int, place: GridPlace, chosen: int) -> Spot:
        holds = {choice: self.rows.variable(place.most) for choice in place.takes}
        number = dict.fromkeys(holds.values(), 1)
        self.rows.row(total(number, {chosen: -place.least}), 0)
        self.rows.row(total(number, {chosen: -place.most}), high=0)
        return Spot(gap, place, holds)

    def _shared(self, index: int) -> dict[int, int]:
        """One variable for each choice of a shared part, which every place of it follows."""
        spots = [spot for spot in self.spots if spot.place.shared == index]
        one = {choice: self.rows.variable() for spot in spots for choice in spot.holds}
        self.rows.row(dict.fromkeys(one.values(), 1), high=1)
        for choice, variable in one.items():
            here = [spot.holds[choice] for spot in spots if choice in spot.holds]
            for held in here:
                self.rows.row({variable: 1, held: -1}, 0)
            self.rows.row({**dict.fromkeys(here, 1), variable: -1}, 0)
        return one

    def _drawn(self, choices: Iterable[int], gap: int = -1) -> Sum:
        """How many of some choices are used, in the job or in one gap; a shared part once."""
        wanted = set(choices)
        own = {
            variable: 1
            for spot in self.spots
            if spot.place.shared < 0 and gap in (-1, spot.gap)
            for choice, variable in spot.holds.items()
            if choice in wanted
        }
        return total(own, *(self._one(i, wanted, gap) for i in range(len(self.shared))))

    def _one(self, index: int, wanted: set[int], gap: int) -> Sum:
        if gap < 0:
            return {v: 1 for choice, v in self.shared[index].items() if choice in wanted}
        first: Sum = {}
        for (at, _), spots in self.by_layout.items():
            mine = [spot for spot in spots if at == gap and spot.place.shared == index]
            first |= {v: 1 for spot in mine[:1] for c, v in spot.holds.items() if c in wanted}
        return first

    def _rule(self, rule: ChoiceRule) -> None:
        first, second = self._drawn(rule.first, rule.gap), self._drawn(rule.second, rule.gap)
        if rule.kind in ("at most", "at least"):
            low, high = (-np.inf, rule.bound) if rule.kind == "at most" else (rule.bound, np.inf)
            self.rows.row(first, low, high)
            return
        one = self._used(first)
        if rule.kind == "must":
            self.rows.row(total(second, {one: -1}), 0)
        else:
            self.rows.row({one: 1, self._used(second): 1}, high=1)

    def _used(self, number: Sum) -> int:
        used = self.rows.variable()
        for variable in number:
            self.rows.row({variable: 1, used: -max(1, int(self.rows.most[variable]))}, high=0)
        return used

    # The levels.

    def goal(self, level: Level) -> Sum:
        """The sum that a level makes least."""
        gaps = range(len(self.instance.gaps))
        if level.measure in ("thin", "heat", "shims"):
            return total(*(self._weighed(spot, level) for spot in self.spots))
        ratios = [total(*self.ratio[gap]) for gap in gaps]
        return {
            "rank": self._rank,
            "near limits": lambda: total(*(each for gap in gaps for each in self.lacks[gap])),
            "worst middle": lambda: self._worst([self._beyond(gap) for gap in gaps]),
            "middle": lambda: total(*(self._beyond(gap) for gap in gaps)),
            "worst": lambda: self._worst(ratios),
            "ratio": lambda: total(*ratios),
            "deviation": lambda: total(*(each for gap in gaps for each in self.off[gap])),
            "change": self._change,
            "scarce": self._scarce,
        }[level.measure]()

    def _rank(self) -> Sum:
        return {
            variable: layout.rank
            for gap, chosen in zip(self.instance.gaps, self.layouts, strict=True)
            for layout, variable in zip(gap.layouts, chosen, strict=True)
        }

    def _of(self, gap: int) -> Iterable[tuple[int, GridLayout]]:
        return enumerate(self.instance.gaps[gap].layouts)

    def _weighed(self, spot: Spot, level: Level) -> Sum:
        choices = self.instance.choices
        if level.measure == "heat":
            return {v: spot.place.heat * choices[c].deficit for c, v in spot.holds.items()}
        if level.measure == "shims":
            stacked = (spot.place.least, spot.place.most) != (1, 1)
            return dict.fromkeys(spot.holds.values(), int(stacked))
        counts = self.instance.gaps[spot.gap].shifts == level.shifts
        return {v: int(counts and choices[c].grade == level.grade) for c, v in spot.holds.items()}

    def _beyond(self, gap: int) -> Sum:
        """How far a gap lies beyond the middle half of its window."""
        found: Sum = {}
        for nth, layout in self._of(gap):
            beyond = self.rows.variable(np.inf)
            chosen = {self.layouts[gap][nth]: 0 if layout.nearest else 2_500}
            self.rows.row(total({beyond: 1}, chosen, total(self.ratio[gap][nth], by=-1)), 0)
            found[beyond] = 1
        return found

    def _worst(self, each: list[Sum]) -> Sum:
        worst = self.rows.variable(np.inf)
        for sum_ in each:
            self.rows.row(total({worst: 1}, total(sum_, by=-1)), 0)
        return {worst: 1}

    def _change(self) -> Sum:
        found: Sum = {}
        for (gap, nth), spots in self.by_layout.items():
            chosen = self.layouts[gap][nth]
            found = total(found, {chosen: self.instance.gaps[gap].layouts[nth].moved})
            for spot in spots:
                if spot.place.now is not None and spot.place.shared < 0:
                    moved = self._moved(spot, spot.place.now, chosen)
                    found = total(found, {moved: spot.place.weight})
        for spec, one in zip(self.instance.shared, self.shared, strict=True):
            if spec.now is not None:
                moved = self.rows.variable(1)
                stays = {one[choice]: 1 for choice in spec.now if choice in one}
                self.rows.row({moved: 1, **stays}, 1)
                found[moved] = spec.weight
        return found

    def _moved(self, spot: Spot, now: tuple[int, ...], chosen: int) -> int:
        moved = self.rows.variable(np.inf)
        stays: Sum = {}
        for choice, count in Counter(now).items():
            if choice in spot.holds:
                stay = self.rows.variable(count)
                self.rows.row({spot.holds[choice]: 1, stay: -1}, 0)
                stays[stay] = 1
        for before in (dict.fromkeys(spot.holds.values(), -1), {chosen: -len(now)}):
            self.rows.row(total({moved: 1}, before, stays), 0)
        return moved

    def _scarce(self) -> Sum:
        found: Sum = {}
        for choices in self.instance.sizes.values():
            on_hand = sum(self.instance.choices[choice].count for choice in choices)
            steps = {self.rows.variable(): 10_000 // (on_hand - nth) for nth in range(on_hand)}
            drawn = self._drawn(choices)
            self.rows.row(total(drawn, dict.fromkeys(steps, -1)), 0, 0)
            found |= steps
        return found

    def build(self, values: list[int]) -> Build:
        """The build that the variables stand for."""
        found = []
        for gap, chosen in enumerate(self.layouts):
            nth = next(n for n, variable in enumerate(chosen) if values[variable])
            parts = (
                tuple(sorted(c for c, v in spot.holds.items() for _ in range(values[v])))
                for spot in self.by_layout[gap, nth]
            )
            found.append(GapBuild(nth, tuple(parts)))
        return tuple(found)


def best_values(instance: Instance) -> tuple[int, ...] | None:
    """The least value of every level in order; nothing where nothing fits."""
    if not all(gap.layouts for gap in instance.gaps):
        return None
    program = PerPlace(instance)
    if program.rows.least({}) is None:
        return None
    values: list[int] = []
    for level in instance.levels:
        goal = program.goal(level)
        found = program.rows.least(goal)
        if found is None:
            raise MilpError("a level that was reached cannot be held")
        value, variables = found
        build = program.build(variables)
        exact = measured(instance, build)[: len(values) + 1]
        if not allowed(instance, build) or exact != (*values, value):
            raise MilpError(f"{level}: HiGHS says {(*values, value)}, whole numbers {exact}")
        program.rows.row(goal, high=value)
        values.append(value)
    return tuple(values)
