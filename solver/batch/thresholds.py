"""Ordered threshold indicators: the worst value of every job of a batch, as a linear expression.

A threshold is a boolean of one job and one value: it is 1 where some component of the job holds a
column that is at least so bad. The job's worst is the sum of the steps between its thresholds, each
times its boolean; the linear relaxation of that is nearly whole.

A group of alike components asks of its jobs that at every value as many thresholds be 1 as it has
columns so bad. Its columns stand in one order on every level, and so do the thresholds of its jobs:
one is 1 only where the one below is, the lowest only where the job is complete. So columns can be
dealt out to jobs, and two levels never ask of one job what no column has.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from solver.engines.expressions import Expression, add, gather

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.batch.groups import Grade, Group
    from solver.engines.interface import Door


@dataclass(frozen=True, slots=True)
class Threshold:
    """Whether a job is at least so bad on a level."""

    grade: Grade
    """The best of the job's columns that are as high."""
    nth: int
    """Which of the levels of a worst it counts on."""
    height: int
    variable: int


class Thresholds:
    """The thresholds of all jobs, level by level."""

    def __init__(self, program: Door, groups: Sequence[Group], complete: Mapping[int, int]) -> None:
        self.program = program
        self.groups = groups
        self.complete = complete
        self.of: dict[int, list[Threshold]] = {}

    def worst(self, nth: int, listed: Mapping[int, Sequence[Group]]) -> Expression:
        """The worst of every job whose components are all listed, on the n-th such level, added up.

        A job with one that is counted stands apart: its groups are its own, and have no stairs.
        """
        mine = [group for group in self.groups if listed.keys() >= {*group.members}]
        heights = {id(group): self._open(group, nth) for group in mine}
        total: Expression = {}
        at: dict[int, dict[int, int]] = {}
        for job, groups in listed.items():
            expression, at[job] = self._worst_of(job, groups, nth, heights)
            gather(total, expression)
        for group in mine:
            self._asked(group, heights[id(group)], at)
        return total

    def _open(self, group: Group, nth: int) -> dict[int, list[int]]:
        """For each height of a group the columns that have it, the lowest first."""
        found: dict[int, list[int]] = {}
        for variable, grade in zip(group.variables, group.grades, strict=True):
            if not self.program.shut(variable):
                found.setdefault(grade[nth], []).append(variable)
        return dict(sorted(found.items()))

    def _worst_of(
        self,
        job: int,
        groups: Sequence[Group],
        nth: int,
        heights: Mapping[int, Mapping[int, list[int]]],
    ) -> tuple[Expression, dict[int, int]]:
        """The worst of one job, and what stands for every height: a stair, or the job itself."""
        mine = [heights[id(group)] for group in groups]
        known = self.program.columns
        floor = max(min(each, default=0) for each in mine)
        total: Expression = {self.complete[job]: floor} if floor else {}
        stands = {h: self.complete[job] for each in mine for h in each if h <= floor}
        for height in sorted({h for each in mine for h in each if h > floor}):
            stands[height] = threshold = self._threshold(job, groups, nth, height)
            total[threshold] = total.get(threshold, 0) + height - floor
            floor = height
        self._ordered(job, known, None if _shared(groups) else nth)
        return total, stands

    def _threshold(self, job: int, groups: Sequence[Group], nth: int, height: int) -> int:
        """The stair of a height; one that stands for the same columns already is taken again."""
        grade = min(
            grade
            for group in groups
            for variable, grade in zip(group.variables, group.grades, strict=True)
            if grade[nth] >= height and not self.program.shut(variable)
        )
        mine = self.of.setdefault(job, [])
        if _shared(groups):
            for threshold in mine:
                if threshold.grade == grade:
                    return threshold.variable
        mine.append(Threshold(grade, nth, height, self.program.boolean()))
        return mine[-1].variable

    def _ordered(self, job: int, known: int, nth: int | None) -> None:
        """A stair is taken only where the one below it is, on any level or on the n-th.

        Rows among the columns known before there are already.
        """
        mine = [threshold for threshold in self.of.get(job, []) if nth in (None, threshold.nth)]
        mine.sort(key=lambda threshold: threshold.grade if nth is None else (threshold.height,))
        ranks = [self.complete[job], *(threshold.variable for threshold in mine)]
        for lower, higher in pairwise(ranks):
            if max(lower, higher) >= known:
                self.program.row({lower: 1, higher: -1}, 0, None)

    def _asked(
        self, group: Group, heights: Mapping[int, list[int]], at: Mapping[int, Mapping[int, int]]
    ) -> None:
        """As many stairs are taken at every height as there are columns so bad."""
        over: Expression = {}
        for height, variables in reversed([*heights.items()][1:]):
            gather(over, dict.fromkeys(variables, -1))
            stands = [at[job][height] for job in group.members]
            if stands != [self.complete[job] for job in group.members]:
                self.program.row(add(over, *({stand: 1} for stand in stands)), 0, None)

    # Values.

    def limits(self, values: tuple[int, ...]) -> dict[int, Grade]:
        """For each job with a stair that is not taken, the best grade it must not hold."""
        found = {}
        for job, thresholds in self.of.items():
            known = (threshold for threshold in thresholds if threshold.variable < len(values))
            left = [threshold.grade for threshold in known if not values[threshold.variable]]
            if left:
                found[job] = min(left)
        return found

    def settled(self, dealt: Mapping[int, Sequence[tuple[Group, int]]]) -> dict[int, int]:
        """The stairs that the columns dealt to the jobs ask for."""
        return {
            threshold.variable: int(
                any(
                    group.grades[nth][threshold.nth] >= threshold.height
                    for group, nth in dealt.get(job, ())
                )
            )
            for job, thresholds in self.of.items()
            for threshold in thresholds
        }


def _shared(groups: Sequence[Group]) -> bool:
    """Whether a job has columns in common with another, all of them in one order."""
    return not all(group.alone for group in groups)
