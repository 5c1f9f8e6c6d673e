"""Expresses the worst value of every job of a batch linearly, by ordered threshold indicators.

A threshold is a boolean of one job and one value. It is 1 where some component of the job holds a
column whose value is at least this. The job's worst value is the sum over its thresholds of the
step from the value below, each times its boolean. The linear relaxation of this is nearly integer.

A group of alike components has one row for every value: at least as many of its jobs' thresholds
are 1 as it has columns of at least this value. The columns of a group stand in one order on every
level, and so do the thresholds of its jobs: a threshold is 1 only where the one below it is, and
the lowest only where the job is complete. So columns can be dealt out to jobs, and two levels never
ask of one job for a column that does not exist.
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
    """A boolean of one job: whether its value on a level is at least a given one."""

    grade: Grade
    """The best grade among the job's columns that reach the threshold."""
    nth: int
    """The index of its level among the levels of a worst value."""
    height: int
    variable: int


class Thresholds:
    """The thresholds of all jobs, made level by level.

    Parameters
    ----------
    program
        The engine, which receives the booleans and rows.
    groups
        The groups of components of all jobs.
    complete
        For each job, the variable that says whether it is complete.
    """

    def __init__(self, program: Door, groups: Sequence[Group], complete: Mapping[int, int]) -> None:
        self.program = program
        self.groups = groups
        self.complete = complete
        self.of: dict[int, list[Threshold]] = {}

    def worst(self, nth: int, listed: Mapping[int, Sequence[Group]]) -> Expression:
        """Return the sum of the jobs' worst values on one level, adding the thresholds it needs.

        A job with a counted component is left out: its groups are its own, and have no thresholds.

        Parameters
        ----------
        nth
            The level's index among the levels of a worst value.
        listed
            The jobs whose components are all listed, with the groups of these components.
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
        """Return for each value of a group the variables of the columns that have it, lowest first.

        Columns that the engine has proved to be 0 are left out.
        """
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
        """Return one job's worst value, and the variable of every value: a threshold or the job."""
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
        """Return the threshold of a value; one that stands for the same columns is used again."""
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
        """Add rows so that a threshold is 1 only where the one below it is.

        The order is over all levels, or over the n-th alone. Variables before `known` have these
        rows already.
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
        """Add rows so that at every value enough thresholds are 1 for the columns that reach it."""
        over: Expression = {}
        for height, variables in reversed([*heights.items()][1:]):
            gather(over, dict.fromkeys(variables, -1))
            stands = [at[job][height] for job in group.members]
            if stands != [self.complete[job] for job in group.members]:
                self.program.row(add(over, *({stand: 1} for stand in stands)), 0, None)

    # Values.

    def limits(self, values: tuple[int, ...]) -> dict[int, Grade]:
        """Return for each job with a threshold that is 0 the grade its columns must stay below.

        Parameters
        ----------
        values
            A value for each variable of the program.
        """
        found = {}
        for job, thresholds in self.of.items():
            known = (threshold for threshold in thresholds if threshold.variable < len(values))
            left = [threshold.grade for threshold in known if not values[threshold.variable]]
            if left:
                found[job] = min(left)
        return found

    def settled(self, dealt: Mapping[int, Sequence[tuple[Group, int]]]) -> dict[int, int]:
        """Return the value of every threshold that follows from the columns dealt to the jobs.

        Parameters
        ----------
        dealt
            For each job its groups, each with the number of the column dealt to it.

        Returns
        -------
        dict of int
            For each threshold's variable, 0 or 1.
        """
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
    """Return whether a job shares a group with another job; its columns then stand in one order."""
    return not all(group.alone for group in groups)
