"""The second door to HiGHS: what a shelf is worth to many cycles at once, as prices of its parts.

One linear program holds every scenario, with how many parts there are of each size as columns
that are fixed: it falls apart into the scenarios, and from one shelf to the next most of them keep
their basis. Only prices, rounded to whole numbers, leave this door: whoever uses them works out
exactly what they prove. Floats stay here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from solver.unheard import unheard

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from fractions import Fraction

    from solver.drums import Drum
    from solver.period.building import Flows
    from solver.period.demand import Scenario
    from solver.period.worth import Worths

NEAR = 1e-6
OPTIONS: dict[str, int | str] = {"threads": 1, "parallel": "off", "random_seed": 1}


class Prices:
    """The live program: built once, asked for many shelves."""

    def __init__(
        self, scenarios: Sequence[Scenario], drums: Sequence[Drum], most: Mapping[int, int],
        reward: int, kept: Mapping[int, int],
    ) -> None:  # fmt: skip
        import highspy
        import numpy as np

        self._np = np
        self.choices = sorted(most)
        self._low: list[float] = []
        self._high: list[float] = []
        self._entries: list[tuple[int, int, float]] = []
        self._gain: list[float] = []
        self._upper: list[float] = []
        self._own = {choice: nth for nth, choice in enumerate(self.choices)}
        for choice in self.choices:
            self._column(0, most[choice])
        self.flows: list[dict[int, list[list[int]]]] = []
        """Of each scenario, the columns of each draw of each gap of each kind."""
        self.rows = [self._scenario(one, drums, reward, kept) for one in scenarios]
        with unheard():  # it greets
            self._engine: Any = highspy.Highs()  # type: ignore[no-untyped-call]
        self._engine.silent()
        for option, value in OPTIONS.items():
            self._engine.setOptionValue(option, value)
        self._load()

    def _column(self, gain: int, upper: int) -> int:
        self._gain.append(gain)
        self._upper.append(upper)
        return len(self._gain) - 1

    def _row(self, entries: Iterable[tuple[int, int]], low: float, high: float) -> int:
        number = len(self._low)
        self._low.append(low)
        self._high.append(high)
        self._entries += [(number, column, factor) for column, factor in entries]
        return number

    def _scenario(
        self, scenario: Scenario, drums: Sequence[Drum], reward: int, kept: Mapping[int, int]
    ) -> dict[int, int]:
        """Add the jobs of a cycle; gives the row of each choice that some of them draw."""
        infinity = float("inf")
        drawn: dict[int, list[tuple[int, int]]] = {}
        flows: dict[int, list[list[int]]] = {}
        self.flows.append(flows)
        for kind, jobs in scenario:
            if not all(drums[kind]):
                continue
            served = self._column(reward, jobs)
            shared: dict[tuple[int, int], dict[int, list[int]]] = {}
            for gap, ways in enumerate(drums[kind]):
                columns = [
                    self._column(sum(kept.get(c, 0) * n for c, n in draw.parts), jobs)
                    for draw in ways
                ]
                flows.setdefault(kind, []).append(columns)
                self._row([(served, -1), *((column, 1) for column in columns)], 0, 0)
                for draw, column in zip(ways, columns, strict=True):
                    for choice, count in draw.parts:
                        drawn.setdefault(choice, []).append((column, count))
                    for one in draw.shares:
                        shared.setdefault(one, {}).setdefault(gap, []).append(column)
            agreed: dict[int, list[tuple[int, int]]] = {}
            for (part, choice), gaps in shared.items():
                held = self._column(kept.get(choice, 0), jobs)
                agreed.setdefault(part, [(served, -1)]).append((held, 1))
                drawn.setdefault(choice, []).append((held, 1))
                for columns in gaps.values():
                    self._row([(held, -1), *((column, 1) for column in columns)], -infinity, 0)
                takers = [(column, 1) for columns in gaps.values() for column in columns]
                self._row([(held, -1), *takers], 0, infinity)
            for entries in agreed.values():
                self._row(entries, -infinity, 0)
        return {
            choice: self._row([(self._own[choice], -1), *entries], -infinity, 0)
            for choice, entries in sorted(drawn.items())
        }

    def _load(self) -> None:
        import highspy

        np = self._np
        rows, columns, factors = (np.array(part) for part in zip(*self._entries, strict=True))
        order = np.argsort(columns, kind="stable")
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self._gain), len(self._low)
        lp.col_cost_ = -np.array(self._gain, dtype=np.float64)
        lp.col_lower_ = np.zeros(len(self._gain))
        lp.col_upper_ = np.array(self._upper, dtype=np.float64)
        lp.row_lower_ = np.array(self._low, dtype=np.float64)
        lp.row_upper_ = np.array(self._high, dtype=np.float64)
        lp.a_matrix_.start_ = np.searchsorted(columns[order], np.arange(len(self._gain) + 1))
        lp.a_matrix_.index_ = rows[order].astype(np.int32)
        lp.a_matrix_.value_ = factors[order].astype(np.float64)
        self._engine.passModel(lp)

    def at(self, levels: Mapping[int, Fraction], seconds: float) -> Iterator[tuple[Worths, Flows]]:
        """What each scenario's parts are worth, and its jobs' draws, with so many parts of each.

        In the time given; past it there may be less to say, or nothing.
        """
        np, engine = self._np, self._engine
        number = len(self.choices)
        fixed = np.array([levels.get(choice, 0) for choice in self.choices], dtype=np.float64)
        engine.changeColsBounds(number, np.arange(number, dtype=np.int32), fixed, fixed)
        engine.setOptionValue("time_limit", engine.getRunTime() + max(seconds, 0.01))
        engine.run()
        found = engine.getSolution()
        duals, values = found.row_dual, found.col_value
        if len(duals) < len(self._low):
            duals, values = np.zeros(len(self._low)), np.zeros(len(self._gain))
        for rows, flows in zip(self.rows, self.flows, strict=True):
            worths = {choice: max(0, round(-duals[row])) for choice, row in rows.items()}
            whole = {
                kind: [[int(values[column] + NEAR) for column in gap] for gap in gaps]
                for kind, gaps in flows.items()
            }
            yield worths, whole
