"""The worst of every job, built as stairs over the columns still open.

A stair of a job is taken where any of its components holds a column of at least the stair's height;
what the taken stairs rise by is the job's worst. So its relaxation is nearly whole.

A group asks of its jobs that at every height as many stairs be taken as it has columns so bad. Its
columns stand in one order, and with them the stairs of its jobs, on whichever level: a stair is
taken only where the one below it is, the lowest only where the job is complete. So columns can be
dealt out, and two levels of a worst never ask of one job what no column has.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from solver.engines.cp_sat import Expression, add, gather

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from solver.batch.groups import Grade, Group
    from solver.engines.interface import Door


@dataclass(frozen=True, slots=True)
class Stair:
    """One stair of a job."""

    grade: Grade
    """The best of the job's columns that are as high."""
    nth: int
    """Which of the levels of a worst it counts on."""
    height: int
    variable: int


class Stairs:
    """The stairs of all jobs, level by level."""

    def __init__(self, program: Door, groups: Sequence[Group], complete: Mapping[int, int]) -> None:
        self.program = program
        self.groups = groups
        self.complete = complete
        self.of: dict[int, list[Stair]] = {}

    def worst(self, nth: int, listed: Mapping[int, Sequence[Group]]) -> Expression:
        """The worst of every job whose components are all listed, on the n-th such level, added up.

        A job with one that is counted stands apart: its groups are its own, and have no stairs.
        """
        mine = [group for group in self.groups if listed.keys() >= {*group.members}]
        heights = {id(group): self._open(group, nth) for group in mine}
        total: Expression = {}
        at: dict[int, dict[int, int]] = {}
        for job, groups in listed.items():
            expression, at[job] = self._climbed(job, groups, nth, heights)
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

    def _climbed(
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
            stands[height] = stair = self._stair(job, groups, nth, height)
            total[stair] = total.get(stair, 0) + height - floor
            floor = height
        self._ordered(job, known, None if _shared(groups) else nth)
        return total, stands

    def _stair(self, job: int, groups: Sequence[Group], nth: int, height: int) -> int:
        """The stair of a height; one that stands for the same columns already is taken again."""
        grade = min(
            grade
            for group in groups
            for variable, grade in zip(group.variables, group.grades, strict=True)
            if grade[nth] >= height and not self.program.shut(variable)
        )
        mine = self.of.setdefault(job, [])
        if _shared(groups):
            for stair in mine:
                if stair.grade == grade:
                    return stair.variable
        mine.append(Stair(grade, nth, height, self.program.boolean()))
        return mine[-1].variable

    def _ordered(self, job: int, known: int, nth: int | None) -> None:
        """A stair is taken only where the one below it is, on any level or on the n-th.

        Rows among the columns known before there are already.
        """
        mine = [stair for stair in self.of.get(job, []) if nth in (None, stair.nth)]
        mine.sort(key=lambda stair: stair.grade if nth is None else (stair.height,))
        ranks = [self.complete[job], *(stair.variable for stair in mine)]
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
        for job, stairs in self.of.items():
            known = (stair for stair in stairs if stair.variable < len(values))
            left = [stair.grade for stair in known if not values[stair.variable]]
            if left:
                found[job] = min(left)
        return found

    def settled(self, dealt: Mapping[int, Sequence[tuple[Group, int]]]) -> dict[int, int]:
        """The stairs that the columns dealt to the jobs ask for."""
        return {
            stair.variable: int(
                any(
                    group.grades[nth][stair.nth] >= stair.height
                    for group, nth in dealt.get(job, ())
                )
            )
            for job, stairs in self.of.items()
            for stair in stairs
        }


def _shared(groups: Sequence[Group]) -> bool:
    """Whether a job has columns in common with another, all of them in one order."""
    return not all(group.alone for group in groups)
