"""An instance written out per position, the way a peer would be given it: rows, columns, levels.

One 0/1 column says that a place of a layout holds a choice. Columns that come out whole by
themselves (deviations, worst values, steps of scarcity) are left continuous, as a modeller who
knows the trade would leave them. A level's row is there from the start, open above until the
level is known. Only places for exactly one part, and no rules: the jobs timed here have no more.
The tie-break is left out, which spares the peers a search that ours makes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, inf
from typing import TYPE_CHECKING

from solver.problem.gaps import MIDDLE, RATIO

if TYPE_CHECKING:
    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap, GridLayout
    from solver.problem.instance import Instance

Terms = dict[int, int]


@dataclass(slots=True)
class Columns:
    """What one layout of one gap is made of."""

    layout: GridLayout
    chosen: int
    held: list[dict[int, int]]
    """For each place, the column that says it holds a choice."""
    gap: Terms
    measures: dict[str, Terms] = field(default_factory=dict)


class Positions:
    """The whole job per position."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.whole: list[bool] = []
        self.most: list[float] = []
        self.rows: list[tuple[Terms, float, float]] = []
        self.drawn: dict[int, Terms] = {}
        self.shared = [
            {choice: self.column(1) for choice in _asked_of(instance, nth)}
            for nth in range(len(instance.shared))
        ]
        self.gaps = [self._gap(gap) for gap in instance.gaps]
        self._stock()
        self.levels = [self._level(level) for level in instance.levels]

    def column(self, most: float, *, whole: bool = True) -> int:
        """Add a column from 0 to `most`."""
        self.whole.append(whole)
        self.most.append(most)
        return len(self.most) - 1

    def row(self, terms: Terms, low: float, high: float) -> None:
        """Add a row between two bounds."""
        self.rows.append((terms, low, high))

    def _gap(self, gap: GridGap) -> list[Columns]:
        layouts = [self._layout(layout) for layout in gap.layouts]
        self.row({columns.chosen: 1 for columns in layouts}, 1, 1)
        return layouts

    def _layout(self, layout: GridLayout) -> Columns:
        columns = Columns(layout, self.column(1), [], {})
        columns.gap[columns.chosen] = layout.room
        for place in layout.places:
            held = {choice: self.column(1) for choice in place.takes}
            columns.held.append(held)
            self.row(dict.fromkeys(held.values(), 1) | {columns.chosen: -1}, 0, 0)
            least = min(place.takes.values(), default=0)
            columns.gap[columns.chosen] -= least  # small coefficients keep tolerances small
            for choice, column in held.items():
                columns.gap[column] = least - place.takes[choice]
                if place.shared < 0:
                    self.drawn.setdefault(choice, {})[column] = 1
                else:
                    self.row({column: 1, self.shared[place.shared][choice]: -1}, -inf, 0)
        if layout.low is not None:
            self.row(_less(columns.gap, columns.chosen, layout.low), 0, inf)
        if layout.high is not None:
            self.row(_less(columns.gap, columns.chosen, layout.high), -inf, 0)
        columns.measures = self._measures(columns)
        return columns

    def _measures(self, columns: Columns) -> dict[str, Terms]:
        layout = columns.layout
        off, ratio = self.column(inf, whole=False), self.column(inf)
        from_aim = _less(columns.gap, columns.chosen, layout.aim)
        self.row({**from_aim, off: 1}, 0, inf)
        self.row({**from_aim, off: -1}, -inf, 0)
        self.row({ratio: layout.width, off: -RATIO}, 0, inf)
        middle: Terms = {ratio: 1}
        if not layout.nearest:
            beyond = self.column(inf, whole=False)
            self.row({beyond: 1, ratio: -1, columns.chosen: MIDDLE}, 0, inf)
            middle = {beyond: 1}
        places = list(zip(layout.places, columns.held, strict=True))
        return {
            "rank": {columns.chosen: layout.rank},
            "near limits": self._lacks(columns),
            "heat": {
                column: place.heat * self.instance.choices[choice].deficit
                for place, held in places
                for choice, column in held.items()
            },
            "worst middle": middle,
            "middle": middle,
            "change": {columns.chosen: layout.moved}
            | {
                column: place.weight
                for place, held in places
                if place.now is not None and place.shared < 0
                for choice, column in held.items()
                if choice not in place.now
            },
            "worst": {ratio: 1},
            "ratio": {ratio: 1},
            "deviation": {off: 1},
        }

    def _lacks(self, columns: Columns) -> Terms:
        """What a gap lacks of its guard band, in whole ten-thousandths of its window's width."""
        guard = columns.layout.guard
        if guard is None:
            return {}
        lacks, band = self.column(inf), ceil(RATIO * guard.band)
        for end, side in ((guard.low, RATIO), (guard.high, -RATIO)):
            if end is not None:
                inside = _less(columns.gap, columns.chosen, end)
                row = {column: side * n for column, n in inside.items()}
                self.row(_less(row, columns.chosen, band) | {lacks: columns.layout.width}, 0, inf)
        return {lacks: 1}

    def _stock(self) -> None:
        for shared in self.shared:
            self.row(dict.fromkeys(shared.values(), 1), 0, 1)
            for choice, column in shared.items():
                self.drawn.setdefault(choice, {})[column] = 1
        for choice, terms in self.drawn.items():
            if len(terms) > self.instance.choices[choice].count:
                self.row(terms, 0, self.instance.choices[choice].count)

    def _level(self, level: Level) -> Terms:
        if level.measure == "scarce":
            return self._scarce()
        each = [self._of_gap(level, index) for index in range(len(self.gaps))]
        if level.worst:
            worst = self.column(inf, whole=False)
            for terms in each:
                self.row({worst: 1} | {column: -n for column, n in terms.items()}, 0, inf)
            return {worst: 1}
        total = {column: n for terms in each for column, n in terms.items() if n}
        if level.measure == "change":
            for shared, held in zip(self.instance.shared, self.shared, strict=True):
                if shared.now is not None:
                    moved = self.column(1)
                    stays = {held[choice]: 1 for choice in shared.now if choice in held}
                    self.row({moved: 1, **stays}, 1, inf)
                    total[moved] = shared.weight
        return total

    def _of_gap(self, level: Level, index: int) -> Terms:
        layouts = self.gaps[index]
        if level.measure != "thin":
            each = [columns.measures.get(level.measure, {}) for columns in layouts]
            return {column: n for terms in each for column, n in terms.items()}
        if self.instance.gaps[index].shifts != level.shifts:
            return {}
        return {
            column: 1
            for columns in layouts
            for held in columns.held
            for choice, column in held.items()
            if self.instance.choices[choice].grade == level.grade
        }

    def _scarce(self) -> Terms:
        """Each further part of a size costs more, so its steps fill up in order by themselves."""
        total: Terms = {}
        for choices in self.instance.sizes.values():
            taken = {c: 1 for choice in choices for c in self.drawn.get(choice, {})}
            on_hand = sum(self.instance.choices[choice].count for choice in choices)
            costs = [RATIO // (on_hand - nth) for nth in range(min(on_hand, len(taken)))]
            steps = {self.column(1, whole=False): cost for cost in costs}
            self.row(taken | dict.fromkeys(steps, -1), 0, 0)
            total |= steps
        return total


def _asked_of(instance: Instance, shared: int) -> list[int]:
    """The choices that any gap allows for a shared part."""
    places = (place for gap in instance.gaps for layout in gap.layouts for place in layout.places)
    return sorted({c for place in places if place.shared == shared for c in place.takes})


def _less(terms: Terms, chosen: int, amount: int) -> Terms:
    """Take an amount off, where the layout is chosen."""
    return terms | {chosen: terms[chosen] - amount}
